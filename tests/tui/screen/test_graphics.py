"""The still at full resolution, in a pseudo-terminal that answers as one with Sixel does, or as one without."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
from collections.abc import Iterator
from pathlib import Path
from time import monotonic

import pytest

from session.system.process import import_path

ROWS, COLUMNS = 24, 80
DEADLINE_S = 60.0
ATTRIBUTES = b"\x1b[c"
"""Primary device attributes, DA1 (DEC VT510 manual): 4 in the answer says Sixel."""

SIXEL = re.compile(rb"\x1bP[\d;]*q\"1;1;(\d+);(\d+)(.*?)\x1b\\", re.DOTALL)
"""A Sixel picture with its raster attributes: width and height (DEC STD 070)."""


class GraphicsTerminal:
    """Cells of 10 x 20 px; answers DA1 as told."""

    def __init__(self, program: str, folder: Path, answer: bytes) -> None:
        mine, its = pty.openpty()
        fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, COLUMNS * 10, ROWS * 20))
        environment = os.environ | {
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
            "PYTHONPATH": import_path("tests"),
        }
        self.process = subprocess.Popen(
            [sys.executable, "-m", program, str(folder)],
            stdin=its,
            stdout=its,
            stderr=its,
            env=environment,
            start_new_session=True,
        )
        os.close(its)
        self._wire, self._answer = mine, answer
        self.seen = b""

    def press(self, key: bytes) -> None:
        self.seen = b""
        os.write(self._wire, key)

    def until(self, words: bytes) -> None:
        deadline_s = monotonic() + DEADLINE_S
        while words not in self.seen:
            assert monotonic() < deadline_s, self.seen[-2000:]
            if select.select([self._wire], [], [], 1.0)[0]:
                part = os.read(self._wire, 1 << 20)
                self.seen += part
                if ATTRIBUTES in part:
                    os.write(self._wire, self._answer)

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        os.close(self._wire)


@pytest.fixture(params=[b"\x1b[?62;4;22c", b"\x1b[?62;22c"], ids=["with Sixel", "without"])
def terminal(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[GraphicsTerminal]:
    pytest.importorskip("textual_image", exc_type=ImportError)
    program = "tests.support.still_program"
    terminal = GraphicsTerminal(program, tmp_path, request.param)
    terminal.with_sixel = b";4;" in request.param  # type: ignore[attr-defined]
    yield terminal
    terminal.close()


def test_the_region_is_drawn_in_full_where_the_terminal_can_and_refused_in_words_elsewhere(
    terminal: GraphicsTerminal,
) -> None:
    terminal.until(b"sharp")
    terminal.press(b"\r")
    if not terminal.with_sixel:  # type: ignore[attr-defined]
        terminal.until(b"This terminal shows no graphics")
        return
    terminal.until(b"Any key goes back to the bench.")
    found = SIXEL.search(terminal.seen)
    assert found is not None
    width, height = int(found[1]), int(found[2])
    assert width / height == pytest.approx(1.5, rel=0.05), "the region's own proportions"
    assert height > ROWS * 20 * 0.8, "as large as the terminal allows"
    assert b"300 \xc3\x97 200 px" in terminal.seen
    terminal.press(b" ")
    terminal.until(b"LEDGER")
    terminal.press(b"Q")
    assert terminal.process.wait(DEADLINE_S) == 0
