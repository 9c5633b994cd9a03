"""Rows on their way: in batches that lose none, read by keys in their own order, put in as they were read."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import Column, Connection, Integer, MetaData, String, Table, create_engine, select

from storage.archive.rows import BATCH, as_dicts, batches, put, rows_of

TABLE = Table(
    "note", MetaData(), Column("key", Integer, primary_key=True), Column("frame", String), Column("text", String)
)


@pytest.fixture
def connection() -> Iterator[Connection]:
    engine = create_engine("sqlite://")
    with engine.begin() as opened:
        TABLE.create(opened)
        yield opened
    engine.dispose()


@settings(max_examples=30)
@given(st.integers(0, 3 * BATCH + 1))
def test_batches_hold_every_key_once_in_order_and_no_more_than_may_be(count: int) -> None:
    keys = [str(number) for number in range(count)]
    parts = list(batches(keys))
    assert [key for part in parts for key in part] == keys
    assert all(0 < len(part) <= BATCH for part in parts)
    assert all(len(part) == BATCH for part in parts[:-1])


def test_rows_come_back_as_they_were_put_in(connection: Connection) -> None:
    rows = [{"key": n, "frame": f"f-{n % 2}", "text": f"words {n}"} for n in range(5)]
    put(connection, TABLE, rows)
    assert as_dicts(connection.execute(select(TABLE).order_by(TABLE.c.key))) == rows


def test_rows_are_found_by_any_column_in_the_order_of_their_keys(connection: Connection) -> None:
    put(connection, TABLE, [{"key": n, "frame": f"f-{n % 3}", "text": ""} for n in (4, 0, 3, 1, 2)])
    assert [row["key"] for row in rows_of(connection, TABLE, "frame", ["f-1", "f-0"])] == [0, 1, 3, 4]
    assert rows_of(connection, TABLE, "frame", []) == [] == rows_of(connection, TABLE, "frame", ["f-9"])


def test_nothing_is_put_in_by_no_statement() -> None:
    put(None, TABLE, [])  # type: ignore[arg-type]
