"""The schema's versions. Alembic runs them from code when a log is opened for writing; there is no ini file.

A migration is a module in `versions`; its name also stands in `VERSIONS`, so that an up-to-date log is told
without importing Alembic, which takes longer than all else at start. A migration and the note of its run are
one transaction: a broken migration changes nothing.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, text

from session.frame.ports import LogError
from storage.files.copies import copy_under_free_name

VERSIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009", "0010", "0011", "0012")
"""Oldest first."""

HEAD = VERSIONS[-1]

APPLICATION_ID = 0x53544C53
"""Written into the SQLite header (PRAGMA application_id), so that no other program's file is taken for a log:
the letters STLS."""


def version_of(connection: Connection, path: Path) -> str | None:
    """The schema version of an open log, None when the file is empty.

    Raises LogError when it isn't a log of ours, or is newer than this program.
    """
    tables = connection.scalar(text("SELECT count(*) FROM sqlite_schema"))
    if not tables:
        return None
    if connection.scalar(text("PRAGMA application_id")) != APPLICATION_ID:
        raise another_programs(path)
    version = str(connection.scalar(text("SELECT version_num FROM alembic_version")))
    if version not in VERSIONS:
        raise LogError(
            f"The log {path} was written by a newer stillset (schema {version}, this one knows {HEAD})."
            " It was not touched; use the newer one."
        )
    return version


def another_programs(path: Path) -> LogError:
    """The error for an SQLite file that another program made."""
    return LogError(f"{path} is not a log: it is another program's SQLite file.")


def refuse_another_programs(path: Path, header: bytes) -> None:
    """Raise LogError for another program's file before SQLite opens it for writing and keeps the turn to WAL in it.

    Told by the header (https://www.sqlite.org/fileformat2.html, 1.3): write version at 18, application id at 68. A
    file that is in WAL mode isn't changed by that, and what it says of itself may still be in its WAL.
    """
    rollback_mode = header.startswith(b"SQLite format 3\0") and header[18:19] == b"\x01"
    if rollback_mode and int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise another_programs(path)


def bring_up(connection: Connection, scripts: str = "storage:migrations", target: str = "head") -> None:
    """Run the migrations that the log lacks, in the transaction that the connection is in."""
    from alembic import command  # noqa: PLC0415  (slow to import, and seldom needed)
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", scripts)
    config.attributes["connection"] = connection
    command.upgrade(config, target)


def keep_copy(path: Path, version: str) -> Path:
    """Copy the log, as it is before it is migrated, to `NAME.of-version-…` beside it, whole and on the disk.

    An older copy of the same version stays; the new one gets a number. Raises LogError when there is no room.
    """
    try:
        with closing(sqlite3.connect(path)) as source:
            return copy_under_free_name(source, path.with_name(f"{path.name}.of-version-{version}"))
    except (sqlite3.Error, OSError) as error:
        raise LogError(
            f"The log {path} was not touched: no copy of it could be made before migrating ({error})."
        ) from error
