"""A screen as cells, as a picture (SVG) that holds all of it, read back from such a picture, and compared with another.

In the picture each cell is a ground in two halves, since half blocks are drawn as what they look like, and a character
over it. Runs of one colour are one rectangle and one text, so that a picture changes where the screen does.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape, unescape
from itertools import groupby

from rich.segment import Segment
from rich.style import Style
from textual.app import App

CELL_WIDTH, CELL_HEIGHT, MARGIN = 10, 20, 10
"""Of one character, and around all of them, in the picture's units."""

BASELINE = 15
"""From the top of a cell, in the picture's units."""

BLANK = "\N{NO-BREAK SPACE}"
"""What a blank is in the picture: browsers draw one of several common blanks only."""

INK, GROUND = "#e0e0e0", "#101010"
"""Where the program leaves a colour to the terminal."""

HALVES = {"▀": (0, 1), "▄": (1, 1), "█": (0, 2)}
"""Characters that are rectangles: first half row, and how many."""

LOOKS = {
    "bold": 'font-weight="bold"',
    "italic": 'font-style="italic"',
    "underline": 'text-decoration="underline"',
    "strike": 'text-decoration="line-through"',
}
"""How a character may look besides its colours, as attributes of its text."""


@dataclass(frozen=True)
class Cell:
    """One place of the screen, as it is drawn.

    character     " " where nothing, or only a half block, is drawn
    ink           the character's colour, `#rrggbb`; "" where there is none
    upper, lower  colours of the ground's halves
    look          words of LOOKS
    """

    character: str
    ink: str
    upper: str
    lower: str
    look: tuple[str, ...] = ()


Screen = list[list[Cell]]


def cell(character: str, ink: str, ground: str, look: tuple[str, ...] = ()) -> Cell:
    """The cell of a character in two colours; a half block becomes the grounds that it paints."""
    first, count = HALVES.get(character, (0, 0))
    upper, lower = (ink if first <= half < first + count else ground for half in (0, 1))
    if character in HALVES or not character.strip():
        return Cell(" ", "", upper, lower)
    return Cell(character, ink, upper, lower, look)


def screen_of(app: App[None]) -> Screen:
    """What an app under Textual's pilot shows now. Textual has no public way to ask for it."""
    strips = app.screen._compositor.render_strips()
    return [[one for segment in strip for one in _cells(segment)] for strip in strips]


def _cells(segment: Segment) -> Iterator[Cell]:
    style = segment.style or Style()
    ink, ground = (_colour(style, name, otherwise) for name, otherwise in (("color", INK), ("bgcolor", GROUND)))
    if style.reverse:
        ink, ground = ground, ink
    look = tuple(name for name in LOOKS if getattr(style, name))
    yield from (cell(character, ink, ground, look) for character in segment.text)


def _colour(style: Style, name: str, otherwise: str) -> str:
    colour = getattr(style, name)
    return otherwise if colour is None or colour.is_default else str(colour.get_truecolor().hex)


def text_of(screen: Screen) -> list[str]:
    """The screen row by row, the ends without blanks."""
    return ["".join(one.character for one in row).rstrip() for row in screen]


# --- as a picture -------------------------------------------------------------------------------------


