"""Brings all that is whole in a damaged log into a new one, row by row, and says what is not.

The damaged log is only read. The rows of each table are sought along the table itself, from the first on and from the
last back, then singly by the numbers that its indexes still know and that lie between; indexes are never trusted for a
value. The new log has the schema version of the old one, so that the next shoot brings it up to date as ever. What is
counted and searched from other rows is worked out anew. Rows that can be read and that the new log's own rules refuse
are written beside it as they are: a flipped bit may make one file's name another's, and no check says which is true.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass
from itertools import chain, groupby
from pathlib import Path
from typing import Any

from session.frame.ports import LogError
from storage import migrations
from storage.database.log_database import engine_of
from storage.database.soundness import Damage, connect_to_look, damage_of, is_damage, table_names
from storage.database.sql_errors import as_log_errors, sentence
from storage.files.copies import sync

DERIVED = ("revision_use", "searchable")
"""Tables whose rows are worked out from others (migration 0002)."""

GAP = 100_000
"""Largest gap between known row numbers in which every number is tried. Chosen: rows are numbered without gaps, and
so many look-ups take a second."""

HIGHEST = 1 << 40
"""No log has so many rows: a number above it is damaged itself."""


@dataclass(frozen=True)
class RefusedRow:
    """A row that could be read and that the new log would not take, with its unchanged values by column."""

    number: int
    why: str
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Rescued:
    """How the rescue of one table went.

    rows     brought over
    unread   numbers of rows that are there and can't be read
    refused  rows that the new log would not take
    """

    table: str
    rows: int
    unread: tuple[int, ...] = ()
    refused: tuple[RefusedRow, ...] = ()

    def lines(self) -> Iterator[str]:
        """A sentence for each loss: rows that can't be read, rows that the new log refused."""
        for first, last in _runs(self.unread):
            rows = f"row {first}" if first == last else f"rows {first} to {last}"
            yield f"{self.table}: {rows} can't be read."
        for row in self.refused:
            yield f"{self.table}: row {row.number} was not brought over: {row.why}"


def path_of_refused(new: Path) -> Path:
    """Where a rescue into this new log writes the rows that the log would not take, one JSON object a line."""
    return new.with_name(f"{new.name}.refused.jsonl")


def rescue(damaged: Path, new: Path) -> tuple[list[Rescued], tuple[Damage, ...]]:
    """Make the new log. Returns the outcome for each table, and the damage that the new log still has.

    Raises LogError: a name is taken or can't be written, or nothing can be read at all; no new log is left then.
    """
    refused = path_of_refused(new)
    if os.path.lexists(refused):  # of an earlier rescue; to be found out before the hours that this one may take
        raise LogError(f"{refused} is there already; move it away, or rescue into a log of another name.")
    os.close(_new_file(new))
    try:
        with as_log_errors(damaged), closing(connect_to_look(damaged)) as source:
            version = _version(source, damaged)
            _make(new, version)
            with closing(sqlite3.connect(new, isolation_level=None)) as target:
                found = _bring_over(source, target)
        sync(new.parent)
        if any(one.refused for one in found):
            _write_refused(refused, found)
    except BaseException:
        for ending in ("", "-wal", "-shm", "-journal"):
            new.with_name(new.name + ending).unlink(missing_ok=True)
        raise
    return found, damage_of(new)


def _new_file(path: Path) -> int:
    """The descriptor of a new file with this name. Raises LogError."""
    try:
        return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o644)
    except FileExistsError:
        raise LogError(f"{path} is there already; a log is rescued into a new file.") from None
    except OSError as error:
        raise LogError(f"{path} can't be made: {error.strerror}.") from error


def _write_refused(path: Path, found: Iterable[Rescued]) -> None:
    descriptor = _new_file(path)
    try:
        with os.fdopen(descriptor, "w", encoding="ascii") as file:
            for one in found:
                for row in one.refused:
                    told = {"table": one.table, "row": row.number, "why": row.why, "values": row.values}
                    file.write(json.dumps(told, default=_hex) + "\n")
            file.flush()
            os.fsync(descriptor)
        sync(path.parent)
    except OSError as error:
        path.unlink(missing_ok=True)
        raise LogError(f"{path} can't be written: {error.strerror}.") from error


def _hex(value: bytes) -> dict[str, str]:
    """Bytes, and text that a flipped bit made no text, as JSON can hold them."""
    return {"hex": value.hex()}


def _version(source: sqlite3.Connection, path: Path) -> str:
    """The version of the log's schema, or this program's version when the log's can't be read."""
    try:
        names = {name for (name,) in source.execute("SELECT name FROM sqlite_schema")}
        (version,) = source.execute("SELECT version_num FROM alembic_version").fetchone() or ("",)
    except sqlite3.DatabaseError as error:
        if not is_damage(error):
            raise
        names, version = {"frame"}, ""
    if "frame" not in names and "alembic_version" not in names:
        raise LogError(f"{path} is not a log, or nothing of it can be read.")
    return version if version in migrations.VERSIONS else migrations.HEAD


def _make(new: Path, version: str) -> None:
    engine = engine_of(new)
    try:
        with as_log_errors(new), engine.begin() as connection:
            migrations.bring_up(connection, target=version)
    finally:
        engine.dispose()


def _bring_over(source: sqlite3.Connection, target: sqlite3.Connection) -> list[Rescued]:
    for pragma in ("foreign_keys=OFF", "journal_mode=WAL", "synchronous=FULL"):
        target.execute(f"PRAGMA {pragma}")
    source.text_factory = _text
    triggers = target.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
    target.execute("BEGIN IMMEDIATE")
    for name, _ in triggers:
        target.execute(f'DROP TRIGGER "{name}"')
    tables = [name for name in table_names(target) if name not in DERIVED]
    there = set(table_names(source))
    found = [_table(source, target, name) if name in there else Rescued(name, 0) for name in tables]
    for _, sql in triggers:
        target.execute(sql)
    _work_out(target)
    target.execute("COMMIT")
    return found


