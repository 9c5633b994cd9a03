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
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from time import monotonic

from tests.support.stillset_program import DEADLINE_S, StillsetHome, stillset

_CONTROL = re.compile(r"\x1b\[[0-9;?<>=]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(\x07|\x1b\\)|\x1b[PX^_].*?\x1b\\|\x1b[@-Z\\-_]")
"""Control sequences of ECMA-48, section 5.4, and control strings, section 5.6."""

SIZE_IN_ENVIRONMENT = ("COLUMNS", "LINES")
"""A size that stands there goes before the terminal's own; whoever runs the tests may have set it for theirs."""


class Terminal:
    """The program's side of it, and what it wrote; a thread reads that, so a program never waits for its reader."""

    def __init__(self, process: subprocess.Popen[bytes], wire: int) -> None:
        self.process, self._wire = process, wire
        self._written = bytearray()
        self._news = threading.Condition()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    @property
    def text(self) -> str:
        """All that it wrote, without control sequences."""
        return _CONTROL.sub("", self.raw).replace("\r\n", "\n")

    @property
    def raw(self) -> str:
        """All that it wrote, as it wrote it."""
        with self._news:
            return self._written.decode("utf-8", "replace")

    def since(self, seen: int) -> bytes:
        """What it wrote behind the first `seen` bytes."""
        with self._news:
            return bytes(self._written[seen:])

    def more(self, seen: int, within_s: float) -> bool:
        """Wait until it has written more than `seen` bytes; whether it has."""
        with self._news:
            return self._news.wait_for(lambda: len(self._written) > seen, within_s)

    def press(self, keys: str) -> None:
        """Write these keys in one piece."""
        keys_sent = keys.encode()
        assert select.select([], [self._wire], [], DEADLINE_S)[1], "the terminal takes no more keys"
        assert os.write(self._wire, keys_sent) == len(keys_sent)

    def until(self, words: str, after: int = 0) -> int:
        """Wait until it has written this behind `after` characters of its text; where that ends."""
        deadline_s = monotonic() + DEADLINE_S
        while (found := self.text.find(words, after)) < 0:
            with self._news:
                seen = len(self._written)
            assert self._reader.is_alive(), f"ended without {words!r}: {self.text[-3000:]}"
            with self._news:
                come = self._news.wait_for(lambda: len(self._written) > seen, deadline_s - monotonic())  # noqa: B023
            assert come or not self._reader.is_alive(), f"never wrote {words!r}: {self.text[-3000:]}"
        return found + len(words)

    def hang_up(self) -> None:
        """The window is closed: its program is told by SIGHUP, and nothing that it writes is seen any more."""
        os.close(self._wire)
        self._wire = -1

    def ended(self) -> int:
        """Wait for its end, and read all that it wrote; its exit code."""
        try:
            code = self.process.wait(DEADLINE_S)
        except subprocess.TimeoutExpired as still:
            raise AssertionError(f"still runs after {DEADLINE_S:g} s: {self.text[-3000:]}") from still
        self._reader.join(DEADLINE_S)
        return code

    def close(self) -> None:
        """Kill it where it still runs."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        self._reader.join(DEADLINE_S)
        if self._wire >= 0:
            os.close(self._wire)

    def _read(self) -> None:
        while True:
            try:
                seen = os.read(self._wire, 1 << 16)
            except OSError:  # Linux: the other side is closed
                seen = b""
            with self._news:
                self._written += seen
                self._news.notify_all()
            if not seen:
                return


@contextmanager
def in_terminal(
    home: StillsetHome, *arguments: str, columns: int = 80, rows: int = 24, **variables: str
) -> Iterator[Terminal]:
    """Begin a command of stillset in a terminal of this size; it is killed at the end at the latest."""
    environment = home.environment | variables
    with terminal_of(stillset(*arguments), environment, home.folder, columns=columns, rows=rows) as terminal:
        yield terminal


@contextmanager
def terminal_of(
    command: Sequence[str], environment: Mapping[str, str], folder: Path, *, columns: int = 80, rows: int = 24
) -> Iterator[Terminal]:
    """Begin any command in one, which is its controlling terminal."""
    sized = {name: value for name, value in environment.items() if name not in SIZE_IN_ENVIRONMENT}
    mine, its = os.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    process = subprocess.Popen(
        command, stdin=its, stdout=its, stderr=its, env={"TERM": "xterm-256color"} | sized, cwd=folder,
        start_new_session=True, preexec_fn=_take_terminal,  # noqa: PLW1509 - it touches no lock
    )  # fmt: skip
    os.close(its)
    terminal = Terminal(process, mine)
    try:
        yield terminal
    finally:
        terminal.close()


def _take_terminal() -> None:
    """Make standard input the controlling terminal of the new session; in the child."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
