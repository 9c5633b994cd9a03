"""Opening the log's file: one writer, any number of readers, durable transactions, errors in plain words.

Settings of the connection, and why: WAL so that readers never wait for the writer; synchronous=FULL so that a
committed frame outlives a power cut; BEGIN IMMEDIATE so that schema changes roll back too and no transaction
has to turn from reading into writing. Source: https://www.sqlite.org/pragma.html.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from threading import Lock
from typing import Protocol

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import QueuePool

from session.frame.ports import LogError
from storage import migrations
from storage.database.soundness import WITHOUT_HELPERS, integrity_of, sentence_on
from storage.database.sql_errors import as_log_errors
from storage.files.copies import copy_damaged, copy_under_free_name, replace_copy, sync
from storage.files.writer_lock import WriterLock, refuse_what_is_no_file

BUSY_TIMEOUT_S = 5.0
"""How long to wait for SQLite's own locks, which a checkpoint or a copy holds for a moment. Chosen, no source."""

WRITER_PRAGMAS = ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON")
READER_PRAGMAS = ("query_only=ON",)

KEPT_ENDING = ".kept"
"""Of the copy that is made of an open log which isn't at its path any more."""


class Database(Protocol):
    """An open log. `transaction` is the only way in; every error of the database leaves it as a LogError."""

    def transaction(self) -> AbstractContextManager[Connection]:
        """All or nothing, durable when the block has ended; for a reader, one unchanging state of the log."""

    def close(self) -> None:
        """Close the file. May be called twice."""


class WritableDatabase(Database, Protocol):
    """An open log that may be written to."""

    def must_be_in_place(self) -> None:
        """Raise LogError when the log's path doesn't lead to the open file any more; its content is kept first."""

    def is_in_place(self) -> bool:
        """Whether the log's path leads to the open file."""


class WritingDatabase:
    """The log's only writer: a connection, held open, that threads use in turn.

    A log that is moved, deleted or replaced meanwhile goes on taking what is written, where it is; what it holds is
    kept in a copy beside, which is made anew at the end.
    """

    def __init__(self, path: Path, engine: Engine, lock: WriterLock) -> None:
        self._path = path
        self._engine = engine
        self._lock: WriterLock | None = lock
        self._turn = Lock()
        self._connection: Connection | None = None
        self._kept: Path | None = None

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        with self._turn, as_log_errors(self._path):
            if self._connection is None:
                self._connection = self._engine.connect()
            with self._connection.begin():
                yield self._connection

    def must_be_in_place(self) -> None:
        """Raise LogError when the log's path doesn't lead to the open file any more; its content is kept first."""
        with self._turn:
            self._see_place()

    def is_in_place(self) -> bool:
        """Whether the log's path leads to the open file."""
        lock = self._lock
        return lock is not None and lock.is_in_place()

    def close(self) -> None:
        """Also lets another writer in. Raises LogError when the log isn't in its place: said where its content is."""
        with self._turn:
            try:
                self._see_place()
            finally:
                if self._connection is not None:
                    self._connection.close()
                    self._connection = None
                self._engine.dispose()
                if self._lock is not None:
                    self._lock.release()
                    self._lock = None

    def _see_place(self) -> None:
        if self._lock is None or self._connection is None or self._lock.is_in_place():
            return
        now_at = self._lock.whereabouts()
        with suppress(LogError, sqlite3.Error):  # so that the file, wherever it is, is whole without its WAL
            self._driver.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        kept = self._keep([self._path.parent, *([now_at.parent] if now_at else [])])
        what = "was replaced by another file" if self._path.exists() else "was moved" if now_at else "was deleted"
        where = f" It is at {now_at} now." if now_at else ""
        raise LogError(
            f"The log {self._path} {what} while it was open.{where} {kept} End stillset before the next frame."
        )

    @property
    def _driver(self) -> sqlite3.Connection:
        assert self._connection is not None
        driver = self._connection.connection.dbapi_connection
        assert isinstance(driver, sqlite3.Connection)
        return driver

    def _keep(self, folders: list[Path]) -> str:
        """Copy the open log beside its path, or beside itself where that folder is gone; one sentence on it."""
        why = ""
        for folder in folders:
            try:
                if self._kept is None:
                    self._kept = copy_under_free_name(self._driver, folder / f"{self._path.name}{KEPT_ENDING}")
                else:
                    replace_copy(self._driver, self._kept)
            except (OSError, sqlite3.Error) as error:
                why = f"{folder}: {getattr(error, 'strerror', None) or error}"
                continue
            return f"All that it held is kept in {self._kept}."
        return f"What it held could not be kept beside ({why})."


class ReadingDatabase:
    """A reader: a connection for each question asked at the same time."""

    def __init__(self, path: Path, engine: Engine) -> None:
        self._path = path
        self._engine = engine

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        with as_log_errors(self._path), self._engine.begin() as connection:
            yield connection

    def close(self) -> None:
        self._engine.dispose()


