"""Two to four frames side by side: the region of each, its mark, and what differs between them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from storage.reading.views import FrameRecord, FrameRow
from tui.compare.regions_screen import RegionsScreen
from tui.screen.background import Then
from tui.screen.ledger_text import HERE_SIGN, comparison
from tui.screen.panels import stack
from tui.words.keys import MARKS, Facts, Where

RowNow = Callable[[str], FrameRow | None]


class CompareScreen(RegionsScreen):
    """The frame laid beside first stands left; the region is that frame's. The sign tells which of them is marked."""

    where = Where.COMPARE

    def __init__(self, rows: Sequence[FrameRow], row_now: RowNow) -> None:
        """row_now: a frame's row as it was read last, also of a frame that a mark took out of the narrowed list"""
        super().__init__([f"FRAME {row.number}" for row in rows])
        self._rows, self._row_now = rows, row_now
        self._chosen = len(rows) - 1
        self._labels: list[str] = []

    def on_mount(self) -> None:
        self.app.in_background(self._work, "compare")

    def facts(self) -> Facts:
        return replace(super().facts(), frame=True, writable=not self.app.read_only)

    def look_round(self) -> None:
        """Show a mark once the log has it, and the passing sentence."""
        super().look_round()
        labels = [self.label(i, "") for i in range(len(self._rows))]
        if self.is_open and labels != self._labels:
            self._labels = labels
            self._show_sides()

    def label(self, side: int, name: str) -> str:
        """`▸FRAME 45 HERO`."""
        row = self._row_now(self._rows[side].frame_id) or self._rows[side]
        sign = HERE_SIGN if side == self._chosen else " "
        return f"{sign}{name} {(row.mark or '').upper()}".rstrip()

    # --- keys -------------------------------------------------------------------------------------

    def act_choose(self, key: str) -> None:
        self._chosen = max(0, min(len(self._rows) - 1, self._chosen + (1 if key == "right" else -1)))
        self.look_round()

    def act_mark(self, key: str) -> None:
        row = self._row_now(self._rows[self._chosen].frame_id) or self._rows[self._chosen]
        self.app.mark(row.frame_id, None if row.mark == MARKS[key] else MARKS[key])

    # --- reading ----------------------------------------------------------------------------------

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
