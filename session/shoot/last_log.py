"""The log for which a camera was last used, and the user of this computer who used the camera.

A card tells of no log. Files that appeared while the camera was used for another log are that one's frames, so they
must not be taken for frames of this one. Each user keeps the own log's path in the own state folder, and a turn, a
number that grows, where all users see it: whoever has the highest turn used the camera last, whatever the clocks say.
"""

from __future__ import annotations

import hashlib
import os
import pwd
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from session.cameras.home import home
from session.system.own_files import open_own

SEEN_BY_ALL = Path("/var/tmp")
"""A folder where every user may make files that all users see and that outlast a restart.
Source: Filesystem Hierarchy Standard 3.0, 5.15."""

TURN_DIGITS = 18
"""More than any number of turns; what is longer is nobody's of ours."""


class LastLog:
    """Who used a camera last: this log, or another."""

    def __init__(self, log: Path, folder: Path | None = None, seen_by_all: Path = SEEN_BY_ALL) -> None:
        """
        folder        where the log's path is kept; the user's own when left out
        seen_by_all   where the turns are kept
        Without permission there nothing is known.
        """
        self._log = str(log.resolve())
        self._folder = home(folder) / "logs"
        self._seen_by_all = seen_by_all

    def other(self, serial: str) -> str:
        """The log that this camera was last used for, "" when that was this log or no log is known."""
        turns = dict(self._turns(serial))
        own = turns.pop(os.geteuid(), 0)
        last = max(turns, key=lambda user: turns[user], default=None)
        if last is not None and turns[last] > own:
            return f"of {_user_name(last)}"
        with suppress(OSError, UnicodeDecodeError):
            path = self._own_file(serial).read_text(encoding="utf-8")
            return path if path != self._log else ""
        return ""

    def take(self, serial: str) -> None:
        """Note that the camera is used for this log from now on."""
        kept = self._own_file(serial)
        with suppress(OSError):
            kept.parent.mkdir(exist_ok=True)
            new = kept.with_name(f"{kept.name}.{os.getpid()}")
            new.write_text(self._log, encoding="utf-8")
            new.replace(kept)
        with suppress(OSError):
            self._take_turn(serial)

    def _take_turn(self, serial: str) -> None:
        turn = 1 + max((turn for _, turn in self._turns(serial)), default=0)
        descriptor = open_own(self._seen_by_all / f"{self._turn_file(serial)}.{os.geteuid()}", os.O_RDWR | os.O_CREAT)
        try:
            os.fchmod(descriptor, 0o644)  # whatever the umask: other users must see it
            os.pwrite(descriptor, f"{turn:0{TURN_DIGITS}d}".encode(), 0)  # always as long: never half of two
            os.fsync(descriptor)
        finally:
            os.close(descriptor)

    def _turns(self, serial: str) -> Iterator[tuple[int, int]]:
        """(user, turn) of each user of the camera on this computer."""
        for path in self._seen_by_all.glob(f"{self._turn_file(serial)}.*"):
            with suppress(OSError, ValueError):
                yield _turn(path)

    def _turn_file(self, serial: str) -> str:
        return f"stillset-turn-{_digest(serial)}"

    def _own_file(self, serial: str) -> Path:
        return self._folder / _digest(serial)


def _digest(serial: str) -> str:
    return hashlib.sha256(serial.encode()).hexdigest()[:16]


class NotItsUsersError(ValueError):
    """A user's file that another user has planted."""


def _turn(path: Path) -> tuple[int, int]:
    """(user, turn) by the user's file. Raises ValueError for a file of another user; OSError."""
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
    try:
        status = os.fstat(descriptor)
        if not stat.S_ISREG(status.st_mode) or not path.name.endswith(f".{status.st_uid}"):
            raise NotItsUsersError(f"{path} is not its user's, {status.st_uid}")
        return status.st_uid, int(os.pread(descriptor, TURN_DIGITS, 0))
    finally:
        os.close(descriptor)


def _user_name(user: int) -> str:
    try:
        return f"user {pwd.getpwuid(user).pw_name}"
    except KeyError:
        return f"user {user}"
