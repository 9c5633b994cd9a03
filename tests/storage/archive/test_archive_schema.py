"""The archive's tables are the log's, but for what is a station's own; a new table of the log must be decided about."""

from __future__ import annotations

from sqlalchemy import UniqueConstraint

from storage.archive.archive_schema import NOT_UNIQUE, SHARED, ArchiveTable
from storage.schema import order_models, search_models, station_models
from storage.schema.models import Base

MODELS = (order_models, search_models, station_models)
"""Imported, so that the metadata knows their tables too."""

OWN = {"card_sought", "station", "pulled_frame"}
"""A station's own: what was looked for on its disk, its key, and which frames are another's."""

SEARCHED = {"searchable", "revision_use"}
AS_A_TEXT = {"job_order", "ordered_piece", "ordered_view", "client_standard"}
"""An order goes to the archive as the text of its table."""


def test_each_table_of_the_log_is_shared_or_a_stations_own_or_has_another_form_there() -> None:
    shared = {model.__tablename__ for model in SHARED}
    assert set(Base.metadata.tables) - shared - SEARCHED - AS_A_TEXT <= OWN
    assert shared | SEARCHED <= set(ArchiveTable.metadata.tables)


def test_a_shared_table_has_every_column_and_constraint_of_the_log_but_those_that_two_stations_may_break() -> None:
    for model in SHARED:
        here, there = Base.metadata.tables[model.__tablename__], ArchiveTable.metadata.tables[model.__tablename__]
        assert [column.name for column in here.columns] == [column.name for column in there.columns]
        assert {column.name: column.nullable for column in here.columns} == {
            column.name: column.nullable for column in there.columns
        }
        lost = {str(one.name) for one in here.constraints} - {str(one.name) for one in there.constraints}
        assert lost <= set(NOT_UNIQUE)
        assert not [one for one in there.constraints if isinstance(one, UniqueConstraint) and one.name in NOT_UNIQUE]
