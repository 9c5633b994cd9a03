"""Which files a log may have opened."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from sqlalchemy import create_engine, text

from storage.database.reach import OpenableFiles
from storage.writing.log import SqlLog


def test_own_files_are_opened_also_once_sqlite_has_made_a_temporary_table(log: SqlLog, path: Path) -> None:
    """SQLite lists its own store of temporary tables beside the log from then on."""
    with closing(create_engine(f"sqlite:///{path}").connect()) as connection:
        connection.execute(text("CREATE TEMP TABLE kept (number INTEGER)"))
        assert len(connection.execute(text("PRAGMA database_list")).all()) == 2
        assert OpenableFiles(connection, ["own"]).holds("own", "/elsewhere/own.jpg")
