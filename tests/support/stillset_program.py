"""`python -m tui …` as a person or a script runs it: real processes, a log of its own, everything they print.

home = StillsetHome(tmp_path)
ended = home.run("shoot", "--headless", "--camera", mock.address)
ended = home.here("log", "frames")
with home.start("shoot", "--headless", …) as program:
    program.until("reference")
    program.interrupt()
    ended = program.ended()
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import select
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import chdir, closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from types import TracebackType
from typing import Any, Self
from unittest.mock import patch

from session.system.process import import_path
from storage.reading.json_lines import line
from storage.reading.log_reader import LogReader
from tui.commands.command_line import stillset as commands
from tui.shell.troubles import in_words

DEADLINE_S = 90.0
"""For anything that must come; only a failing test waits so long."""

CAMERA, JUDGE = "session.cameras.camera_process", "session.checks.judge.judge_process"
OURS = ("STILLSET_LOG", "STILLSET_KIT", "VCAMERADIR")
"""Environment variables that a test sets itself or goes without."""

DEPRECATIONS = "error::DeprecationWarning"
"""What is deprecated is an error, see `PYTHONWARNINGS` in Python's manual; our other processes inherit it."""


@dataclass(frozen=True)
class Ended:
    """What a program left."""

    code: int
    out: str
    err: str

    def sentence(self) -> str:
        """The one line that it said on standard error; anything more, or a traceback, ends the test."""
        lines = [words for words in self.err.splitlines() if words]  # a blank one follows the ^C in a terminal
        assert len(lines) == 1, self
        assert "Traceback" not in self.out + self.err, self
        return lines[0]

    def json_lines(self) -> list[dict[str, Any]]:
        """What it printed for machines."""
        return [json.loads(line) for line in self.out.splitlines()]


def _as_at_a_terminal() -> None:
    """Take Ctrl-C, which a shell has its background jobs ignore; in the child, before the program starts."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Running:
    """A program that runs. Its lines come in by threads; it is killed at the end at the latest."""

    def __init__(self, command: Sequence[str], environment: dict[str, str], folder: Path) -> None:
        self._process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=environment,
            cwd=folder,
            text=True,
            start_new_session=True,
            preexec_fn=_as_at_a_terminal,  # noqa: PLW1509 - it touches no lock
        )
        self.pid = self._process.pid
        self._out: list[str] = []
        self._err: list[str] = []
        self._news = threading.Condition()
        streams = ((self._process.stdout, self._out), (self._process.stderr, self._err))
        self._readers = [threading.Thread(target=self._read, args=pair, daemon=True) for pair in streams]
        for reader in self._readers:
            reader.start()

    def _read(self, stream: Any, lines: list[str]) -> None:
        for words in stream:
            with self._news:
                lines.append(words)
                self._news.notify_all()

    def until(self, words: str) -> None:
        """Wait until it has said this on either stream."""
        deadline_s = monotonic() + DEADLINE_S
        with self._news:
            while words not in "".join(self._out + self._err):
                assert self._news.wait(deadline_s - monotonic()), f"never said {words!r}: {self._out} {self._err}"

    @property
    def said(self) -> str:
        """What it has printed so far."""
        with self._news:
            return "".join(self._out)

    def process_of(self, module: str) -> int:
        """The process that it runs this module in, as soon as there is one."""
        found = until(lambda: next(iter(children(self.pid, module)), None), f"no process of {module}")
        assert isinstance(found, int)
        return found

    def interrupt(self) -> None:
        """Ctrl-C."""
        self._process.send_signal(signal.SIGINT)

    def terminate(self) -> None:
        """The system's word."""
        self._process.terminate()

    def kill(self) -> None:
        """Without a warning, and only this process."""
        self._process.kill()
        self._process.wait()

    def ended(self) -> Ended:
        """Wait for its end."""
        code = self._process.wait(DEADLINE_S)
        for reader in self._readers:
            reader.join()
        return Ended(code, "".join(self._out), "".join(self._err))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._process.poll() is None:
            self.kill()


