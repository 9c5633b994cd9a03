"""Two frames side by side: the region of each, and what differs in verdict, settings, lights and findings."""

from __future__ import annotations

from functools import partial

from session.frame.ports import LogError
from storage.reading.views import FrameRecord, FrameRow
from tui.compare.two_regions import TwoRegionsScreen
from tui.screen.background import Then
from tui.screen.ledger_text import comparison
from tui.words.keys import Where


class CompareScreen(TwoRegionsScreen):
    """The frame laid beside left, the other right; the region is the left one's."""

    where = Where.COMPARE

    def __init__(self, one: FrameRow, other: FrameRow) -> None:
        super().__init__((f"FRAME {one.number}", f"FRAME {other.number}"))
        self._rows = (one, other)

    def on_mount(self) -> None:
        self.app.in_background(self._work, "compare")

    def _work(self) -> Then:
        """Read both frames from the log, in the background."""
        try:
            found = [self.app.reader.frame(row.frame_id) for row in self._rows] if self.app.reader else []
        except LogError as error:
            return partial(self.say, str(error))
        one, other = (*found, None, None)[:2]
        if one is None or other is None:
            return partial(self.say, "One of them is gone.")
        self.read_sides(one, other, one.region)
        return partial(self._read, one, other)

    def _read(self, one: FrameRecord, other: FrameRecord) -> None:
        self.show_all(self._names, lambda width, height: comparison(one, other, width))