def _text(data: bytes) -> str | bytes:
    """Text as it is; bytes that are no text stay bytes, and are told as such."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data


def _table(source: sqlite3.Connection, target: sqlite3.Connection, name: str) -> Rescued:
    here = [row[1] for row in target.execute(f'PRAGMA table_info("{name}")')]
    there = {row[1] for row in source.execute(f'PRAGMA table_info("{name}")')}
    columns = [column for column in here if column in there]
    listed = ", ".join(f'"{column}"' for column in columns)
    insert = f'INSERT INTO "{name}" (rowid, {listed}) VALUES ({", ".join("?" * (len(columns) + 1))})'
    count = 0
    refused: list[RefusedRow] = []
    walk = _Walk(source, name, listed)
    if name == "station":  # a new log is a station of its own, unless the old one can still say which it was
        first = next(iter(walk.rows()), None)
        if first is None:
            return Rescued(name, 0, tuple(sorted(walk.unread)))
        target.execute("DELETE FROM station")
    for row in walk.rows():
        try:
            target.execute(insert, row)
            count += 1
        except (sqlite3.IntegrityError, sqlite3.DataError, OverflowError) as error:
            values = dict(zip(columns, row[1:], strict=True))
            refused.append(RefusedRow(row[0], sentence(Path(), error), values))
    return Rescued(name, count, tuple(sorted(walk.unread)), tuple(refused))


class _Walk:
    """All readable rows of a table, each once; `unread` holds the numbers of rows that exist and can't be read.

    Damage may have given two rows one number: both are readable rows.
    """

    def __init__(self, source: sqlite3.Connection, table: str, columns: str) -> None:
        self._source = source
        self._table = table
        self._select = f'SELECT rowid, {columns} FROM "{table}" NOT INDEXED'
        self.unread: set[int] = set()

    def rows(self) -> Iterator[tuple[Any, ...]]:
        seen: set[int] = set()
        read: set[int] = set()
        """Hashes of the rows that were given: a page that is reached by two ways gives its rows once."""
        broken = False
        for order in ("ASC", "DESC"):
            try:
                for row in self._source.execute(f"{self._select} ORDER BY rowid {order}"):
                    if hash(row) not in read:
                        read.add(hash(row))
                        seen.add(row[0])
                        yield row
                if not broken:
                    return
            except sqlite3.DatabaseError as error:
                if not is_damage(error):
                    raise
                broken = True
        known = self._numbers_in_indexes() - seen
        for number in chain(sorted(known), self._between(seen | known)):
            try:
                row = self._source.execute(f"{self._select} WHERE rowid = ?", (number,)).fetchone()
            except sqlite3.DatabaseError as error:
                if not is_damage(error):
                    raise
                self.unread.add(number)
                continue
            if row is not None and row[0] not in seen:
                seen.add(row[0])
                yield row
            elif number in known:
                self.unread.add(number)

    def _numbers_in_indexes(self) -> set[int]:
        """Row numbers that the table's indexes hold, as far as they can be read."""
        found: set[int] = set()
        indexes = []
        with suppress(sqlite3.DatabaseError):
            query = "SELECT name FROM sqlite_schema WHERE type = 'index' AND tbl_name = ?"
            indexes = [name for (name,) in self._source.execute(query, (self._table,))]
        for index in indexes:
            columns = [row[2] for row in self._source.execute(f'PRAGMA index_info("{index}")')]
            if None in columns:  # an expression: can't be asked for by name
                continue
            order = ", ".join(f'"{column}"' for column in columns)
            for direction in ("ASC", "DESC"):
                query = f'SELECT rowid FROM "{self._table}" INDEXED BY "{index}" ORDER BY {order} {direction}'
                with suppress(sqlite3.DatabaseError):
                    for (number,) in self._source.execute(query):
                        if 0 < number < HIGHEST:
                            found.add(number)
        return found

    def _between(self, numbers: set[int]) -> Iterator[int]:
        """The missing row numbers between known ones, in gaps of at most GAP numbers."""
        ordered = sorted(number for number in numbers if number > 0)
        last = 0
        for number in ordered:
            if number - last <= GAP:
                yield from range(last + 1, number)
            last = number


def _work_out(target: sqlite3.Connection) -> None:
    """Fill the tables of uses and of searched words from the rescued rows."""
    from storage.migrations.versions import v0002_search_and_archive as search  # noqa: PLC0415 - brings Alembic

    if not target.execute("SELECT 1 FROM sqlite_schema WHERE name = 'revision_use'").fetchone():
        return
    target.execute("DELETE FROM revision_use")
    target.execute("DELETE FROM searchable")
    into, uses = search.USED_UNTIL_NOW.split("SELECT", 1)
    noted = "SELECT frame_id FROM note UNION SELECT frame_id FROM overruling"
    for use in target.execute(f"SELECT {uses}").fetchall():
        with suppress(sqlite3.IntegrityError):  # of a place or a set-up that was not brought over: there are no words
            target.execute(f"{into} VALUES ({', '.join('?' * len(use))})", use)
    for (frame_id,) in target.execute(noted).fetchall():
        with suppress(sqlite3.IntegrityError):
            target.execute(search.FRAME_WORDS.format(key="?"), (frame_id,))


def _runs(numbers: Iterable[int]) -> Iterator[tuple[int, int]]:
    """First and last of each run of consecutive numbers."""
    for _, run in groupby(enumerate(sorted(numbers)), lambda pair: pair[1] - pair[0]):
        members = [number for _, number in run]
        yield members[0], members[-1]
