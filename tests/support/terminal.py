"""A program in a terminal of its own: keys go in as bytes, what it paints comes out as bytes."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import struct
import subprocess
import termios
import threading
from collections.abc import Sequence
from pathlib import Path
from time import monotonic
from types import TracebackType
from typing import Self

DEADLINE_S = 90.0
"""For anything that must come; only a failing test waits so long."""


class Terminal:
    """Runs a command with a pseudo-terminal as its input, outputs and controlling terminal."""

    def __init__(
        self, command: Sequence[str], environment: dict[str, str], folder: Path, size: tuple[int, int] = (80, 24)
    ) -> None:
        self._ours, theirs = pty.openpty()
        columns, rows = size
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        plain = {name: value for name, value in environment.items() if name not in ("COLUMNS", "LINES")}
        self.process = subprocess.Popen(
            command,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env=plain | {"TERM": "xterm-256color", "LANG": "C.UTF-8"},
            cwd=folder,
            start_new_session=True,
            preexec_fn=_take_terminal,  # noqa: PLW1509 - it touches no lock
        )
        os.close(theirs)
        self._painted = bytearray()
        self._news = threading.Condition()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        while True:
            try:
                some = os.read(self._ours, 65536)
            except OSError:  # the last one who had the other end open has gone
                some = b""
            with self._news:
                self._painted += some
                self._news.notify_all()
            if not some:
                return

    @property
    def painted(self) -> str:
        """Everything until now, escape sequences and all."""
        with self._news:
            return self._painted.decode("utf-8", "replace")

    def until(self, words: str, since: int = 0) -> None:
        """Wait until these words were painted in one go, after the first `since` bytes."""
        deadline_s, wanted = monotonic() + DEADLINE_S, words.encode()
        with self._news:
            while wanted not in self._painted[since:]:
                assert self._reader.is_alive(), f"ended without {words!r}: {self._painted[-2000:]!r}"
                assert self._news.wait(deadline_s - monotonic()), f"never {words!r}: {self._painted[-2000:]!r}"

    @property
    def count(self) -> int:
        """Bytes painted until now."""
        with self._news:
            return len(self._painted)

    def write(self, keys: bytes) -> None:
        """Keys, in one write."""
        assert select.select([], [self._ours], [], DEADLINE_S)[1], "the terminal takes no more"
        assert os.write(self._ours, keys) == len(keys)

    def hang_up(self) -> None:
        """The window is closed."""
        os.close(self._ours)

    def ended(self) -> int:
        """Wait for its end; its exit code."""
        return self.process.wait(DEADLINE_S)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()


def _take_terminal() -> None:
    """Make standard input the controlling terminal of the new session; in the child."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
