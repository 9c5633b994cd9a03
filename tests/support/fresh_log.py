"""An empty log for a test: a copy of one that was made once, since making one runs all migrations.

What making one does is tested by tests/storage/database/test_log_database.py and test_migrations.py.
"""

from __future__ import annotations

import atexit
import shutil
import sqlite3
import tempfile
from contextlib import closing
from functools import cache
from pathlib import Path
from uuid import uuid4

from session.frame.ports import Clock
from storage.writing.log import SqlLog


def fresh_log(path: Path, clock: Clock | None = None) -> SqlLog:
    """Open an empty log there, a station of its own like one that was just made."""
    shutil.copy(_empty(), path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE station SET station_id = ?", (uuid4().hex,))
        connection.commit()
    return SqlLog.open(path, clock)


@cache
def _empty() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="stillset-empty-log-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    SqlLog.open(folder / "log.sqlite").close()
    return folder / "log.sqlite"
