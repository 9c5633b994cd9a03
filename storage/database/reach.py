"""The files that may be opened for a log: all that the log recorded itself, and an archive's in the log's folder.

Whoever may write to an archive may have written any path there. A path that leads out of the log's folder, by `..`, by
a link or from the root, is shown as a name and never opened, hashed, walked or given to another program.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from sqlalchemy import Connection, select

from storage.schema.station_models import FetchedFrameTable


def within(path: str, folder: Path) -> bool:
    """Whether the path leads into the folder, links followed. Asks the disk."""
    try:
        real = Path(os.path.realpath(path))
    except (OSError, ValueError):
        return False
    return Path(path).is_absolute() and real.is_relative_to(os.path.realpath(folder))


def log_file(connection: Connection) -> Path | None:
    """The file of the log; None for an archive, and for a log in memory."""
    if connection.dialect.name != "sqlite":
        return None
    # SQLite lists its own store of temporary tables beside the log once it has needed one.
    listed = {name: file for _, name, file in connection.exec_driver_sql("PRAGMA database_list")}
    return Path(listed["main"]) if listed["main"] else None


class OpenableFiles:
    """The files of these frames that may be opened."""

    def __init__(self, connection: Connection, frame_ids: Iterable[str]) -> None:
        self._folder: Path | None = None
        self._fetched: set[str] | None = None
        if connection.dialect.name != "sqlite":
            return
        log = log_file(connection)
        self._folder = log.parent if log else None
        fetched = select(FetchedFrameTable.frame_id).where(FetchedFrameTable.frame_id.in_(list(frame_ids)))
        self._fetched = set(connection.scalars(fetched))

    def holds(self, frame_id: str, path: str) -> bool:
        """Whether this file of the frame may be opened here; of an archive none may."""
        if self._fetched is None:
            return False
        return frame_id not in self._fetched or (self._folder is not None and within(path, self._folder))
