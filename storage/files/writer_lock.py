"""One writer for a log, by whatever name the log is opened: the log itself is locked, a file beside it says by whom.

A lock on a file named after the path alone lets two writers in through a symbolic or a hard link; the lock on the log's
inode does not. Its descriptor is opened before SQLite opens the file and closed after SQLite has closed it, for closing
any descriptor of a file drops all POSIX locks that the process has on it, SQLite's own among them. Both locks go by
themselves when the process ends. Source: https://www.sqlite.org/howtocorrupt.html, 2.2.
"""

from __future__ import annotations

import fcntl
import os
import stat
from pathlib import Path

from session.frame.ports import LogError
from session.system.own_files import open_own

HEADER_BYTES = 100
"""https://www.sqlite.org/fileformat2.html, 1.3."""

DELETED = " (deleted)"
"""Linux's ending of the name of an open file that was deleted (proc(5), /proc/pid/fd)."""


class LogInUseError(LogError):
    """Another stillset writes this log now."""


def lock_path(log: Path) -> Path:
    """Where the lock file of this log is."""
    return log.with_name(log.name + ".lock")


def refuse_what_is_no_file(log: Path) -> None:
    """Raise LogError for a folder, a pipe or a device, before anything opens it and waits for ever."""
    try:
        mode = log.stat().st_mode
    except OSError:  # nothing there, or not to be seen: whoever opens it will say so
        return
    if stat.S_ISDIR(mode):
        raise LogError(f"{log} is a folder, not a log.")
    if not stat.S_ISREG(mode):
        kinds = {stat.S_IFIFO: "a pipe", stat.S_IFSOCK: "a socket"}
        raise LogError(f"{log} is {kinds.get(stat.S_IFMT(mode), 'a device')}, not a log.")


class WriterLock:
    """The lock of a log's writer, held from its making until `release`; makes an empty log file where none exists.

    Raises LogError when another stillset holds it. The file LOG.lock stays when the lock is let go: removing it would
    let two writers lock two files of one name.
    """

    def __init__(self, log: Path) -> None:
        refuse_what_is_no_file(log)
        self._log = log
        self._beside = _lock_beside(log)
        try:
            self._own = self._lock_itself()
        except BaseException:
            os.close(self._beside)
            raise

    def _lock_itself(self) -> int:
        try:
            descriptor = os.open(self._log, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NONBLOCK, 0o644)
        except PermissionError as error:
            raise LogError(f"The log {self._log} can't be written: the file or its folder is read-only.") from error
        except OSError as error:
            raise LogError(f"The log {self._log} can't be written: {error.strerror}.") from error
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            os.close(descriptor)
            raise LogInUseError(f"Another stillset has this log open, by another name of it: {self._log}.") from error
        except OSError as error:
            os.close(descriptor)
            raise LogError(f"The log {self._log} can't be locked: {error.strerror}.") from error
        return descriptor

    def header(self) -> bytes:
        """The first bytes of the log as they are on the disk."""
        return os.pread(self._own, HEADER_BYTES, 0)

    def is_in_place(self) -> bool:
        """Whether the log's path still leads to the file that was locked."""
        try:
            there, own = self._log.stat(), os.fstat(self._own)
        except OSError:
            return False
        return (there.st_dev, there.st_ino) == (own.st_dev, own.st_ino)

    def whereabouts(self) -> Path | None:
        """Where the locked file lies now; None when it has no name any more, or the system doesn't tell."""
        try:
            name = str(Path(f"/proc/self/fd/{self._own}").readlink())
        except OSError:
            return None
        return None if name.endswith(DELETED) else Path(name)

    def release(self) -> None:
        """Let another writer in."""
        os.close(self._own)
        os.close(self._beside)


def _lock_beside(log: Path) -> int:
    path = lock_path(log)
    try:
        descriptor = open_own(path, os.O_RDWR | os.O_CREAT)
    except PermissionError as error:
        why = error.strerror if not path.is_symlink() and not path.exists() else f"{path.name}: {error.strerror}"
        raise LogError(f"The log {log} can't be written: {why}.") from error
    except OSError as error:
        raise LogError(f"The log {log} can't be written: {error.strerror}.") from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        os.ftruncate(descriptor, 0)
        os.pwrite(descriptor, f"{os.getpid()}\n".encode(), 0)
    except BlockingIOError as error:
        holder = os.pread(descriptor, 32, 0).decode("ascii", "replace").strip() or "unknown"
        os.close(descriptor)
        raise LogInUseError(f"Another stillset has this log open (process {holder}): {log}.") from error
    except OSError as error:
        os.close(descriptor)
        raise LogError(f"The log {log} can't be written: {error.strerror}.") from error
    return descriptor
