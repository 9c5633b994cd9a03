"""One writer for one log: a lock file beside it, held while the log is open, that a crash lets go of by itself."""

from __future__ import annotations

import fcntl
import os
from pathlib import Path

from session.ports import LogError


def lock_path(log: Path) -> Path:
    """Where the lock of this log is."""
    return log.with_name(log.name + ".lock")


class WriterLock:
    """Held from the moment it is made until `release`. Raises LogError when another stillset holds it.

    The file stays when the lock is let go: removing it would let two writers lock two files of one name.
    """

    def __init__(self, log: Path) -> None:
        path = lock_path(log)
        try:
            self._descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        except OSError as error:
            raise LogError(f"The log {log} can't be written: {error.strerror}.") from error
        try:
            fcntl.flock(self._descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            os.ftruncate(self._descriptor, 0)
            os.pwrite(self._descriptor, f"{os.getpid()}\n".encode(), 0)
        except BlockingIOError as error:
            holder = os.pread(self._descriptor, 32, 0).decode("ascii", "replace").strip() or "unknown"
            os.close(self._descriptor)
            raise LogError(f"Another stillset has this log open (process {holder}): {log}.") from error
        except OSError as error:
            os.close(self._descriptor)
            raise LogError(f"The log {log} can't be written: {error.strerror}.") from error

    def release(self) -> None:
        """Let another writer in."""
        os.close(self._descriptor)
