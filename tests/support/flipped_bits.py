"""Logs with flipped bits: what each command that reads says of them, and what a rescue brings over of them.

A trial copies a sound log, flips some bits anywhere in its file, and runs the read commands in this process, through
the same door as the program. Its judges are outside our code: SQLite's own integrity check, and a plain SQL dump.
"""

from __future__ import annotations

import io
import json
import shutil
import sqlite3
import traceback
from collections import Counter
from contextlib import closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from session.frame.ports import LogError
from storage.database.rescue import DERIVED, path_of_refused, rescue
from storage.database.soundness import damage_of
from storage.migrations import APPLICATION_ID
from tui.commands.command_line import stillset as commands
from tui.shell.troubles import in_words

MOST_BITS = 16

READS = (
    ("log", "jobs"),
    ("log", "frames"),
    ("log", "frames", "--json"),
    ("log", "frames", "--csv"),
    ("log", "frames", "--text", "bridge", "--newest", "20"),
    ("log", "setups"),
    ("log", "notes"),
    ("log", "events"),
    ("log", "stats"),
    ("setup", "show"),
    ("verify",),
)


@dataclass
class Trial:
    """What came of one damaged log."""

    number: int
    tracebacks: list[str] = field(default_factory=list)
    silent: list[str] = field(default_factory=list)
    less_than_dump: list[str] = field(default_factory=list)
    seen: bool = False
    changed: int = 0
    lost: int = 0


def flipped(sound: bytes, chance: Random) -> bytes:
    """The file with 1 to 16 of its bits turned over."""
    data = bytearray(sound)
    for _ in range(chance.randint(1, MOST_BITS)):
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    return bytes(data)


def answers(log: Path) -> dict[tuple[str, ...], tuple[int, str, str]]:
    """Exit code, output and errors of each read command; a traceback stands among the errors."""
    return {command: _run((*command, "--log", str(log))) for command in READS}


def _run(arguments: tuple[str, ...]) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    import sys

    before, sys.argv = sys.argv, ["stillset", *arguments]
    try:
        with redirect_stdout(out), redirect_stderr(err):
            try:
                code = in_words(commands)
            except Exception:  # noqa: BLE001 - what a person would see as a traceback
                code = 70
                err.write(traceback.format_exc())
    finally:
        sys.argv = before
    return code, out.getvalue(), err.getvalue()


def trial(number: int, sound: Path, told: dict[tuple[str, ...], tuple[int, str, str]], folder: Path) -> Trial:
    """Damage a copy of the log by this number's chance, and look at it in every way."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    log, new = folder / sound.name, folder / "new.sqlite"
    log.write_bytes(flipped(sound.read_bytes(), Random(number)))
    found = Trial(number, seen=not integrity_ok(log) or bool(damage_of(log)))
    for command, (code, out, err) in answers(log).items():
        if "Traceback" in err:
            found.tracebacks.append(f"{number}: {' '.join(command)}: {err.strip().splitlines()[-1]}")
        was_code, was_out, _ = told[command]
        altered = out.replace(str(folder), "") != was_out.replace(str(sound.parent), "")
        if altered and code == was_code == 0:
            found.changed += 1
            if found.seen:
                found.silent.append(f"{number}: {' '.join(command)}")
    _rescued(found, log, new, sound)
    return found


def _rescued(found: Trial, log: Path, new: Path, sound: Path) -> None:
    dumped = dump_of(log)
    try:
        rescue(log, new)
    except LogError as error:
        if dumped:
            found.less_than_dump.append(f"{found.number}: {error}")
        return
    whole = rows_of(new)
    for table, rows in refused_rows(new).items():
        whole.setdefault(table, []).extend(rows)
    for table, rows in dumped.items():
        lost = Counter(rows) - Counter(whole.get(table, ()))
        if lost:
            found.less_than_dump.append(
                f"{found.number}: {table} lacks {sum(lost.values())} rows: {next(iter(lost))[:200]}"
            )
    originals = rows_of(sound)
    found.lost = sum(sum((Counter(rows) - Counter(whole.get(table, ()))).values()) for table, rows in originals.items())


def integrity_ok(log: Path) -> bool:
    """By a connection of the test's own."""
    try:
        with closing(sqlite3.connect(log)) as connection:
            return connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    except sqlite3.DatabaseError:
        return False


def rows_of(log: Path) -> dict[str, list[str]]:
    """The rows of each table that people or machines wrote."""
    with closing(_raw(log)) as connection:
        names = [name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        kept = [name for name in names if name not in DERIVED and not name.startswith(("search_index", "alembic"))]
        return {name: [repr(row) for row in connection.execute(f'SELECT * FROM "{name}" NOT INDEXED')] for name in kept}


def refused_rows(new: Path) -> dict[str, list[str]]:
    """The rows that the rescue read and the new log refused, as `rows_of` gives them."""
    found: dict[str, list[str]] = {}
    path = path_of_refused(new)
    for line in path.read_text("ascii").splitlines() if path.exists() else ():
        row = json.loads(line)
        values = [bytes.fromhex(v["hex"]) if isinstance(v, dict) else v for v in row["values"].values()]
        found.setdefault(row["table"], []).append(repr(tuple(values)))
    return found


def dump_of(log: Path) -> dict[str, list[str]]:
    """What a plain SQL dump holds: each table from its first row on, then, after a fault, from its last row back.

    As the sqlite3 shell's `.dump` does it (https://www.sqlite.org/cli.html), which asks no row whether a new log would
    take it; values have the kind that the column gives them in a new table (https://www.sqlite.org/datatype3.html, 3).
    """
    try:
        with closing(_raw(log)) as connection:
            if connection.execute("PRAGMA application_id").fetchone() != (APPLICATION_ID,):
                return {}
            names = [name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
            kept = [name for name in names if name not in DERIVED]
            return {
                name: _rows_in_dump(connection, name)
                for name in kept
                if not name.startswith(("search_index", "alembic", "sqlite_"))
            }
    except sqlite3.DatabaseError:
        return {}


def _rows_in_dump(connection: sqlite3.Connection, name: str) -> list[str]:
    rows: dict[tuple[object, ...], None] = {}  # in their order; a page that is reached twice gives its rows once
    for order in ("ASC", "DESC"):
        try:
            for row in connection.execute(f'SELECT rowid, * FROM "{name}" NOT INDEXED ORDER BY rowid {order}'):
                rows[row] = None
            break
        except sqlite3.DatabaseError:
            continue
    columns = [f'"{row[1]}" {row[2]}' for row in connection.execute(f'PRAGMA table_info("{name}")')]
    with closing(_raw(Path(":memory:"))) as other:
        other.execute(f'CREATE TABLE "{name}" ({", ".join(columns)})')
        marks = ", ".join("?" * len(columns))
        other.executemany(f'INSERT INTO "{name}" VALUES ({marks})', [row[1:] for row in rows])
        return [repr(row) for row in other.execute(f'SELECT * FROM "{name}"')]


def _raw(log: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(log)
    connection.text_factory = _text
    return connection


def _text(data: bytes) -> str | bytes:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data


def change_unasked(path: Path, statement: str) -> None:
    """Run a statement on a log as a flipped bit may change it: past constraints and triggers."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA ignore_check_constraints=ON")
        for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            connection.execute(f'DROP TRIGGER "{name}"')
        connection.execute(statement)
        connection.commit()
