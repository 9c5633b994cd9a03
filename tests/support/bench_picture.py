"""The README's picture of the bench, `docs/bench.svg`: what `stillset demo` shows in a terminal after its focus miss.

    .venv/bin/python tests/support/bench_picture.py    plays the demo by its keys and writes the picture anew

The demo runs as a program of its own in a pseudo-terminal of 80x24, and a terminal emulator reads what it writes.
`tests/whole/test_bench_picture.py` plays it again and compares the text.
"""

from __future__ import annotations

import re
import sys
import tempfile
from collections.abc import Iterator
from html import escape, unescape
from itertools import groupby
from pathlib import Path

from stillset_program import StillsetHome
from terminal_program import in_terminal
from terminal_screen import TerminalScreen

PICTURE = Path(__file__).parents[2] / "docs/bench.svg"
COLUMNS, ROWS = 80, 24
CELL_WIDTH, CELL_HEIGHT, MARGIN = 10, 20, 10
"""Of one character, and around all of them, in the picture's units."""

BLANK = "\N{NO-BREAK SPACE}"
"""What a blank is in the picture: browsers draw one of several common blanks only."""

INK, GROUND = "#e0e0e0", "#101010"
"""Where the program leaves a colour to the terminal."""

HALVES = {"▀": (0, 1), "▄": (1, 1), "█": (0, 2)}
"""Characters that are rectangles: first half row, and how many."""

KEYS = (
    (" ", "did not fire"),
    ("f", "That was: exposure time 1/500 s with a flash"),
    ("\t", "then [c] to take it as the reference"),
    (" ", "1 focus ?"),
    ("c", "That was: a first frame, taken as the reference"),
    ("\t", "Press [space] again"),
    (" ", "That was: two frames as they should be"),
    ("\t", "Somebody knocked the focus ring"),
    (" ", "That was: the focus ring knocked by 2.0 mm"),
)
"""A key of the demo, and the text that tells that the next one may be pressed."""


class Cell:
    """One character of the screen with its two colours, `#rrggbb` each."""

    def __init__(self, character: str, ink: str, ground: str) -> None:
        self.character, self.ink, self.ground = character, ink, ground


Screen = list[list[Cell]]


def demo_screen(folder: Path) -> Screen:
    """Play the demo with a log in this folder up to the focus miss; the screen as it stands then."""
    with in_terminal(StillsetHome(folder), "demo", columns=COLUMNS, rows=ROWS, COLORTERM="truecolor") as terminal:
        seen = TerminalScreen(terminal, COLUMNS, ROWS)
        seen.until_text("Then [f] sets 1/200 s")
        seen.until_large("NO SYNC")
        for key, told in KEYS:
            terminal.press(key)
            seen.until(lambda told=told: told in _in_one_line(seen.lines), told)  # type: ignore[misc]
        seen.until_large("MISSED 1.9 mm")
        seen.until_text("tab next scene")  # offered a moment after the scene's outcome is told
        return [list(_cells(seen, row)) for row in range(ROWS)]


def _in_one_line(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def _cells(seen: TerminalScreen, row: int) -> Iterator[Cell]:
    for column in range(COLUMNS):
        cell = seen.cell(row, column)
        ink, ground = (_colour(cell.fg, INK), _colour(cell.bg, GROUND))
        yield Cell(cell.data, *((ground, ink) if cell.reverse else (ink, ground)))


def _colour(name: str, otherwise: str) -> str:
    """The emulator's name of a colour as the picture's."""
    return f"#{name}" if re.fullmatch("[0-9a-f]{6}", name) else otherwise


def text_of(screen: Screen) -> list[str]:
    """The screen row by row, the ends without blanks, as `text_in` reads it from the picture."""
    return ["".join(" " if cell.character in HALVES else cell.character for cell in row).rstrip() for row in screen]


def svg_of(screen: Screen) -> str:
    """The screen as SVG: a ground, a rectangle for each run of one colour, and the text over them."""
    width, height = COLUMNS * CELL_WIDTH + 2 * MARGIN, ROWS * CELL_HEIGHT + 2 * MARGIN
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}">',
        "<title>The bench of stillset's demo after a focus miss</title>",
        f'<rect width="{width}" height="{height}" fill="{GROUND}"/>',
        f'<g transform="translate({MARGIN} {MARGIN})" shape-rendering="crispEdges">',
    ]
    for number, row in enumerate(screen):
        for half in (0, 1):
            colours = [_colour_of_half(cell, half) for cell in row]
            lines += list(_rectangles(colours, number * CELL_HEIGHT + half * CELL_HEIGHT // 2))
    lines.append('<g font-family="monospace" font-size="16">')
    lines += [line for number, row in enumerate(screen) for line in _texts(row, number)]
    return "\n".join([*lines, "</g>", "</g>", "</svg>", ""])


def _colour_of_half(cell: Cell, half: int) -> str:
    first, count = HALVES.get(cell.character, (0, 0))
    return cell.ink if first <= half < first + count else cell.ground


def _rectangles(colours: list[str], top: int) -> Iterator[str]:
    """One rectangle for each run of a colour that isn't the ground, half a row high."""
    for colour, run in groupby(enumerate(colours), key=lambda one: one[1]):
        columns = [column for column, _ in run]
        if colour != GROUND:
            size = f'width="{len(columns) * CELL_WIDTH}" height="{CELL_HEIGHT // 2}"'
            yield f'<rect x="{columns[0] * CELL_WIDTH}" y="{top}" {size} fill="{colour}"/>'


def _texts(row: list[Cell], number: int) -> Iterator[str]:
    """A text for each run of one colour; characters that are rectangles are drawn already."""
    for colour, run in groupby(enumerate(row), key=lambda one: one[1].ink):
        cells = list(run)
        text = "".join(" " if cell.character in HALVES else cell.character for _, cell in cells)
        if text.strip():
            blanks = len(text) - len(text.lstrip())
            place = f'x="{(cells[0][0] + blanks) * CELL_WIDTH}" y="{number * CELL_HEIGHT + 15}"'
            told = text.strip()
            shown = escape(told).replace(" ", BLANK)
            yield f'<text {place} textLength="{len(told) * CELL_WIDTH}" fill="{colour}">{shown}</text>'


def text_in(svg: str) -> list[str]:
    """Row by row what can be read in a picture that `svg_of` made, the ends without blanks."""
    rows = [[" "] * COLUMNS for _ in range(ROWS)]
    for x, y, told in re.findall(r'<text x="(\d+)" y="(\d+)"[^>]*>([^<]*)</text>', svg):
        first = int(x) // CELL_WIDTH
        read = unescape(told).replace(BLANK, " ")
        rows[(int(y) - 15) // CELL_HEIGHT][first : first + len(read)] = read
    return ["".join(row).rstrip() for row in rows]


def main() -> None:
    """Write the picture anew."""
    with tempfile.TemporaryDirectory() as folder:
        PICTURE.write_text(svg_of(demo_screen(Path(folder))), encoding="utf-8")
    sys.stdout.write(f"{PICTURE.name} written\n")


if __name__ == "__main__":
    main()