def open_for_writing(path: Path) -> WritingDatabase:
    """Open the log, or make it, and bring it to this version's schema. Makes the last folder of the path.

    Raises LogError: a newer schema, another writer, not a log, damaged, no permission, no folder, no room.
    """
    _make_folder(path)
    _refuse_what_was_left_alone(path)
    lock = WriterLock(path)
    is_new = not lock.header()
    try:
        _refuse_damage(path)
    except BaseException:
        lock.release()
        raise
    database = WritingDatabase(path, engine_of(path), lock)
    try:
        if not is_new:
            migrations.refuse_another_programs(path, lock.header())
        with database.transaction() as connection:
            version = migrations.version_of(connection, path)
            if version == migrations.HEAD:  # changes nothing; shows now, not at a frame, that it can't be written
                connection.exec_driver_sql(f"PRAGMA application_id = {migrations.APPLICATION_ID}")
        if version != migrations.HEAD:
            if version is not None:
                migrations.keep_copy(path, version)
            with database.transaction() as connection:
                migrations.bring_up(connection)
        if is_new:
            sync(path.parent)
    except BaseException:
        database.close()
        raise
    return database


def open_for_reading(path: Path) -> ReadingDatabase:
    """Open an existing log without ever changing it, also while another stillset writes, also without permission.

    Raises LogError: no log there, an older or newer schema, not a log.
    """
    refuse_what_is_no_file(path)
    if not path.exists():
        raise LogError(f"There is no log at {path} yet.")
    database = ReadingDatabase(path, _engine(lambda: _connect_reading(path), "BEGIN"))
    try:
        with database.transaction() as connection:
            version = migrations.version_of(connection, path)
        if version is None:
            raise LogError(f"There is no log at {path} yet: the file is empty.")
        if version != migrations.HEAD:
            raise LogError(f"The log {path} is of an older stillset; a shoot on it brings it up to date.")
    except BaseException:
        database.close()
        raise
    return database


def engine_of(path: Path) -> Engine:
    """For writing to a log as ever, locked and looked after by the caller."""
    return _engine(lambda: _connect(path, "rwc", WRITER_PRAGMAS), "BEGIN IMMEDIATE")


def _engine(connect: Callable[[], sqlite3.Connection], begin: str) -> Engine:
    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine


def _connect(path: Path, mode: str, pragmas: tuple[str, ...]) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?{mode if '=' in mode else 'mode=' + mode}",
        uri=True,
        timeout=BUSY_TIMEOUT_S,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        for pragma in pragmas:
            connection.execute(f"PRAGMA {pragma}")
    except BaseException:
        connection.close()
        raise
    return connection


def _connect_reading(path: Path) -> sqlite3.Connection:
    """Read-only. Where SQLite may not make its helper files and none is there, the file is at rest: read it so."""
    connection = _connect(path, "ro", READER_PRAGMAS)
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError as error:
        connection.close()
        wal = path.parent / f"{path.name}-wal"
        if error.sqlite_errorcode & 0xFF not in WITHOUT_HELPERS:
            raise
        if wal.exists() and wal.stat().st_size > 0:
            raise LogError(
                f"The log {path} was not closed, and without permission or room to write beside it it can't be read"
                " whole."
            ) from error
        return _connect(path, "immutable=1", READER_PRAGMAS)
    except BaseException:
        connection.close()
        raise
    return connection


def _refuse_damage(path: Path) -> None:
    """Raise LogError for a damaged log before anything is written to it, and keep a copy of it, byte by byte."""
    found = integrity_of(path)
    if not found:
        return
    try:
        kept = f"A copy of it is {copy_damaged(path)}."
    except OSError as error:
        kept = f"No copy of it could be made ({error.strerror or error})."
    raise LogError(f"{sentence_on(path, found)} Nothing was written to it. {kept}")


def _refuse_what_was_left_alone(path: Path) -> None:
    """Raise LogError when the log is gone but its WAL still holds the last writes, which a new log would delete.

    Source: https://www.sqlite.org/howtocorrupt.html, 1.4 ("unlinking or renaming a database file while in use").
    """
    wal = path.parent / f"{path.name}-wal"
    with suppress(OSError):
        if wal.stat().st_size and not (path.exists() and path.stat().st_size):
            raise LogError(
                f"The log {path} isn't there, but what was written to it last is: move the log back beside {wal.name};"
                f" only when it is lost for good, move {wal.name} away, and a new log is begun."
            )


def _make_folder(path: Path) -> None:
    if path.parent.is_dir():
        return
    try:
        path.parent.mkdir()
    except OSError as error:
        raise LogError(f"The log's folder {path.parent} can't be made: {error.strerror}.") from error
