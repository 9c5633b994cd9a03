"""Statements compiled once: values go through their columns' types, and what can't be stored is named."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from sqlalchemy import (
    JSON,
    Column,
    Connection,
    Integer,
    MetaData,
    String,
    Table,
    bindparam,
    create_engine,
    insert,
    select,
    update,
)

from storage.schema.columns import Instant, UnstorableError
from storage.schema.frame_models import FrameTable
from storage.schema.models import JobTable
from storage.schema.prepared import Prepared, binds, next_position, table_of

TABLE = Table(
    "note",
    MetaData(),
    Column("frame_id", String, primary_key=True),
    Column("position", Integer, primary_key=True),
    Column("at", Instant()),
    Column("told", JSON),
)
ADD = Prepared(insert(TABLE).values(binds(TABLE) | {"position": next_position(TABLE)}).inline())
NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)


@pytest.fixture
def connection() -> Iterator[Connection]:
    engine = create_engine("sqlite://")
    with engine.begin() as opened:
        TABLE.create(opened)
        yield opened
    engine.dispose()


def row(frame_id: str, **told: object) -> dict[str, object]:
    return {"frame_id": frame_id, "at": NOON, "told": told}


def test_values_go_through_their_columns_types_and_come_back(connection: Connection) -> None:
    ADD.run(connection, row("f-1", name="é", list=[1, 2]))
    (found,) = connection.execute(select(TABLE)).all()
    assert (found.at, found.told, found.position) == (NOON, {"name": "é", "list": [1, 2]}, 0)


def test_rows_of_a_frame_take_the_places_one_after_the_other(connection: Connection) -> None:
    ADD.run_many(connection, [row("f-1"), row("f-2"), row("f-1"), row("f-1")])
    places = connection.execute(select(TABLE.c.frame_id, TABLE.c.position).order_by(*TABLE.primary_key.columns)).all()
    assert [tuple(one) for one in places] == [("f-1", 0), ("f-1", 1), ("f-1", 2), ("f-2", 0)]


def test_no_rows_run_no_statement() -> None:
    ADD.run_many(None, [])  # type: ignore[arg-type]


def test_constants_of_a_statement_stay(connection: Connection) -> None:
    ADD.run(connection, row("f-1"))
    change = Prepared(update(TABLE).where(TABLE.c.frame_id == bindparam("key")).values(position=41))
    change.run(connection, {"key": "f-1"})
    assert connection.execute(select(TABLE.c.position)).scalar_one() == 41


@pytest.mark.parametrize(
    ("value", "said"),
    [({"at": datetime(2026, 5, 4)}, "at: "), ({"told": {1, 2}}, "told: ")],
    ids=["a time without a zone", "no JSON"],
)
def test_what_cant_be_stored_is_named_by_its_column(
    connection: Connection, value: dict[str, object], said: str
) -> None:
    with pytest.raises(UnstorableError) as refused:
        ADD.run(connection, row("f-1") | value)
    assert str(refused.value).startswith(said)
    assert connection.execute(select(TABLE)).all() == []


def test_a_column_that_is_left_out_has_no_parameter() -> None:
    assert set(binds(TABLE, "at", "told")) == {"frame_id", "position"}
    assert {"frame_id", "state"} <= set(binds(table_of(FrameTable)))


def test_the_table_of_a_model_is_the_models_own() -> None:
    assert table_of(JobTable).name == "job" and table_of(JobTable).c.name_key.unique is None
    assert sqlite3.sqlite_version_info > (3, 35), "RETURNING"
