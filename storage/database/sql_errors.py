"""Errors of SQLite and SQLAlchemy in words for the person at the table: always a `LogError`.

What the same entry would meet again whenever it is tried is a `RefusedForGoodError`.
"""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, SQLAlchemyError, StatementError

from session.frame.ports import LogError, RefusedForGoodError
from storage.schema.columns import UnstorableError

HELD_BY_ANOTHER = "The log {path} is held by another program."

SENTENCES = {
    sqlite3.SQLITE_NOTADB: "{path} is not a log: it isn't an SQLite file.",
    sqlite3.SQLITE_CORRUPT: "The log {path} is damaged. `stillset log rescue {path} NEW` brings what is whole"
    " into a new log; it changes nothing in this one.",
    sqlite3.SQLITE_FULL: "The log {path} can't be written: its disk, {disk}, is full. Make room there; what it"
    " holds can be read meanwhile.",
    sqlite3.SQLITE_READONLY: "The log {path} can't be written: the file or its folder is read-only.",
    sqlite3.SQLITE_PERM: "The log {path} can't be opened: no permission.",
    sqlite3.SQLITE_CANTOPEN: "The log {path} can't be opened: no permission for the file or its folder.",
    sqlite3.SQLITE_BUSY: HELD_BY_ANOTHER,
    sqlite3.SQLITE_LOCKED: HELD_BY_ANOTHER,
    sqlite3.SQLITE_IOERR: "The log {path} can't be reached: the disk gives an error.",
    sqlite3.SQLITE_TOOBIG: "That is too long for the log.",
}
"""Primary result codes of SQLite (https://www.sqlite.org/rescode.html) → what we say."""

HELPER_BYTES = 1 << 15
"""Of the shared-memory file beside a log (https://www.sqlite.org/walformat.html, 2.2)."""

MAY_PASS = frozenset(SENTENCES) - {sqlite3.SQLITE_TOOBIG} | {
    sqlite3.SQLITE_NOMEM,
    sqlite3.SQLITE_INTERRUPT,
    sqlite3.SQLITE_PROTOCOL,
    sqlite3.SQLITE_SCHEMA,
    sqlite3.SQLITE_ABORT,
}
"""Primary result codes that speak of the disk, the file, a lock or the moment: the same entry may be taken later.
All others (a constraint, a value out of range, a statement that the driver refuses) stay as they are."""

UNIQUE = {
    "frame.job_id, frame.number": "The job has a frame of this number already.",
    "frame.frame_id": "This frame is in the log already.",
    "revision.setup_id, revision.number": "This revision of the set-up is in the log already.",
    "revision_light.revision_id, revision_light.name": "Two lights of a set-up can't have the same name.",
}

CHECKS = {
    "positive": "must be more than 0",
    "not_negative": "must not be less than 0",
    "known": "is none of the words that the log knows",
    "filled": "must not be empty",
}
"""Ending of a constraint's name → its demand in words; see `storage.schema.models`."""

OWNERLESS = ("NOT NULL constraint failed: card_object.camera_id",)
"""SQLite's message for a file of a frame that was never begun: the frame's camera is looked up first."""

_CHECK = re.compile(rf"CHECK constraint failed: ck_(?P<value>\w+?)_(?P<check>{'|'.join(CHECKS)})$")
_UNIQUE = re.compile(r"UNIQUE constraint failed: (?P<columns>.+)")


@contextmanager
def as_log_errors(path: Path) -> Iterator[None]:
    """Raise LogError or RefusedForGoodError in place of errors of the database and its driver in this block."""
    try:
        yield
    except DBAPIError as error:
        if not isinstance(error.orig, sqlite3.Error):  # another database's, an archive's: it has words for it
            raise
        raise _kind_of(error.orig)(sentence(path, error.orig)) from error
    except StatementError as error:
        raise RefusedForGoodError(f"The log refused a value: {error.orig or error}.") from error
    except SQLAlchemyError as error:
        raise LogError(f"The log {path} can't be used: {error}") from error
    except UnstorableError as error:
        raise RefusedForGoodError(f"The log refused a value: {error}.") from error
    except (sqlite3.Error, OverflowError) as error:
        raise _kind_of(error)(sentence(path, error)) from error


def _kind_of(error: BaseException | None) -> type[LogError]:
    code = getattr(error, "sqlite_errorcode", None)
    if isinstance(error, OverflowError | sqlite3.ProgrammingError | sqlite3.InterfaceError | sqlite3.IntegrityError):
        return RefusedForGoodError
    return LogError if code is None or code & 0xFF in MAY_PASS else RefusedForGoodError


def sentence(path: Path, error: BaseException | None) -> str:
    """One sentence for an error of the driver."""
    code = getattr(error, "sqlite_errorcode", None)
    if isinstance(error, sqlite3.IntegrityError):
        return refusal_text(str(error))
    if isinstance(error, sqlite3.OperationalError) and not path.exists():
        return f"There is no log at {path} any more: it was moved or deleted."
    if code is not None and code & 0xFF == sqlite3.SQLITE_IOERR and _is_full(path):
        code = sqlite3.SQLITE_FULL
    text = SENTENCES.get(code & 0xFF) if code is not None else None
    return text.format(path=path, disk=disk_of(path)) if text else f"The log {path} can't be used: {error}"


def _is_full(path: Path) -> bool:
    """Whether the disk has no room for SQLite's helper file of 32 kB, of which SQLite only says an error."""
    try:
        return shutil.disk_usage(path.parent).free < HELPER_BYTES
    except OSError:
        return False


def disk_of(path: Path) -> Path:
    """Where the disk that the file is on is mounted."""
    place = path.absolute()
    return next((parent for parent in place.parents if parent.is_mount()), place.parent)


def refusal_text(message: str) -> str:
    """One sentence for a constraint that bit, from SQLite's message, which names the constraint."""
    if match := _CHECK.search(message):
        return f"The log refused a value: {match['value']} {CHECKS[match['check']]}."
    if match := _UNIQUE.search(message):
        return UNIQUE.get(match["columns"], f"The log has this already ({match['columns']}).")
    if "FOREIGN KEY" in message or message in OWNERLESS:
        return "The log knows no frame, set-up or place that this belongs to."
    return f"The log refused this: {message}."
