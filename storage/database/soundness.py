"""Whether a log is sound: SQLite's integrity check, references, pages against the file's size, each row by itself.

A row's own check looks at what SQLite lets pass: the kind of value that stands in a column, keys, times, JSON. A
letter changed in a note is seen by nobody. Source: https://www.sqlite.org/pragma.html#pragma_integrity_check.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import JSON, BigInteger, Boolean, CheckConstraint, Column, Float, Integer, Table, Uuid

from session.frame.ports import LogError
from storage.schema import order_models, search_models, station_models
from storage.schema.columns import Instant
from storage.schema.frame_models import FrameTable
from storage.schema.models import Base

CHECKED_BYTES = 32_000_000
"""A log of up to this size is checked whenever it is opened, some 6,000 frames; larger ones by `stillset verify`.
Chosen: measured 0.12 s for a log of 5.6 MB, so that no command takes a second longer for it."""

WITHOUT_HELPERS = (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR)
"""SQLite's errors when it can't make its helper files beside the log: no permission there, or no room."""

MOST_NAMED = 5
"""Damages named in one sentence."""

OF_DAMAGED_VALUES = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError)
"""Errors in which our code ends when a log holds a value that we never write."""

MODELS = (FrameTable, order_models.JobOrderTable, search_models.RevisionUseTable, station_models.FetchedFrameTable)
"""A table of each module that defines the log's tables: importing them makes all tables known."""

SETTING = "type = 'object' AND json_type(value, '$.value') NOT NULL AND json_type(value, '$.shown') NOT NULL"

SHAPES = {
    ("camera_reading", "settings"): "json_type({0}) = 'object' AND NOT EXISTS (SELECT 1 FROM json_each({0})"
    f" WHERE NOT ({SETTING}))",
    ("finding", "remedy_settings"): "json_type({0}) = 'object'",
    ("finding", "details"): "json_type({0}) = 'object'",
    ("revision", "ticked"): "json_type({0}) = 'array'"
    " AND NOT EXISTS (SELECT 1 FROM json_each({0}) WHERE type <> 'text')",
    ("event", "payload"): "json_type({0}) IN ('object', 'null')"
    " AND (kind <> 'place' OR json_type({0}, '$.view_id') = 'text')",
}
"""Table and column of JSON → what it must hold, in SQL (https://www.sqlite.org/json1.html)."""

TABLES: dict[str, Table] = dict(Base.metadata.tables)


@dataclass(frozen=True)
class Damage:
    """A place of damage in the database.

    table  "" where SQLite doesn't tell
    row    its rowid, None where it is no single row's
    """

    table: str
    text: str
    row: int | None = None

    @property
    def name_damage(self) -> str:
        """`frame, row 17 (state)`."""
        place = self.table or "the file"
        return f"{place}, row {self.row} ({self.text})" if self.row is not None else f"{place} ({self.text})"


def connect_to_look(path: Path) -> sqlite3.Connection:
    """A connection that changes nothing, and takes the schema as far as it can be read."""
    connection = _connect_query_only(path, "mode=ro")
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError as error:
        connection.close()
        wal = path.with_name(path.name + "-wal")
        if error.sqlite_errorcode & 0xFF not in WITHOUT_HELPERS or (wal.exists() and wal.stat().st_size > 0):
            raise
        return _connect_query_only(path, "immutable=1")
    except sqlite3.DatabaseError:  # a damaged schema: what of it can be read is for those who ask
        return connection
    return connection


def _connect_query_only(path: Path, how: str) -> sqlite3.Connection:
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, isolation_level=None)
    connection.execute("PRAGMA query_only=ON")
    connection.execute("PRAGMA writable_schema=ON")  # only so that a damaged entry of the schema costs that entry alone
    return connection


def damage_of(path: Path) -> tuple[Damage, ...]:
    """The damage in a log; () when the log is sound, and when it can't be opened at all, which opening it says."""
    try:
        with closing(connect_to_look(path)) as connection:
            return tuple(_damage(connection, path))
    except sqlite3.DatabaseError as error:
        return (Damage("", str(error)),) if is_damage(error) else ()


def damage_seen_at_once(path: Path) -> tuple[Damage, ...]:
    """The damage in a log that is small enough to be checked whenever it is opened; () for a larger log."""
    try:
        small = path.stat().st_size <= CHECKED_BYTES
    except OSError:
        return ()
    return damage_of(path) if small else ()


def integrity_of(path: Path) -> tuple[Damage, ...]:
    """The damage that SQLite's own check finds in a log small enough to be checked at each opening; () for a larger."""
    try:
        if path.stat().st_size > CHECKED_BYTES:
            return ()
        with closing(connect_to_look(path)) as connection:
            return tuple(_integrity(connection))
    except OSError:
        return ()
    except sqlite3.DatabaseError as error:
        return (Damage("", str(error)),) if is_damage(error) else ()


def is_damage(error: BaseException) -> bool:
    """Whether an error of the driver means that the file is damaged."""
    code = getattr(error, "sqlite_errorcode", None)
    if code is None:
        return isinstance(error, sqlite3.OperationalError) and "decode" in str(error)
    return int(code) & 0xFF == sqlite3.SQLITE_CORRUPT