def empty_account(folder: Path) -> Path:
    """A user's own folder with nothing in it, as a new account has it."""
    account = folder / "account"
    account.mkdir(exist_ok=True)
    return account


def without_account(environment: Mapping[str, str]) -> dict[str, str]:
    """The environment without what leads to the folders of whoever runs the tests, or to their stillset."""
    others = re.compile(r"XDG_\w+_HOME|XDG_PICTURES_DIR")
    return {name: value for name, value in environment.items() if name not in OURS and not others.fullmatch(name)}


class StillsetHome:
    """A user's folder: log, pictures and state of its own, and stillset run in it."""

    def __init__(self, folder: Path, prefix: Sequence[str] = ()) -> None:
        """prefix  what the commands are run by, words before them"""
        self.folder = folder
        self.log = folder / "shoot.db"
        self.pictures = folder / "pictures"
        self._prefix = prefix
        self.account = empty_account(folder)
        self.environment = without_account(os.environ) | {
            "HOME": str(self.account),
            "PYTHONPATH": import_path("tui"),
            "PYTHONWARNINGS": DEPRECATIONS,
            "STILLSET_LOG": str(self.log),
        }

    def start(self, *arguments: str, **variables: str) -> Running:
        """Begin a command; `variables` are laid over its environment."""
        return Running([*self._prefix, *stillset(*arguments)], self.environment | variables, self.folder)

    def run(self, *arguments: str, **variables: str) -> Ended:
        """A command to its end."""
        with self.start(*arguments, **variables) as program:
            return program.ended()

    def here(self, *arguments: str, **variables: str) -> Ended:
        """A command that opens neither a camera nor a screen, run in this process: without a second of imports."""
        out, err, argv, environment = io.StringIO(), io.StringIO(), sys.argv, self.environment | variables
        sys.argv = ["stillset", *arguments]
        try:
            with chdir(self.folder), patch.dict(os.environ, environment), redirect_stdout(out), redirect_stderr(err):
                code = in_words(commands)
        finally:
            sys.argv = argv
        return Ended(code, out.getvalue(), err.getvalue())

    def frames(self) -> list[dict[str, Any]]:
        """Every frame in the log, as `stillset log frames --json` tells them."""
        with closing(LogReader.open(self.log)) as reader:
            return [json.loads(line(record)) for record in reader.records()]

    def files(self) -> list[Path]:
        """Everything in the folder of pictures, half files too."""
        return sorted(path for path in self.pictures.rglob("*") if path.is_file())


def stillset(*arguments: str) -> list[str]:
    """The command line of a stillset."""
    return [sys.executable, "-P", "-m", "tui", *arguments]


def sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def children(parent: int, module: str) -> list[int]:
    """Processes that a process has started to run this module. Linux: from /proc."""
    found = []
    for place in Path("/proc").iterdir():
        if not place.name.isdecimal():
            continue
        try:
            status = (place / "stat").read_text()
            words = (place / "cmdline").read_bytes().split(b"\0")
        except OSError:  # it has just ended
            continue
        if int(status.rpartition(")")[2].split()[1]) == parent and module.encode() in words:
            found.append(int(place.name))
    return found


def until(condition: Callable[[], object], otherwise: str) -> object:
    """Look again and again until it holds; what it gave. Ends the test with these words when it never does."""
    deadline_s = monotonic() + DEADLINE_S
    while not (found := condition()):
        assert monotonic() < deadline_s, otherwise
        select.select([], [], [], 0.005)
    return found


def until_ended(pid: int) -> None:
    """Wait for the end of a process that is nobody's child here."""
    try:
        process = os.pidfd_open(pid)
    except ProcessLookupError:
        return
    try:
        assert select.select([process], [], [], DEADLINE_S)[0], f"process {pid} never ended"
    finally:
        os.close(process)
