"""Which log a camera was last used for, kept in the user's state folder.

A card tells of no log. Files that appeared while the camera was used for another log are that one's frames, so they
must not be taken for frames of this one.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from session.cameras.home import home


class LastLog:
    """Who used a camera last: this log, or another."""

    def __init__(self, log: Path, folder: Path | None = None) -> None:
        """folder   where it is kept; the user's own when left out. Without permission there nothing is known."""
        self._log = str(log.resolve())
        self._folder = home(folder) / "logs"

    def other(self, serial: str) -> str:
        """The other log that this camera was used for last, "" when it was this one or none."""
        with suppress(OSError, UnicodeDecodeError):
            last = self._kept(serial).read_text(encoding="utf-8")
            return last if last != self._log else ""
        return ""

    def take(self, serial: str) -> None:
        """From now on it is used for this log."""
        kept = self._kept(serial)
        with suppress(OSError):
            kept.parent.mkdir(exist_ok=True)
            new = kept.with_name(f"{kept.name}.{os.getpid()}")
            new.write_text(self._log, encoding="utf-8")
            new.replace(kept)

    def _kept(self, serial: str) -> Path:
        return self._folder / hashlib.sha256(serial.encode()).hexdigest()[:16]