def sentence_on(path: Path, found: Sequence[Damage]) -> str:
    """A sentence that names the damaged tables and rows, and the command that rescues the log."""
    named = ", ".join(one.name_damage for one in found[:MOST_NAMED])
    more = f" and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
    where = f" in {named}{more}" if named else ""
    rescued = f"`stillset log rescue {path} NEW` brings what is whole into a new log; it changes nothing in this one."
    return f"The log {path} is damaged{where}. {rescued}"


@contextmanager
def name_damage(path: Path) -> Iterator[None]:
    """Raise a LogError that names the damage in place of an error that damage caused in this block."""
    try:
        yield
    except (LogError, *OF_DAMAGED_VALUES) as error:
        found = damage_of(path)
        if not found:
            raise
        raise LogError(sentence_on(path, found)) from error


def table_names(connection: sqlite3.Connection) -> list[str]:
    """Names of the log's own tables that the file has; tables of the full text index aren't the log's own."""
    names = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    return [table.name for table in Base.metadata.sorted_tables if table.name in names]


def _damage(connection: sqlite3.Connection, path: Path) -> Iterator[Damage]:
    yield from _integrity(connection)
    pages, size = (connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("page_count", "page_size"))
    bytes_there = path.stat().st_size
    wal = path.with_name(path.name + "-wal")
    at_rest = not wal.exists() or wal.stat().st_size == 0
    if at_rest and bytes_there != pages * size:
        yield Damage("", f"{bytes_there} bytes instead of {pages} pages of {size}")
    yield from _references(connection)
    for name in table_names(connection):
        yield from _rows(connection, TABLES[name])


def _integrity(connection: sqlite3.Connection) -> Iterator[Damage]:
    try:
        if connection.execute("PRAGMA integrity_check(1)").fetchall() == [("ok",)]:
            return
    except sqlite3.DatabaseError as error:
        if not is_damage(error):
            raise
    found = False
    for name in table_names(connection):
        try:
            lines = [line for (line,) in connection.execute(f'PRAGMA integrity_check("{name}")')]
        except sqlite3.DatabaseError as error:
            lines = [str(error)]
        if lines != ["ok"]:
            found = True
            yield Damage(name, " ".join(lines[0].split("\n")[-1].split()))
    if not found:
        yield Damage("", "its pages don't belong together")


def _references(connection: sqlite3.Connection) -> Iterator[Damage]:
    try:
        for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
            yield Damage(table, f"no such {parent}", row)
    except sqlite3.DatabaseError as error:
        if not is_damage(error):
            raise
        yield Damage("", f"references: {error}")


def _rows(connection: sqlite3.Connection, table: Table) -> Iterator[Damage]:
    """Rows with a value that this program never writes to the value's column."""
    there = {row[1] for row in connection.execute(f'PRAGMA table_info("{table.name}")')}
    checks = {column.name: _is_right(column) for column in table.columns if column.name in there}
    if len(checks) == len(table.columns):  # not of an older log
        checks |= _constraints(table)
    flaws = " || ".join(f"iif({right}, '', '{name} ')" for name, right in checks.items())
    wrong = " OR ".join(f"NOT ({right})" for right in checks.values())
    query = f'SELECT rowid, {flaws} FROM "{table.name}" NOT INDEXED WHERE {wrong}'
    try:
        for row, names in connection.execute(query):
            yield Damage(table.name, str(names).strip(), row)
    except sqlite3.DatabaseError as error:
        if not is_damage(error):
            raise
        yield Damage(table.name, str(error))


def _constraints(table: Table) -> dict[str, str]:
    """The table's CHECKs by name: of a file opened only to look at, SQLite's integrity check leaves them out."""
    found = [one for one in table.constraints if isinstance(one, CheckConstraint)]
    found += [one for column in table.columns for one in column.constraints if isinstance(one, CheckConstraint)]
    return {str(one.name).removeprefix(f"ck_{table.name}_"): f"coalesce({one.sqltext}, 1)" for one in found}


def _is_right(column: Column[object]) -> str:
    """A condition in SQL that a sound value of this column meets."""
    name = f'"{column.name}"'
    match column.type:
        case Uuid():
            right = f"(typeof({name}) = 'text' AND length({name}) = 32 AND {name} NOT GLOB '*[^0-9a-f]*')"
        case Instant():
            right = f"(typeof({name}) = 'text' AND julianday({name}) NOT NULL AND {name} GLOB '????-??-?? *')"
        case Boolean():
            right = f"(typeof({name}) = 'integer' AND {name} IN (0, 1))"
        case Float():
            right = f"(typeof({name}) IN ('real', 'integer'))"
        case Integer() | BigInteger():
            right = f"(typeof({name}) = 'integer')"
        case JSON():
            shape = SHAPES.get((column.table.name, column.name), "1").format(name)
            right = f"(CASE WHEN typeof({name}) = 'text' AND json_valid({name}) THEN {shape} ELSE 0 END)"
        case _:
            right = f"(typeof({name}) = 'text')"
    return f"({name} IS NULL OR {right})" if column.nullable else right
