"""The region of a frame pixel for pixel: a pixel of the picture is half a cell. Other frames show the same place.

The place is kept from frame to frame: where the content of the first frame's region is found in another frame, that is
shown, else the same part of the picture, and the title says so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

from textual.app import ComposeResult
from textual.content import Content

from session.checks.drift.same_place import same_place
from session.frame.ports import LogError
from session.picture.preview import Box, UnreadablePicture, open_picture
from session.set.setup import Region
from storage.reading.shown_picture import shown_picture
from storage.reading.views import FrameRow
from tui.ledger.frame_list import FrameList
from tui.screen.app_port import AppPort
from tui.screen.background import Then
from tui.screen.keyed import KeyedScreen
from tui.screen.layout import LOOKS_EVERY_S
from tui.screen.ledger_text import row_verdict
from tui.screen.panel import Panel
from tui.screen.panels import cut, heading, key_line, said_lines, stack
from tui.screen.picture_view import PictureView
from tui.screen.shoot_port import Reader
from tui.screen.small_picture import SmallPicture, box_picture, middle_box, region_box, scale_words
from tui.words.harmless import harmless
from tui.words.keys import MARKS, Facts, Where, rows_to_show

STEP = 2
"""A key moves the place by one part in so many of what is shown. Chosen."""


ONLY_THE_SAME_PART = "the same part of the picture only"


@dataclass(frozen=True)
class _First:
    """The frame that was shown first, of which the others show the same place. `size_px`: (width, height), upright."""

    path: str
    region: Region
    size_px: tuple[int, int]


@dataclass(frozen=True)
class _Place:
    """Where a picture shows the first frame's region.

    box            full-size upright px
    found          the content of the first frame's region lies there; False: it is the same part of the picture only
    told           where the picture is from a stored preview, that
    times, moved   a place of the first frame's picture, px, lies here at its `times` + `moved` px; across, then down
    """

    box: Box
    found: bool = True
    times: tuple[float, float] = (1.0, 1.0)
    moved: tuple[int, int] = (0, 0)
    told: str = ""


class RegionScreen(KeyedScreen):
    """The region of a frame of the list, which keys move, mark and change; first of the frame under the cursor."""

    CSS = """
    RegionScreen #title, RegionScreen #said { height: 1; }
    RegionScreen #picture { height: 1fr; }
    RegionScreen #keys { height: 2; background: $panel; }
    """

    app: AppPort
    where = Where.REGION_CLOSE

    def __init__(self, frames: FrameList) -> None:
        super().__init__()
        self._frames = frames
        self._first: _First | None = None
        self._shown = ""
        self._path, self._place = "", _Place(Box(0, 0, 1, 1))
        self._picture: SmallPicture | None = None
        self._sentence = "is being read"
        self._middle = (0.0, 0.0)
        """Of what is shown, px of the first frame's picture."""
        self._px_a_half_cell = 1
        self._part: SmallPicture | None = None
        """What is shown of it."""

    def compose(self) -> ComposeResult:
        yield Panel(id="title")
        yield PictureView(id="picture")
        yield Panel(id="said")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        self.set_interval(LOOKS_EVERY_S, self.look_round)
        self._read()

    def on_resize(self) -> None:
        self.repaint()

    def facts(self) -> Facts:
        return Facts(
            frame=self._row is not None,
            frames=any(row.frame_id != self._shown for row in self._frames.rows),
            picture=self._picture is not None,
            writable=not self.app.read_only,
        )

    @property
    def _row(self) -> FrameRow | None:
        """The frame that is shown, as the log had it last; the list, narrowed by marks, may lack the frame by now."""
        return self._frames.row_of(self._shown)

    # --- reading ----------------------------------------------------------------------------------

    def _read(self) -> None:
        """Read the region of the frame under the cursor, in the background."""
        reader, row = self.app.reader, self._frames.here
        if reader is None or row is None:
            return
        self._shown = row.frame_id
        self._frames.hold([row])
        self.app.in_background(partial(self._work, reader, row), "close region", keys_wait=True)

    def _work(self, reader: Reader, row: FrameRow) -> Then:
        try:
            record = reader.frame(row.frame_id)
            shown = shown_picture(record) if record else None
            if record is None or shown is None:
                return partial(self._take, row, "", "no picture")
            first = self._first or _First(shown.path, record.region, _size_of(shown.path))
            place = replace(_place_in(first, shown.path), told=shown.told)
            return partial(self._take, row, shown.path, "", (place, box_picture(shown.path, place.box)), first)
        except LogError as error:
            return partial(self._take, row, "", str(error))
        except UnreadablePicture as error:
            return partial(self._take, row, "", f"the file {error}")

    def _take(
        self,
        row: FrameRow,
        path: str,
        sentence: str,
        part: tuple[_Place, SmallPicture] | None = None,
        first: _First | None = None,
    ) -> None:
        """Show what was read, unless another frame was asked for meanwhile."""
        if row.frame_id != self._shown:
            return
        self._path, self._sentence = path, sentence
        self._picture = part[1] if part else None
        if part:
            self._place = part[0]
            box = self._place.box
            if self._first is None:
                self._middle = (box.left + box.right) / 2, (box.top + box.bottom) / 2
            self._first = first
        self.repaint()

    # --- painting ---------------------------------------------------------------------------------

    def repaint(self) -> None:
        """Show the part of the region, and the words."""
        self._paint()
        self.look_round()

    def _paint(self) -> None:
        if not self.is_open:  # asked for before the screen was left
            return
        view = self.query_one(PictureView)
        self._part = self._cut(*view.size)
        view.show(self._part, sentence=self._sentence)

    def look_round(self) -> None:
        """Show the frame's words, which a mark changes, and what was said last, which fades."""
        if not self.is_open:
            return
        row = self._row
        name = f"FRAME {row.number}" if row else "REGION"
        told = [row_verdict(row), (row.mark or "").upper(), f"{row.piece} · {row.view}"] if row else []
        unlike = ONLY_THE_SAME_PART if self._picture and not self._place.found else ""
        stands_in = self._place.told if self._picture else ""
        words = (*told[:2], stands_in, unlike, self._extent(), *told[2:])
        line = "  ".join(harmless(word, 60) for word in words if word)
        self.query_one("#title", Panel).show(
            lambda width, height: heading(name, cut(line, max(0, width - len(name) - 2)))
        )
        self.app.model.fade(self.app.clock.monotonic_s())
        text, said = harmless(self.app.model.passing or self.app.read_only, 300), self.query_one("#said", Panel)
        rows = max(1, len(said_lines(text, self.size.width)))
        if rows != said.size.height:
            said.styles.height = rows
            self.call_after_refresh(self._paint)  # the picture has more or less room then
        said.show(lambda width, height: stack([Content(line) for line in said_lines(text, width)]))
        keys = rows_to_show(self.where, self.facts())
        self.query_one("#keys", Panel).show(lambda width, height: key_line(keys, {}, width, height))

    def _cut(self, columns: int, rows: int) -> SmallPicture | None:
        """What is shown of the region, a pixel or several to half a cell; None without a picture or a place."""
        picture = self._picture
        if picture is None or not columns or not rows:
            return None
        high, wide = picture.pixels.shape[:2]
        box, times, moved = self._place.box, self._place.times, self._place.moved
        finest = box.width / wide  # above 1 for a picture that is kept smaller than it was taken
        width, height = min(wide, columns * self._px_a_half_cell), min(high, 2 * rows * self._px_a_half_cell)
        across, down = (middle * time + far for middle, time, far in zip(self._middle, times, moved, strict=True))
        left = round((across - box.left) / finest - width / 2)
        top = round((down - box.top) / finest - height / 2)
        left, top = max(0, min(wide - width, left)), max(0, min(high - height, top))
        shown = picture.pixels[top : top + height, left : left + width]
        return SmallPicture(shown, round(width * finest), round(height * finest))

    def _extent(self) -> str:
        """`1:1, 78 × 42 px of 1651 × 1101`."""
        if self._part is None or self._picture is None:
            return ""
        box, view = self._place.box, self.query_one(PictureView)
        of_all = f"{self._part.full_width_px} × {self._part.full_height_px} px of {box.width} × {box.height}"
        return f"{scale_words(self._part, *view.size)}, {of_all}"

    # --- keys -------------------------------------------------------------------------------------

    def act_move(self, key: str) -> None:
        part = self._part
        if part is None:
            return
        right, down = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}[key]
        half = part.full_width_px / 2, part.full_height_px / 2
        place = self._place
        edges = (place.box.left, place.box.right), (place.box.top, place.box.bottom)
        middles = []
        for middle, times, far, step, side, (low, high) in zip(
            self._middle, place.times, place.moved, (right, down), half, edges, strict=True
        ):
            wanted = middle * times + far + step * 2 * side / STEP
            middles.append((max(low + side, min(high - side, wanted)) - far) / times)
        self._middle = middles[0], middles[1]
        self.repaint()

    def act_size(self, key: str) -> None:
        """Twice as large, at most pixel for pixel; or half, as long as not all of the region is shown."""
        if key == "minus":
            if not (self._part and self._picture) or self._part.pixels.shape == self._picture.pixels.shape:
                return
            self._px_a_half_cell *= 2
        else:
            self._px_a_half_cell = max(1, self._px_a_half_cell // 2)
        self.repaint()

    def act_along(self, key: str) -> None:
        if self._frames.go_on(self._shown, 1 if key == "full_stop" else -1):
            self._read()

    def act_mark(self, key: str) -> None:
        row = self._row
        if row:
            self.app.mark(row.frame_id, None if row.mark == MARKS[key] else MARKS[key])

    def act_still(self, key: str) -> None:
        if self._picture:
            self.app.show_still(self._picture)

    def act_viewer(self, key: str) -> None:
        row = self._row
        if row and self._picture:
            self.app.show_cuts_in_viewer([(self._path, self._place.box)], f"frame-{row.number}")

    def act_back(self, key: str) -> None:
        self.dismiss()

    def act_help(self, key: str) -> None:
        self.app.show_help(self.where)


def _size_of(path: str) -> tuple[int, int]:
    """Width and height of the full-size picture, upright, px. Raises UnreadablePicture."""
    source = open_picture(path)
    return source.full_width_px, source.full_height_px


def _place_in(first: _First, path: str) -> _Place:
    """Where a picture shows the first frame's region. Raises UnreadablePicture of this picture."""
    if path == first.path:
        return _Place(middle_box(region_box(path, first.region)))
    try:
        found = same_place(first.path, path, first.region)
    except UnreadablePicture:  # of the first, which was taken away meanwhile; this one's is raised below
        found = None
    if found is not None and found.registered:
        return _Place(middle_box(found.other), moved=found.moved_px)
    width_px, height_px = _size_of(path)
    times = width_px / first.size_px[0], height_px / first.size_px[1]
    return _Place(middle_box(region_box(path, first.region)), found=False, times=times)
