"""The log's safety work after each frame and each act of a person: done beside the shoot, which never waits for it.

The main file is made whole (SQLite's checkpoint), so that it holds everything by itself, and where there is a folder
for second copies a standby copy of the log is made anew in it: `LOG.standby`, at most one frame old. Checkpoint and
standby copy run in a thread of their own; however often they are asked for while it is busy, they run once afterwards.
Source: https://www.sqlite.org/wal.html, "Checkpointing".
"""

from __future__ import annotations

import errno
import os
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Protocol

from storage.database.soundness import connect_to_look
from storage.files.copies import copy_under_free_name, replace_copy
from storage.files.set_pictures import copy_set_pictures

ENDING = ".standby"


class Rest(Protocol):
    """The receiver of the news that the log is at rest."""

    def ask(self) -> None:
        """Note that a frame or an act is wholly in the log; returns at once."""

    def close(self) -> None:
        """Do the work that is still asked for, and end; called before the log is closed."""


class PicturesNotCopiedError(OSError):
    """The standby copy of the log is made, but not that of the pictures of its sets."""


class AtRest:
    """`Rest` by a thread. `tell` hears one sentence when the standby copy fails, and "" when it is made again."""

    def __init__(
        self, path: Path, standby: Standby | None, in_place: Callable[[], bool], tell: Callable[[str], None]
    ) -> None:
        """in_place  whether the path still leads to the log that is open"""
        self._path = path
        self._standby = standby
        self._in_place = in_place
        self._tell = tell
        self._told = ""
        self._asked = threading.Event()
        self._ending = False
        self._thread = threading.Thread(target=self._run, name="log at rest", daemon=True)
        self._thread.start()

    def ask(self) -> None:
        self._asked.set()

    def close(self) -> None:
        if self._thread.is_alive():
            self._ending = True
            self._asked.set()
            self._thread.join()

    def _run(self) -> None:
        ending = False
        while not ending:
            self._asked.wait()
            self._asked.clear()
            ending = self._ending  # what was asked for until then is still done
            if self._in_place():
                self._rest()

    def _rest(self) -> None:
        text = ""
        try:
            make_whole(self._path)
            if self._standby is not None:
                self._standby.renew(self._path)
        except PicturesNotCopiedError as error:
            text = f"The log's standby copy is made, but pictures of the set aren't copied: {error}."
        except (OSError, sqlite3.Error) as error:
            why = getattr(error, "strerror", None) or error
            text = f"The log's standby copy can't be made: {why}. The log itself goes on."
        if text != self._told:
            self._told = text
            self._tell(text)


def make_whole(path: Path) -> None:
    """Bring all of the log into its main file, as far as nobody reads an older state of it just now."""
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=0)) as connection:
        busy, in_wal, brought = connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
        if not busy and in_wal == brought:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()


class Standby:
    """The standby copy of a log, with the pictures of its sets, in a folder on another disk; replaced as a whole.

    device  number of the folder's disk, which is not written to when another one stands there
    A copy that holds what the log doesn't (another log's, or of a log that was since taken from an older copy) stays,
    and the next free name is used.
    """

    def __init__(self, folder: Path, device: int) -> None:
        self._folder = folder
        self._device = device
        self._own: Path | None = None

    def renew(self, path: Path) -> None:
        """Copy the log as it is now. Raises OSError or sqlite3.Error; an older copy stays then.

        Raises PicturesNotCopiedError where the log's copy is made.
        """
        if self._folder.stat().st_dev != self._device:
            raise OSError(f"its disk is not at {self._folder}")
        with closing(connect_to_look(path)) as log:
            wanted = self._own or _ours(log, self._folder / f"{path.name}{ENDING}")
            if wanted is not None:
                replace_copy(log, wanted)
            else:
                wanted = copy_under_free_name(log, self._folder / f"{path.name}{ENDING}")
        self._own = wanted
        try:
            copy_set_pictures(path, wanted)
        except OSError as error:
            raise PicturesNotCopiedError(error.strerror or str(error)) from error


def standby_in(folder: Path, path: Path) -> Path:
    """The place of a log's standby copy in that folder, made or not. Raises OSError, sqlite3.Error."""
    first = folder / f"{path.name}{ENDING}"
    with closing(connect_to_look(path)) as log:
        found = _ours(log, first)
    if found is None and os.path.lexists(first):
        raise FileExistsError(errno.EEXIST, "is another log's, or of another state of this one", str(first))
    return found or first


def _ours(log: sqlite3.Connection, first: Path) -> Path | None:
    """The standby copy in that folder that is an earlier state of this log; None without one."""
    for copy in sorted(first.parent.glob(f"{first.name}*")):
        if copy.is_file() and not copy.is_symlink() and _is_before(copy, log):
            return copy
    return None


def _is_before(copy: Path, log: sqlite3.Connection) -> bool:
    """Whether the copy is of this log, and its newest event is in the log too."""
    station, newest = "SELECT station_id FROM station", "SELECT max(event_id) FROM event"
    try:
        with closing(connect_to_look(copy)) as other:
            (event_id,) = other.execute(newest).fetchone()
            same = other.execute(station).fetchone() == log.execute(station).fetchone()
    except sqlite3.Error:  # damaged, or no log: not ours to replace
        return False
    known = log.execute("SELECT 1 FROM event WHERE event_id = ?", (event_id,)).fetchone()
    return same and (event_id is None or known is not None)
