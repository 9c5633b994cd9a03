"""Statements that are compiled once, for the writes of every frame.

SQLAlchemy works out at each execution which compiled form a statement has; for a frame's few small rows that took
several times as long as writing them durably (tests/benchmarks/test_log_cost.py). Here the compiled text is kept, and
values go through the columns' own types as ever.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, CursorResult, ScalarSelect, Table, bindparam, func, select
from sqlalchemy.dialects import sqlite
from sqlalchemy.orm import DeclarativeBase

from storage.schema.columns import UnstorableError

DIALECT = sqlite.dialect(paramstyle="named")

Row = Mapping[str, Any]


class Prepared:
    """A compiled statement with named parameters. Results come as the driver gives them, unconverted.

    An insert whose key holds an SQL expression needs `inline()`: SQLAlchemy adds a RETURNING clause to it otherwise,
    and from Python 3.12 on sqlite3 takes several rows at once only without one.
    """

    def __init__(self, statement: Any) -> None:
        compiled = statement.compile(dialect=DIALECT)
        self._sql = str(compiled)
        self._constants: dict[str, Any] = {}
        self._processors: dict[str, Callable[[Any], Any]] = {}
        for parameter, name in compiled.bind_names.items():
            processor = parameter.type.dialect_impl(DIALECT).bind_processor(DIALECT)
            if parameter.value is not None:
                self._constants[name] = parameter.value
            elif processor:
                self._processors[name] = processor

    def run(self, connection: Connection, row: Row) -> CursorResult[Any]:
        """Execute the statement with the row's values."""
        return connection.exec_driver_sql(self._sql, self._driver_row(row))

    def run_many(self, connection: Connection, rows: Iterable[Row]) -> None:
        """Execute the statement with each row of values, in order."""
        given = [self._driver_row(row) for row in rows]
        if given:
            connection.exec_driver_sql(self._sql, given)

    def _driver_row(self, row: Row) -> dict[str, Any]:
        values = self._constants | dict(row)
        for name, processor in self._processors.items():
            try:
                values[name] = processor(values[name])
            except (TypeError, ValueError) as error:
                raise UnstorableError(f"{name}: {error}") from error
        return values


def binds(table: Table, *without: str) -> dict[str, Any]:
    """A parameter of its name and type for each column of the table, save for those named."""
    return {c.name: bindparam(c.name, type_=c.type) for c in table.columns if c.name not in without}


def next_position(table: Table) -> ScalarSelect[int]:
    """The place after the last of the rows that a detail table has of the parameter `frame_id`."""
    own = table.alias()
    last = select(func.coalesce(func.max(own.c.position) + 1, 0))
    return last.where(own.c.frame_id == bindparam("frame_id", type_=own.c.frame_id.type)).scalar_subquery()


def table_of(model: type[DeclarativeBase]) -> Table:
    """The plain table behind a model."""
    table = model.__table__
    assert isinstance(table, Table)
    return table
