"""The README's picture of the bench, `docs/bench.svg`: what `stillset demo` shows in a terminal after its focus miss.

    .venv/bin/python -m tests.support.bench_picture    plays the demo by its keys and writes the picture anew

The demo runs as a program of its own in a pseudo-terminal of 80x24, and a terminal emulator reads what it writes.
`tests/whole/test_bench_picture.py` plays it again and compares the text.
"""

from __future__ import annotations

import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.support.screen_picture import GROUND, INK, Cell, Screen, cell, svg_of
from tests.support.stillset_program import StillsetHome
from tests.support.terminal_program import in_terminal
from tests.support.terminal_screen import TerminalScreen

PICTURE = Path(__file__).parents[2] / "docs/bench.svg"
COLUMNS, ROWS = 80, 24
TITLE = "The bench of stillset's demo after a focus miss"

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
        read = seen.cell(row, column)
        ink, ground = _colour(read.fg, INK), _colour(read.bg, GROUND)
        yield cell(read.data, *((ground, ink) if read.reverse else (ink, ground)))


def _colour(name: str, otherwise: str) -> str:
    """The emulator's name of a colour as the picture's."""
    return f"#{name}" if re.fullmatch("[0-9a-f]{6}", name) else otherwise


def main() -> None:
    """Write the picture anew."""
    with tempfile.TemporaryDirectory() as folder:
        PICTURE.write_text(svg_of(demo_screen(Path(folder)), TITLE), encoding="utf-8")
    sys.stdout.write(f"{PICTURE.name} written\n")


if __name__ == "__main__":
    main()
