"""The reasons of a frame's judgement: the region beside the reference's, enlarged, and numbers with their limits."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from session.frame.ports import LogError
from session.picture.preview import UnreadablePicture
from storage.reading.shown_picture import shown_picture
from storage.reading.views import FrameRecord
from tui.compare.regions_screen import RegionsScreen
from tui.explain.explain_text import Shares, explanation, light_spread
from tui.screen.background import Then
from tui.screen.shoot_port import Reader
from tui.screen.small_picture import small_picture
from tui.words.keys import Where

SPREAD_STEPS = 48
"""Steps of the histogram: a sixth of a stop, under which the codes of dark parts leave gaps. Worked out from sRGB."""


class ExplainScreen(RegionsScreen):
    """The frame's region at the left, the reference's at the right, and the measures of both below."""

    where = Where.EXPLAIN

    def __init__(self, frame_id: str) -> None:
        super().__init__(("FRAME", "REFERENCE"))
        self._frame_id = frame_id

    def on_mount(self) -> None:
        reader = self.app.reader
        if reader is None:
            self.say("There is no log to look it up in.")
        else:
            self.app.in_background(partial(self._work, reader), "explain")

    def _work(self, reader: Reader) -> Then:
        """Read the frame from the log, in the background."""
        try:
            record = reader.frame(self._frame_id)
            reference = _reference_of(reader, record) if record else None
        except LogError as error:
            return partial(self.say, str(error))
        if record is None:
            return partial(self.say, "The log doesn't have this frame yet.")
        other = reference if reference and reference.frame_id != record.frame_id else None
        self.read_sides((record, other), record.region)
        spreads = [
            (name, spread)
            for name, one in (("frame", record), ("reference", other))
            if (spread := _spread(one)) is not None
        ]
        return partial(self._read, record, reference, other, spreads)

    def _read(
        self,
        record: FrameRecord,
        reference: FrameRecord | None,
        other: FrameRecord | None,
        spreads: Sequence[tuple[str, Shares]],
    ) -> None:
        names = (f"FRAME {record.number}", f"REFERENCE {other.number}" if other else "REFERENCE")
        self.show_all(names, lambda width, height: explanation(record, reference, spreads, width))


def _reference_of(reader: Reader, record: FrameRecord) -> FrameRecord | None:
    """The frame that is approved now for a frame's set-up and piece; None without one."""
    number = record.revision.setup_number
    row = next((row for row in reader.setups(record.job) if row.number == number), None)
    approved = row.references.get(record.piece) if row else None
    return reader.frame_numbered(record.job, approved) if approved is not None else None


def _spread(record: FrameRecord | None) -> Shares | None:
    shown = shown_picture(record) if record else None
    if shown is None:
        return None
    try:
        return light_spread(small_picture(shown.path).pixels, SPREAD_STEPS)
    except UnreadablePicture:  # said in the picture's place
        return None