def svg_of(screen: Screen, title: str) -> str:
    """The screen as SVG: a ground, a rectangle for each run of one colour, and the text over them."""
    width, height = len(screen[0]) * CELL_WIDTH + 2 * MARGIN, len(screen) * CELL_HEIGHT + 2 * MARGIN
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{width}" height="{height}" fill="{GROUND}"/>',
        f'<g transform="translate({MARGIN} {MARGIN})" shape-rendering="crispEdges">',
    ]
    for number, row in enumerate(screen):
        upper, lower = [one.upper for one in row], [one.lower for one in row]
        if upper == lower:
            lines += _rectangles(upper, number * CELL_HEIGHT, CELL_HEIGHT)
        else:
            lines += _rectangles(upper, number * CELL_HEIGHT, CELL_HEIGHT // 2)
            lines += _rectangles(lower, number * CELL_HEIGHT + CELL_HEIGHT // 2, CELL_HEIGHT // 2)
    lines.append('<g font-family="monospace" font-size="16">')
    lines += [line for number, row in enumerate(screen) for line in _texts(row, number)]
    return "\n".join([*lines, "</g>", "</g>", "</svg>", ""])


def _rectangles(colours: list[str], top: int, height: int) -> Iterator[str]:
    """One rectangle for each run of a colour that isn't the ground."""
    for colour, run in groupby(enumerate(colours), key=lambda one: one[1]):
        columns = [column for column, _ in run]
        if colour != GROUND:
            size = f'width="{len(columns) * CELL_WIDTH}" height="{height}"'
            yield f'<rect x="{columns[0] * CELL_WIDTH}" y="{top}" {size} fill="{colour}"/>'


def _texts(row: list[Cell], number: int) -> Iterator[str]:
    """A text for each run of one ink and look, blanks within it too."""
    for (ink, look), run in groupby(_inked(row), key=lambda one: one[1:]):
        columns = [column for column, _, _ in run]
        told = "".join(row[column].character for column in range(columns[0], columns[-1] + 1))
        place = f'x="{columns[0] * CELL_WIDTH}" y="{number * CELL_HEIGHT + BASELINE}"'
        looks = "".join(f" {LOOKS[name]}" for name in look)
        shown = escape(told, quote=False).replace(" ", BLANK)
        yield f'<text {place} textLength="{len(told) * CELL_WIDTH}" fill="{ink}"{looks}>{shown}</text>'


def _inked(row: list[Cell]) -> list[tuple[int, str, tuple[str, ...]]]:
    """Column, ink and look of each character that is drawn."""
    return [(column, one.ink, one.look) for column, one in enumerate(row) if one.character.strip()]


# --- from a picture -----------------------------------------------------------------------------------


def screen_in(svg: str) -> Screen:
    """The screen of which `svg_of` made this picture."""
    width, height = map(int, re.findall(r'viewBox="0 0 (\d+) (\d+)"', svg)[0])
    columns, rows = (width - 2 * MARGIN) // CELL_WIDTH, (height - 2 * MARGIN) // CELL_HEIGHT
    halves = [[GROUND] * columns for _ in range(2 * rows)]
    for x, y, wide, high, fill in re.findall(
        r'<rect x="(\d+)" y="(\d+)" width="(\d+)" height="(\d+)" fill="([^"]+)"/>', svg
    ):
        first, count, half = int(x) // CELL_WIDTH, int(wide) // CELL_WIDTH, CELL_HEIGHT // 2
        for one in range(int(y) // half, (int(y) + int(high)) // half):
            halves[one][first : first + count] = [fill] * count
    screen = [
        [Cell(" ", "", upper, lower) for upper, lower in zip(halves[2 * row], halves[2 * row + 1], strict=True)]
        for row in range(rows)
    ]
    for x, y, fill, looks, told in re.findall(
        r'<text x="(\d+)" y="(\d+)" textLength="\d+" fill="([^"]+)"([^>]*)>([^<]*)</text>', svg
    ):
        row = screen[(int(y) - BASELINE) // CELL_HEIGHT]
        look = tuple(name for name, attribute in LOOKS.items() if attribute in looks)
        for column, character in enumerate(unescape(told).replace(BLANK, " "), int(x) // CELL_WIDTH):
            if character.strip():
                row[column] = Cell(character, fill, row[column].upper, row[column].lower, look)
    return screen


# --- compared -----------------------------------------------------------------------------------------


def differences(approved: Screen, now: Screen) -> list[str]:
    """Where a screen is no longer as it was: by row, the words before and after, or what changed in their colours."""
    if [len(row) for row in approved] != [len(row) for row in now]:
        return [f"approved {len(approved[0])}x{len(approved)}, now {len(now[0])}x{len(now)}"]
    told: list[str] = []
    for number, (before, after) in enumerate(zip(approved, now, strict=True), 1):
        if _words(before) != _words(after):
            told += [f"row {number:2} approved  {_words(before)}", f"       now       {_words(after)}"]
        told += [f"row {number:2} {line}" for line in _recoloured(before, after)]
    return told


def _words(row: list[Cell]) -> str:
    """A row to be read in a message, with blocks for what is painted of halves."""
    return "".join(one.character if one.upper == one.lower else "▀" for one in row).rstrip()


def _recoloured(before: list[Cell], after: list[Cell]) -> Iterator[str]:
    """Each run of cells whose character stayed and whose colours or look didn't; what is only painted in one line."""
    changes = [
        (column, _look(one), _look(other))
        for column, (one, other) in enumerate(zip(before, after, strict=True))
        if one.character == other.character and one != other
    ]
    drawn = [change for change in changes if after[change[0]].character != " "]
    painted = [change for change in changes if after[change[0]].character == " "]
    for _, run in groupby(enumerate(drawn), key=lambda one: (one[1][0] - one[0], one[1][1:])):
        cells = [change for _, change in run]
        first, last = cells[0][0], cells[-1][0]
        words = "".join(after[column].character for column in range(first, last + 1))
        yield f"columns {first + 1} to {last + 1} {words!r}: {cells[0][1]} → {cells[0][2]}"
    if painted:
        column, was, now = painted[0]
        yield f"painted otherwise in {len(painted)} columns, the first is {column + 1}: {was} → {now}"


def _look(one: Cell) -> str:
    ground = one.upper if one.upper == one.lower else f"{one.upper} over {one.lower}"
    return " ".join(part for part in (one.ink and f"{one.ink} on", ground, *one.look) if part)
