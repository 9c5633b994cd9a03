"""How times, text and keys are kept in columns, the same on every database.

No text is refused, whatever a file name on a card, a camera or a person puts into it: a frame would be lost with
it. Every text is read back exactly as written.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime, MetaData, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

CONSTRAINT_NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}

_ESCAPED = re.compile(r"\\(\\|u[0-9a-f]{4})")
_TO_ESCAPE = re.compile("[\\\\\x00\ud800-\udfff]")


class UnstorableError(ValueError):
    """A value that the log could keep only with another meaning."""


def metadata() -> MetaData:
    """Metadata whose constraints all get a name."""
    return MetaData(naming_convention=CONSTRAINT_NAMES)


class Instant(TypeDecorator[datetime]):
    """A time with its zone, kept in UTC. Refuses a naive one with UnstorableError; gives back UTC."""

    impl = DateTime
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return dialect.type_descriptor(DateTime(timezone=True))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.utcoffset() is None:
            raise UnstorableError(f"a time in the log must carry its zone, unlike {value.isoformat()}")
        in_utc = value.astimezone(UTC)
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class AnyText(TypeDecorator[str]):
    """Text exactly as it was given. See `storable_text` for what no database takes as it is."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        return None if value is None else storable_text(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> str | None:
        return None if value is None else _ESCAPED.sub(_unescape, value)


def storable_text(text: str) -> str:
    """The text as it stands in a column.

    NUL, which PostgreSQL refuses, and halves of surrogate pairs, which UTF-8 has no form for (Python gives them
    for undecodable file names), are written \\uXXXX; a backslash is doubled, so that nothing is ambiguous.
    """
    return _TO_ESCAPE.sub(_escape, text)


def _escape(match: re.Match[str]) -> str:
    return r"\\" if match[0] == "\\" else f"\\u{ord(match[0]):04x}"


def _unescape(match: re.Match[str]) -> str:
    return "\\" if match[1] == "\\" else chr(int(match[1][1:], 16))
