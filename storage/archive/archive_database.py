"""Opening an archive, to look or to write; what the server and the network do comes out as a LogError in words."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import URL, Connection, create_engine
from sqlalchemy.exc import DBAPIError, SQLAlchemyError, StatementError

from session.frame.ports import LogError
from storage.archive import archive_versions
from storage.files.archive_address import archive_url, plain_address
from storage.schema.columns import UnstorableError

PATIENCE_S = 10
"""How long to wait for a server that doesn't answer. Chosen, no source."""

IDLE_MS, LOCK_MS = 30_000, 120_000
"""After what time the server gives up a station that fell silent in the middle, and a station that waits its turn."""

CONNECTING = {
    "connect_timeout": PATIENCE_S,
    "keepalives_idle": PATIENCE_S,
    "keepalives_interval": PATIENCE_S,
    "keepalives_count": 2,
    "tcp_user_timeout": 3 * PATIENCE_S * 1000,
    "application_name": "stillset",
}
"""So that a pulled network cable ends in a sentence, not in a wait. Source: PostgreSQL documentation, libpq."""

LOOKING = "-c default_transaction_read_only=on"
WRITING = f"-c idle_in_transaction_session_timeout={IDLE_MS} -c lock_timeout={LOCK_MS} -c tcp_keepalives_idle=10"

NO_ARCHIVE = "There is no archive at {at} yet; the first `archive send` makes it."
ONLY_LOOKING = "The archive {at} lets this name look, but not write."

REFUSALS = {
    "28P01": "The archive {at} refuses the name or its password; see PGPASSFILE.",
    "28000": "The archive {at} refuses this name; ask whoever keeps it.",
    "3D000": "There is no database of that name at {at}.",
    "3F000": NO_ARCHIVE,
    "42P01": NO_ARCHIVE,
    "42501": ONLY_LOOKING,
    "25006": ONLY_LOOKING,
    "53100": "The archive {at} can't be written: its disk is full.",
    "55P03": "The archive {at} is busy with another station; try again.",
}
"""SQLSTATE → what we say. Source: PostgreSQL documentation, appendix A, "Error Codes"."""

LOST_CLASSES = ("08", "57")
"""Classes of SQLSTATE for a connection that broke and a server that went away."""


class ArchiveUnreachableError(LogError):
    """The connection could not be made or broke. What was sent until then is whole; going on later is safe."""


class ArchiveDatabase:
    """An open archive; like the log's own database."""

    def __init__(self, url: URL, options: str, isolation: str) -> None:
        self._at = plain_address(url)
        try:
            self._engine = create_engine(
                url,
                connect_args=CONNECTING | {"options": options},
                isolation_level=isolation,
                pool_pre_ping=True,
                hide_parameters=True,
                json_deserializer=_json,
            )
        except ModuleNotFoundError as error:
            told = f"{error.name} is missing: an archive needs the extra `archive`; the README says how."
            raise LogError(told) from error

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """A transaction, whole or not at all. Raises LogError; ArchiveUnreachableError for a lost connection."""
        with as_log_errors(self._at), self._engine.begin() as connection:
            yield connection

    def close(self) -> None:
        """Let go of the server."""
        self._engine.dispose()


def open_to_look(address: str) -> ArchiveDatabase:
    """Open an archive for reading: a transaction sees an unchanging state and can't write; a read-only role will do."""
    database = ArchiveDatabase(archive_url(address), LOOKING, "REPEATABLE READ")
    try:
        with database.transaction() as connection:
            archive_versions.check(connection)
    except BaseException:
        database.close()
        raise
    return database


def open_to_write(address: str) -> ArchiveDatabase:
    """Open an archive for sending."""
    return ArchiveDatabase(archive_url(address), WRITING, "READ COMMITTED")


def _json(text: str | bytes) -> Any:
    """The value of a JSON text; None for text that Python can't read, as with thousands of nested brackets."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


@contextmanager
def as_log_errors(at: str) -> Iterator[None]:
    """Raise LogError for the driver's errors in this block; the text names the place, never the full address."""
    try:
        yield
    except DBAPIError as error:
        if isinstance(error.orig, sqlite3.Error):  # the station's log is the trouble: it has words for it
            raise
        raise _log_error(at, error) from error
    except (StatementError, UnstorableError) as error:
        raise LogError(f"The archive refused a value: {getattr(error, 'orig', None) or error}.") from error
    except SQLAlchemyError as error:
        raise LogError(f"The archive {at} can't be used: {type(error).__name__}.") from error


def _log_error(at: str, error: DBAPIError) -> LogError:
    code = getattr(error.orig, "sqlstate", None)
    if code in REFUSALS:
        return LogError(REFUSALS[code].format(at=at))
    why = str(error.orig).strip().splitlines()[0] if str(error.orig).strip() else type(error.orig).__name__
    if error.connection_invalidated or code is None or code.startswith(LOST_CLASSES) or code == "25P03":
        return ArchiveUnreachableError(f"The archive {at} can't be reached: {why}. Nothing half-sent stays there.")
    return LogError(f"The archive {at} can't be used: {why}.")
