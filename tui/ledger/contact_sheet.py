"""Rows of small pictures, under each three lines of words, the chosen one framed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.cells import cell_len, chop_cells
from textual.geometry import Region as Cells
from textual.strip import Strip
from textual.widget import Widget

from session.set.setup import Region
from tui.screen.layout import WIDE_COLUMNS
from tui.screen.panels import BETWEEN_NAMES, names_within
from tui.screen.picture_view import frame_signs
from tui.screen.small_picture import SmallPicture, fit
from tui.screen.strips import BLANK, PictureStrip, pack

NARROW_CELL, WIDE_CELL = 20, 26
"""Columns that a picture and the gap beside it are to have; a wide screen shows larger ones, and more. Chosen."""

GAP, WORD_ROWS = 2, 3
PAPER = 0x6318
"""Behind the words of the chosen one: 24 of 31 in each channel, on which signs are black."""

WHOLE = Region(0.0, 0.0, 1.0, 1.0)


@dataclass(frozen=True, eq=False)
class SheetCell:
    """A frame on the sheet.

    picture   None without one; `sentence` stands in its place
    words     the lines under the picture
    """

    picture: SmallPicture | None
    sentence: str
    words: tuple[str, str, str]


@dataclass(frozen=True)
class SheetLayout:
    """How many pictures fit: columns and rows of them, and the size of each picture in cells of the terminal."""

    across: int
    down: int
    columns: int
    rows: int

    @property
    def shown(self) -> int:
        return self.across * self.down

    def first(self, at: int, count: int) -> int:
        """Number of the first picture shown, so that number `at` of `count` is shown, in the middle if it can."""
        last_row = max(0, -(-count // self.across) - self.down)
        return self.across * max(0, min(last_row, at // self.across - self.down // 2))


def layout_of(width: int, height: int) -> SheetLayout:
    """The layout for a place of that many cells: pictures of 3:2 with three lines under them."""
    across = max(1, width // (WIDE_CELL if width >= WIDE_COLUMNS else NARROW_CELL))
    columns = max(1, width // across - GAP)
    wanted = max(1, round(columns / 3))  # 3:2, and a cell is taken to be twice as high as wide
    down = max(1, round(height / (wanted + WORD_ROWS)))
    return SheetLayout(across, down, columns, max(1, height // down - WORD_ROWS))


Cell = Callable[[int], SheetCell | None]


class ContactSheet(Widget):
    """Shows as many cells `cell(i)` as there is room for, the chosen cell among them."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._count = self._at = 0
        self._cell: Cell = lambda i: None
        self._lines: list[Strip] = []

    @property
    def layout_now(self) -> SheetLayout:
        return layout_of(self.size.width, self.size.height)

    def on_sheet(self, at: int, count: int) -> range:
        """Which of `count` are shown when number `at` is chosen."""
        first = self.layout_now.first(at, count)
        return range(first, min(count, first + self.layout_now.shown))

    def show(self, count: int, at: int, cell: Cell) -> None:
        """Show `count` frames with the chosen frame at `at`; `cell` gives the look of each."""
        self._count, self._at, self._cell = count, at, cell
        self.refresh()

    def render_lines(self, crop: Cells) -> list[Strip]:
        """Painted past the styles cache, as `PictureView` is."""
        layout, shown = self.layout_now, self.on_sheet(self._at, self._count)
        _, _, ground, ink = self.colors
        behind, before = _pack(ground.rgb), _pack(ink.rgb)
        lines: list[Strip] = []
        for start in range(shown.start, shown.stop, layout.across):
            cells = [(i == self._at, self._cell(i)) for i in range(start, min(shown.stop, start + layout.across))]
            lines += _row(cells, layout, self.size.width, behind, before)
        blank = [BLANK] * self.size.width
        lines += [PictureStrip(blank, blank, {}, behind, before)] * (self.size.height - len(lines))
        return [line.crop(crop.x, crop.right) for line in lines[crop.y : crop.bottom]]


def _row(
    cells: Sequence[tuple[bool, SheetCell | None]], layout: SheetLayout, width: int, ground: int, ink: int
) -> list[Strip]:
    """The lines of one row of pictures."""
    uppers = [[BLANK] * width for _ in range(layout.rows + WORD_ROWS)]
    lowers = [[BLANK] * width for _ in range(layout.rows + WORD_ROWS)]
    signs: list[dict[int, str]] = [{} for _ in uppers]
    for i, (chosen, cell) in enumerate(cells):
        if cell is None:
            continue
        left = i * (layout.columns + GAP)
        columns, rows = layout.columns, layout.rows
        if cell.picture is None:
            lines = _lines_of(cell.sentence, columns)[:rows]
            for y, text in enumerate(lines, (rows - len(lines)) // 2):
                signs[y] |= _signs(text, left + (columns - cell_len(text)) // 2)
        else:
            pixels = fit(cell.picture, columns, rows)
            codes = pack(pixels).tolist()
            columns, rows = pixels.shape[1], pixels.shape[0] // 2
            for y in range(rows):
                uppers[y][left : left + columns], lowers[y][left : left + columns] = codes[2 * y], codes[2 * y + 1]
        if chosen:
            for (x, y), sign in frame_signs(WHOLE, columns, rows).items():
                signs[y][left + x] = sign
        for y, text in enumerate(cell.words, rows):
            shown = names_within(text.split(BETWEEN_NAMES), layout.columns)
            signs[y] |= _signs(shown, left, columns)
            if chosen:  # light behind the words
                uppers[y][left : left + columns] = lowers[y][left : left + columns] = [PAPER] * columns
    rows_of_cells = zip(uppers, lowers, signs, strict=True)
    return [PictureStrip(upper, lower, sign, ground, ink) for upper, lower, sign in rows_of_cells]


def _lines_of(text: str, columns: int) -> list[str]:
    """The text in lines of at most so many columns, broken between words where it can be."""
    lines = [""]
    for word in text.split():
        for part in chop_cells(word, columns):
            longer = f"{lines[-1]} {part}".strip()
            if cell_len(longer) <= columns:
                lines[-1] = longer
            else:
                lines.append(part)
    return lines


def _signs(text: str, left: int, least: int = 0) -> dict[int, str]:
    """Column → sign, of a text from that column on.

    least  columns that are filled with blanks where the text is shorter
    A letter that takes two columns has "" in the second, a mark over a letter stands with it.
    """
    found: dict[int, str] = {}
    at = left
    for letter in text + " " * (least - cell_len(text)):
        wide = cell_len(letter)
        if not wide and at > left:
            last = at - 1 if found[at - 1] else at - 2
            found[last] += letter
        elif wide:
            found |= {at: letter, **dict.fromkeys(range(at + 1, at + wide), "")}
            at += wide
    return found


def _pack(colour: tuple[int, int, int]) -> int:
    red, green, blue = colour
    return red << 16 | green << 8 | blue
