"""Every error of SQLite becomes one of the log's, with a sentence, and is told apart by whether it may pass."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError, SQLAlchemyError, StatementError

from session.frame.ports import LogError, RefusedForGoodError
from storage.database.sql_errors import as_log_errors, disk_of, refusal_text
from storage.schema.columns import UnstorableError

CODES = {
    name: getattr(sqlite3, f"SQLITE_{name}")
    for name in (
        *("ERROR", "INTERNAL", "PERM", "ABORT", "BUSY", "LOCKED", "NOMEM", "READONLY", "INTERRUPT", "IOERR", "CORRUPT"),
        *("NOTFOUND", "FULL", "CANTOPEN", "PROTOCOL", "EMPTY", "SCHEMA", "TOOBIG", "CONSTRAINT", "MISMATCH", "MISUSE"),
        *("NOLFS", "AUTH", "FORMAT", "RANGE", "NOTADB"),
    )
}
"""Primary result codes of errors, https://www.sqlite.org/rescode.html."""

OF_THE_MOMENT = {
    *("PERM", "ABORT", "BUSY", "LOCKED", "NOMEM", "READONLY", "INTERRUPT", "IOERR", "CORRUPT"),
    *("FULL", "CANTOPEN", "PROTOCOL", "SCHEMA", "NOTADB"),
}
"""What that page says of the disk, the file, a lock or the moment: the same entry may be taken later."""

IOERR_FSYNC, BUSY_SNAPSHOT = 1034, 517
"""Extended codes: the primary one stands in the low byte."""


def driver_error(code: int, message: str = "as SQLite says") -> sqlite3.OperationalError:
    error = sqlite3.OperationalError(message)
    error.sqlite_errorcode = code
    return error


def refused(error: BaseException, path: Path) -> LogError:
    with pytest.raises(LogError) as caught, as_log_errors(path):
        raise error
    return caught.value


@pytest.fixture
def there(tmp_path: Path) -> Path:
    path = tmp_path / "log.sqlite"
    path.touch()
    return path


@pytest.mark.parametrize("name", CODES)
def test_every_result_code_is_told_in_words_and_may_pass_or_not(name: str, there: Path) -> None:
    error = driver_error(CODES[name])
    for raised in (error, OperationalError("INSERT", {}, error)):
        found = refused(raised, there)
        assert isinstance(found, RefusedForGoodError) == (name not in OF_THE_MOMENT), name
        assert str(found).endswith(".") or "as SQLite says" in str(found)
        assert "INSERT" not in str(found), "the statement is not for people"


def test_extended_codes_are_read_by_their_primary_one(there: Path) -> None:
    assert "the disk gives an error" in str(refused(driver_error(IOERR_FSYNC), there))
    assert "held by another program" in str(refused(driver_error(BUSY_SNAPSHOT), there))


def test_a_full_disk_is_named(there: Path) -> None:
    said = str(refused(driver_error(sqlite3.SQLITE_FULL), there))
    assert f"its disk, {disk_of(there)}, is full" in said and str(there) in said
    assert disk_of(there).is_mount()


def test_a_log_that_is_gone_is_said_so(tmp_path: Path) -> None:
    assert "no log at" in str(refused(driver_error(sqlite3.SQLITE_CANTOPEN), tmp_path / "gone.sqlite"))


def test_what_no_entry_can_be_is_refused_for_good(there: Path) -> None:
    for error in (
        OverflowError("Python int too large to convert to SQLite INTEGER"),
        UnstorableError("a time in the log must carry its zone"),
        StatementError("bad", "INSERT", {}, TypeError("not a float")),
        sqlite3.InterfaceError("bad parameter or other API misuse"),
    ):
        assert isinstance(refused(error, there), RefusedForGoodError)


def test_any_other_error_of_the_library_may_pass_and_what_is_no_error_of_it_goes_through(there: Path) -> None:
    assert not isinstance(refused(SQLAlchemyError("the pool is closed"), there), RefusedForGoodError)
    with pytest.raises(KeyError), as_log_errors(there):
        raise KeyError("ours")
    with as_log_errors(there):
        pass


SCHEMA = """
    CREATE TABLE setup (setup_id TEXT CONSTRAINT pk_setup PRIMARY KEY);
    CREATE TABLE light (
        name TEXT NOT NULL CONSTRAINT ck_name_filled CHECK (name <> ''),
        distance_mm REAL CONSTRAINT ck_distance_mm_positive CHECK (distance_mm > 0),
        delay_s REAL CONSTRAINT ck_delay_s_not_negative CHECK (delay_s >= 0),
        kind TEXT CONSTRAINT ck_kind_known CHECK (kind IN ('flash', 'lamp')),
        setup_id TEXT REFERENCES setup,
        CONSTRAINT uq_light UNIQUE (setup_id, name)
    );
    INSERT INTO setup VALUES ('s');
    INSERT INTO light VALUES ('key', 600, 0, 'flash', 's');
"""


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (("", 600, 0, "flash", "s"), "name must not be empty"),
        (("rim", 0, 0, "flash", "s"), "distance_mm must be more than 0"),
        (("rim", 600, -1, "flash", "s"), "delay_s must not be less than 0"),
        (("rim", 600, 0, "candle", "s"), "kind is none of the words that the log knows"),
        (("rim", 600, 0, "flash", "nobody"), "knows no frame, set-up or place that this belongs to"),
        (("key", 600, 0, "flash", "s"), "The log has this already (light.setup_id, light.name)."),
        ((None, 600, 0, "flash", "s"), "The log refused this: NOT NULL constraint failed: light.name."),
    ],
)
def test_a_constraint_that_bites_is_named_by_what_it_asks(values: tuple[object, ...], said: str, there: Path) -> None:
    """SQLite's own messages, from constraints named as the schema names them."""
    with closing(sqlite3.connect(":memory:")) as connection:
        connection.executescript("PRAGMA foreign_keys=ON;" + SCHEMA)
        with pytest.raises(sqlite3.IntegrityError) as bitten:
            connection.execute("INSERT INTO light VALUES (?, ?, ?, ?, ?)", values)
        assert said in refusal_text(str(bitten.value))
        assert isinstance(refused(bitten.value, there), RefusedForGoodError)
