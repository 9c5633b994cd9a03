"""Why a frame was judged as it was: its region beside the reference's, enlarged, and each number with its limit."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content

from session.ports import LogError
from session.preview import UnreadablePicture
from session.setup import Region
from storage.views import FrameRecord
from tui.background import Then
from tui.explain_text import Shares, explanation, light_spread
from tui.house import House
from tui.keyed import KeyedScreen
from tui.keys import Facts, Where, shown
from tui.panels import cut, heading, key_line
from tui.pictures import SmallPicture, enlarged, region_picture, small_picture
from tui.table import Reader
from tui.widgets.panel import Make, Panel
from tui.widgets.picture import PictureView

SPREAD_STEPS = 48
"""Steps of the histogram: a sixth of a stop, under which the codes of dark parts leave gaps. Worked out from sRGB."""

LARGEST = 32
"""Times that the region is enlarged at most, by doubling. Chosen: a region of 1650 px is then 52 px wide."""

Side = tuple[SmallPicture | None, str]
"""The picture, or the sentence in its place."""


class ExplainScreen(KeyedScreen):
    """The frame's region left, the reference's right; under them what was measured."""

    CSS = """
    ExplainScreen #pictures { height: 1fr; max-height: 45%; }
    ExplainScreen .side { width: 1fr; margin-right: 1; }
    ExplainScreen .name { height: 1; }
    ExplainScreen #measured { height: 1fr; }
    ExplainScreen #text { height: auto; }
    ExplainScreen #keys { height: 1; background: $panel; }
    """

    app: House
    where = Where.EXPLAIN

    def __init__(self, frame_id: str) -> None:
        super().__init__()
        self._frame_id = frame_id
        self._times = 1
        self._names = ("FRAME", "REFERENCE")
        self._sides: tuple[Side, Side] = ((None, "is being read"), (None, ""))

    def compose(self) -> ComposeResult:
        with Horizontal(id="pictures"):
            for i in range(2):
                with Vertical(classes="side"):
                    yield Panel(id=f"name{i}")
                    yield PictureView(id=f"picture{i}")
        with VerticalScroll(id="measured"):
            yield Panel(id="text")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        for panel in self.query(".side Panel"):
            panel.add_class("name")
        self.query_one("#measured").focus()
        rows, words = shown(self.where, Facts()), {"back": "back · ↑ ↓ to read on"}
        self.query_one("#keys", Panel).show(lambda width, height: key_line(rows, words, width, height))
        self._show_sides()
        reader = self.app.reader
        if reader is None:
            self._say("There is no log to look it up in.")
        else:
            self.app.in_background(partial(self._work, reader), "explain")

    # --- in the background ------------------------------------------------------------------------

    def _work(self, reader: Reader) -> Then:
        try:
            record = reader.frame(self._frame_id)
            reference = _reference_of(reader, record) if record else None
        except LogError as error:
            return partial(self._say, str(error))
        if record is None:
            return partial(self._say, "The log doesn't have this frame yet.")
        other = reference if reference and reference.frame_id != record.frame_id else None
        sides = _side(record, record.revision.region), _side(other, record.revision.region)
        spreads = [
            (name, spread)
            for name, one in (("frame", record), ("reference", other))
            if (spread := _spread(one)) is not None
        ]
        return partial(self._read, record, reference, other, sides, spreads)

    # --- back in the screen's own thread ----------------------------------------------------------

    def _say(self, sentence: str) -> None:
        self._sides = ((None, ""), (None, ""))
        self._show_sides()
        self._show_text(lambda width, height: Content(sentence))

    def _read(
        self,
        record: FrameRecord,
        reference: FrameRecord | None,
        other: FrameRecord | None,
        sides: tuple[Side, Side],
        spreads: Sequence[tuple[str, Shares]],
    ) -> None:
        self._names = (f"FRAME {record.number}", f"REFERENCE {other.number}" if other else "REFERENCE")
        self._sides = sides
        self._show_sides()
        self._show_text(lambda width, height: explanation(record, reference, spreads, width))

    def _show_text(self, make: Make) -> None:
        text = self.query_one("#text", Panel)
        text.show(make)
        text.refresh(layout=True)

    def _show_sides(self) -> None:
        for i, (name, (picture, sentence)) in enumerate(zip(self._names, self._sides, strict=True)):
            middle = enlarged(picture, self._times) if picture else None
            self.query_one(f"#picture{i}", PictureView).show(middle, sentence=sentence)
            self.query_one(f"#name{i}", Panel).show(partial(_name_line, name, _extent(middle, self._times)))

    # --- keys -------------------------------------------------------------------------------------

    def act_back(self, key: str) -> None:
        self.dismiss()

    def act_size(self, key: str) -> None:
        self._times = max(1, self._times // 2) if key == "minus" else min(LARGEST, self._times * 2)
        self._show_sides()


def _extent(middle: SmallPicture | None, times: int) -> str:
    """`region: 1651 × 1101 px`, or the part of it, by side, that is shown."""
    if middle is None:
        return ""
    part = "region" if times == 1 else f"1/{times} region"
    return f"{part}: {middle.full_width_px} × {middle.full_height_px} px"


def _name_line(name: str, aside: str, width: int, height: int) -> Content:
    return heading(name, cut(aside, max(0, width - len(name) - 2)))


def _reference_of(reader: Reader, record: FrameRecord) -> FrameRecord | None:
    """The approved frame of its set-up and piece, as it is now."""
    number = record.revision.setup_number
    row = next((row for row in reader.setups(record.job) if row.number == number), None)
    approved = row.references.get(record.piece) if row else None
    return reader.frame_numbered(record.job, approved) if approved is not None else None


def _side(record: FrameRecord | None, region: Region) -> Side:
    if record is None:
        return None, "no other frame to compare with"
    if record.picture is None:
        return None, "no picture"
    try:
        return region_picture(record.picture, region), ""
    except UnreadablePicture as error:
        return None, f"the file {error}"


def _spread(record: FrameRecord | None) -> Shares | None:
    if record is None or record.picture is None:
        return None
    try:
        return light_spread(small_picture(Path(record.picture)).pixels, SPREAD_STEPS)
    except UnreadablePicture:  # said in the picture's place
        return None
