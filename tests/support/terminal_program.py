"""A program in a pseudo-terminal: what it writes is read at once, keys are written in one piece.

with in_terminal(home, "shoot", "--camera", mock.address) as terminal:
    terminal.until("LEDGER")
    terminal.press("Q")
    assert terminal.ended() == 0
"""

from __future__ import annotations

import fcntl
import os
import re
import select
import struct
import subprocess
import termios
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic

from stillset_program import DEADLINE_S, StillsetHome, stillset

_CONTROL = re.compile(r"\x1b\[[0-9;?<>=]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(\x07|\x1b\\)|\x1b[PX^_].*?\x1b\\|\x1b[@-Z\\-_]")
"""Control sequences of ECMA-48, section 5.4, and control strings, section 5.6."""


class Terminal:
    """The program's side of it, and what it wrote."""

    def __init__(self, process: subprocess.Popen[bytes], wire: int) -> None:
        self._process, self._wire = process, wire
        self._written = b""

    @property
    def text(self) -> str:
        """All that it wrote, without control sequences."""
        return _CONTROL.sub("", self._written.decode("utf-8", "replace")).replace("\r\n", "\n")

    @property
    def raw(self) -> str:
        """All that it wrote, as it wrote it."""
        return self._written.decode("utf-8", "replace")

    def press(self, keys: str) -> None:
        """Write these keys in one piece."""
        os.write(self._wire, keys.encode())

    def until(self, words: str, after: int = 0) -> int:
        """Wait until it has written this behind `after` characters of its text; where that ends."""
        deadline_s = monotonic() + DEADLINE_S
        while (found := self.text.find(words, after)) < 0:
            assert self._read(deadline_s - monotonic()), f"never wrote {words!r}: {self.text[-3000:]}"
        return found + len(words)

    def ended(self) -> int:
        """Read on until it ends; its exit code."""
        deadline_s = monotonic() + DEADLINE_S
        while self._read(deadline_s - monotonic()):
            continue
        return self._process.wait(max(0.1, deadline_s - monotonic()))

    def _read(self, within_s: float) -> bool:
        if not select.select([self._wire], [], [], max(0.0, within_s))[0]:
            return False
        try:
            seen = os.read(self._wire, 1 << 16)
        except OSError:  # Linux: the other side is closed
            return False
        self._written += seen
        return bool(seen)


@contextmanager
def in_terminal(
    home: StillsetHome, *arguments: str, columns: int = 80, rows: int = 24, **variables: str
) -> Iterator[Terminal]:
    """Begin a command of stillset in a terminal of this size; it is killed at the end at the latest."""
    mine, its = os.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    environment = home.environment | {"TERM": "xterm-256color"} | variables
    process = subprocess.Popen(
        stillset(*arguments), stdin=its, stdout=its, stderr=its, env=environment, cwd=home.folder,
        start_new_session=True,
    )  # fmt: skip
    os.close(its)
    try:
        yield Terminal(process, mine)
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()
        os.close(mine)
