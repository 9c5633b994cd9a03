"""Two to four frames side by side: the region of each, and what differs in verdict, settings, lights and findings."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from storage.reading.views import FrameRecord, FrameRow
from tui.compare.regions_screen import RegionsScreen
from tui.screen.background import Then
from tui.screen.ledger_text import comparison
from tui.screen.panels import stack
from tui.words.keys import Where


class CompareScreen(RegionsScreen):
    """The frame laid beside first stands left; the region is that frame's."""

    where = Where.COMPARE

    def __init__(self, rows: Sequence[FrameRow]) -> None:
        super().__init__([f"FRAME {row.number}" for row in rows])
        self._rows = rows

    def on_mount(self) -> None:
        self.app.in_background(self._work, "compare")

    def _work(self) -> Then:
        """Read the frames from the log, in the background."""
        try:
            found = [self.app.reader.frame(row.frame_id) for row in self._rows] if self.app.reader else []
        except LogError as error:
            return partial(self.say, str(error))
        there = [record for record in found if record is not None]
        if len(there) < len(self._rows):
            return partial(self.say, "One of them is gone.")
        self.read_sides(there, there[0].region)
        return partial(self._read, there)

    def _read(self, records: Sequence[FrameRecord]) -> None:
        def text(width: int, height: int) -> Content:
            return stack([comparison(records[0], other, width) for other in records[1:]])

        self.show_all(self._names, text)
