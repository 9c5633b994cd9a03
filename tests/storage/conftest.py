"""A real log in a temporary folder for every test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, event

from session.frame.ports import Place
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import SetClock


@pytest.fixture(autouse=True)
def no_returning_from_several_rows() -> Iterator[None]:
    """No statement gives several rows and asks for some back: sqlite3 of Python 3.12 and newer refuses it."""

    def refuse(_: object, __: object, statement: str, rows: object, ___: object, several: bool) -> None:
        assert not (several and "RETURNING" in statement), f"RETURNING with several rows: {statement}"

    event.listen(Engine, "before_cursor_execute", refuse)
    yield
    event.remove(Engine, "before_cursor_execute", refuse)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


@pytest.fixture
def log(path: Path) -> Iterator[SqlLog]:
    opened = fresh_log(path, SetClock())
    yield opened
    opened.close()


@pytest.fixture
def reader(log: SqlLog, path: Path) -> Iterator[LogReader]:
    opened = LogReader.open(path)
    yield opened
    opened.close()


@pytest.fixture
def place(log: SqlLog) -> Place:
    return log.open_place("Movement", "Bridge", "three-quarter", "an invented client")
