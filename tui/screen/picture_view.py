"""The picture in the terminal, with the region's frame and the place where it is sharpest."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from textwrap import wrap

from textual.events import MouseDown, MouseEvent, MouseMove, MouseUp
from textual.filter import ANSIToTruecolor
from textual.geometry import Region as Cells
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from session.set.setup import Region
from tui.screen.small_picture import SmallPicture, fit, fitted_cells
from tui.screen.strips import BLANK, PictureStrip, pack

SHARPEST_SIGN = "◎"


class PictureView(Widget):
    """Shows a small picture as large as its place allows, at its own proportions; a sentence without a picture."""

    class Dragged(Message):
        """The mouse was drawn over a rectangle of the picture."""

        def __init__(self, region: Region) -> None:
            super().__init__()
            self.region = region

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.can_be_dragged_over = False
        self._drag_from: tuple[int, int] | None = None
        self._picture: SmallPicture | None = None
        self._region: Region | None = None
        self._sharpest_at: tuple[float, float] | None = None
        self._sentence = ""
        self._thirds = False
        self._strips: list[PictureStrip] = []
        self._made_for: object = None

    def show(
        self,
        picture: SmallPicture | None,
        region: Region | None = None,
        sharpest_at: tuple[float, float] | None = None,
        sentence: str = "",
        thirds: bool = False,
    ) -> None:
        """Show another picture, region or place; places as shares of the picture's sides.

        sentence  stands where there is no picture
        thirds    lay lines at a third and two thirds over it
        """
        wanted = (picture, region, sharpest_at, sentence, thirds)
        if wanted != (self._picture, self._region, self._sharpest_at, self._sentence, self._thirds):
            self._picture, self._region, self._sharpest_at, self._sentence, self._thirds = wanted
            self._made_for = None
            self.refresh()

    @property
    def picture(self) -> SmallPicture | None:
        return self._picture

    # --- mouse ------------------------------------------------------------------------------------

    def on_mouse_down(self, event: MouseDown) -> None:
        if self.can_be_dragged_over and self._picture is not None:
            event.stop()
            self.capture_mouse()
            self._drag_from = event.x, event.y

    def on_mouse_move(self, event: MouseMove) -> None:
        self._drag(event)

    def on_mouse_up(self, event: MouseUp) -> None:
        self._drag(event)
        self._drag_from = None
        self.release_mouse()

    def _drag(self, event: MouseEvent) -> None:
        """Draw a rectangle from the cell where the button went down to this one, both whole; one cell draws none."""
        start, here = self._drag_from, (event.x, event.y)
        if start is None or self._picture is None or start == here:
            return
        event.stop()
        columns, rows = fitted_cells(self._picture, *self.size)
        offset = (self.size.width - columns) // 2
        left, right = _edges(start[0] - offset, here[0] - offset, columns)
        top, bottom = _edges(start[1], here[1], rows)
        self.post_message(self.Dragged(Region(left, top, right - left, bottom - top)))

    # --- painting ---------------------------------------------------------------------------------

    def render_lines(self, crop: Cells) -> list[Strip]:
        """Painted past the styles cache, which would turn the ready-made lines into segments."""
        _, _, ground, ink = self.colors
        look = (self.size, ground, ink)
        if self._made_for != look:
            self._strips = self._lines(ground.rgb, ink.rgb)
            self._made_for = look
        lines: list[Strip] = [strip.crop(crop.x, crop.right) for strip in self._strips[crop.y : crop.bottom]]
        for line_filter in self.get_line_filters():
            if not isinstance(line_filter, ANSIToTruecolor):  # there are no ANSI colours here
                lines = [line.apply_filter(line_filter, ground) for line in lines]
        return lines

    def _lines(self, ground: tuple[int, int, int], ink: tuple[int, int, int]) -> list[PictureStrip]:
        width, height = self.size
        behind, before = _pack(ground), _pack(ink)
        if self._picture is None or not width or not height:
            blank, told = [BLANK] * width, wrap(self._sentence, max(1, width))[:height]
            top = height // 2 - len(told) // 2
            signs_on = {top + row: _middle_signs(text, width) for row, text in enumerate(told)}
            return [PictureStrip(blank, blank, signs_on.get(y, {}), behind, before) for y in range(height)]
        pixels = fit(self._picture, width, height)
        colours = pack(pixels).tolist()
        columns, rows = pixels.shape[1], pixels.shape[0] // 2
        left = (width - columns) // 2
        signs_in: dict[int, dict[int, str]] = defaultdict(dict)
        for (x, y), sign in self._signs(columns, rows).items():
            signs_in[y][left + x] = sign
        before_it, after_it = [BLANK] * left, [BLANK] * (width - columns - left)
        strips = []
        for y in range(height):
            if y < rows:
                upper, lower = (before_it + colours[2 * y + i] + after_it for i in (0, 1))
                strips.append(PictureStrip(upper, lower, signs_in[y], behind, before))
            else:
                strips.append(PictureStrip([BLANK] * width, [BLANK] * width, {}, behind, before))
        return strips

    def _signs(self, columns: int, rows: int) -> Mapping[tuple[int, int], str]:
        signs = third_signs(columns, rows) if self._thirds else {}
        if self._region:
            signs |= frame_signs(self._region, columns, rows)
        if self._sharpest_at is not None:
            x, y = self._sharpest_at
            signs[min(columns - 1, int(x * columns)), min(rows - 1, int(y * rows))] = SHARPEST_SIGN
        return signs


def _edges(one: int, other: int, cells: int) -> tuple[float, float]:
    """The outer edges of two of so many cells, which may lie beyond them, in fractions of the picture."""
    low, high = (max(0, min(cells - 1, cell)) for cell in sorted((one, other)))
    return low / cells, (high + 1) / cells


def frame_signs(region: Region, columns: int, rows: int) -> dict[tuple[int, int], str]:
    """(column, row) → line character of the region's frame on a picture of that many cells."""
    left, top, right, bottom = region.in_pixels(columns, rows)
    right, bottom = min(max(right - 1, left + 1), columns - 1), min(max(bottom - 1, top + 1), rows - 1)
    left, top = min(left, right - 1), min(top, bottom - 1)
    signs = {(x, y): "─" for x in range(left + 1, right) for y in (top, bottom)}
    signs |= {(x, y): "│" for y in range(top + 1, bottom) for x in (left, right)}
    signs |= {(left, top): "┌", (right, top): "┐", (left, bottom): "└", (right, bottom): "┘"}
    return {(x, y): sign for (x, y), sign in signs.items() if 0 <= x < columns and 0 <= y < rows}


def third_signs(columns: int, rows: int) -> dict[tuple[int, int], str]:
    """(column, row) → line character of the lines at a third and two thirds of a picture of that many cells."""
    across, down = {columns // 3, columns - 1 - columns // 3}, {rows // 3, rows - 1 - rows // 3}
    signs = {(x, y): "│" for x in across for y in range(rows)} | {(x, y): "─" for y in down for x in range(columns)}
    return signs | {(x, y): "┼" for x in across for y in down}


def _pack(colour: tuple[int, int, int]) -> int:
    red, green, blue = colour
    return red << 16 | green << 8 | blue


def _middle_signs(text: str, width: int) -> dict[int, str]:
    """Column → letter of a line in the middle of `width` columns."""
    start = (width - len(text)) // 2
    return {start + i: letter for i, letter in enumerate(text)}
