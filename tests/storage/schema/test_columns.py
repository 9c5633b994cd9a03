"""Text and times come out of a column as they went in, whatever they are; what can't be kept is refused."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.dialects import postgresql, sqlite

from storage.schema.columns import AnyText, Instant, UnstorableError, metadata, storable_text

DIALECTS = (sqlite.dialect(), postgresql.dialect())
ANY_TEXT = st.text(st.characters() | st.sampled_from("\\\x00u0\ud800\udfff"), max_size=40)
"""Also NUL, lone halves of surrogate pairs, and what looks escaped already."""

ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))


@given(ANY_TEXT)
def test_any_text_is_read_back_exactly_and_stands_in_the_column_as_every_database_takes_it(text: str) -> None:
    for dialect in DIALECTS:
        kept = AnyText().process_bind_param(text, dialect)
        assert kept is not None
        assert "\x00" not in kept, "PostgreSQL refuses NUL"
        kept.encode("utf-8")  # raises for half a surrogate pair
        assert AnyText().process_result_value(kept, dialect) == text
    with closing(sqlite3.connect(":memory:")) as connection:
        (back,) = connection.execute("SELECT ?", (storable_text(text),)).fetchone()
        assert AnyText().process_result_value(back, DIALECTS[0]) == text


@given(ANY_TEXT, ANY_TEXT)
def test_two_texts_are_alike_in_the_column_only_when_they_are(one: str, other: str) -> None:
    assert (storable_text(one) == storable_text(other)) == (one == other)


@given(st.text(st.characters(codec="utf-8", exclude_characters="\\\x00"), max_size=40))
def test_common_text_stands_there_as_it_is(text: str) -> None:
    assert storable_text(text) == text


@given(st.datetimes(datetime(1970, 1, 3), datetime(2200, 1, 1), timezones=ZONES))
def test_a_time_is_the_same_moment_afterwards_in_utc(at: datetime) -> None:
    for dialect in DIALECTS:
        kept = Instant().process_bind_param(at, dialect)
        assert kept is not None
        assert (kept.tzinfo is None) == (dialect.name == "sqlite"), "SQLite drops zones"
        back = Instant().process_result_value(kept, dialect)
        assert back == at and back is not None and back.utcoffset() == timedelta(0)


def test_a_time_without_its_zone_is_refused_with_the_time() -> None:
    with pytest.raises(UnstorableError, match="2026-05-04T12:00:00"):
        Instant().process_bind_param(datetime(2026, 5, 4, 12), DIALECTS[0])


def test_a_server_in_another_zone_still_gives_utc() -> None:
    told = datetime(2026, 5, 4, 14, tzinfo=timezone(timedelta(hours=2)))
    assert Instant().process_result_value(told, DIALECTS[1]) == datetime(2026, 5, 4, 12, tzinfo=UTC)


@pytest.mark.parametrize("kind", [AnyText(), Instant()])
def test_nothing_stays_nothing(kind: AnyText | Instant) -> None:
    for dialect in DIALECTS:
        assert kind.process_bind_param(None, dialect) is None
        assert kind.process_result_value(None, dialect) is None


def test_every_kind_of_constraint_gets_a_name() -> None:
    assert set(metadata().naming_convention) >= {"pk", "fk", "uq", "ix", "ck"}
