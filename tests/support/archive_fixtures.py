"""Fixtures for tests of the archive: one PostgreSQL server for all, an empty database for each, two stations' logs.

A `conftest.py` imports those that its tests take; `server` alone stands at the top, so that it is begun once.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.postgres_server import LOOKER, Server, running_server
from tests.support.station_logs import station


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    with running_server() as running:
        yield running


@pytest.fixture
def database(server: Server, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("PGPASSFILE", str(server.passwords))
    return server.new_database()


@pytest.fixture
def archive(server: Server, database: str) -> str:
    """The archive's address for a role that may write."""
    return server.address(database)


@pytest.fixture
def for_looking(server: Server, database: str) -> str:
    """The address for a role that may look at all that the owner makes."""
    grants = f"ALTER DEFAULT PRIVILEGES FOR ROLE station IN SCHEMA public GRANT SELECT ON TABLES TO {LOOKER}"
    server.ask(grants, database)
    return server.address(database, LOOKER)


@pytest.fixture(scope="session")
def stations(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the logs of two stations, as they are before anything is sent."""
    folder = tmp_path_factory.mktemp("stations")
    station(folder / "one.sqlite", "Movement")
    station(folder / "two.sqlite", "Type", days=1)
    return folder


@pytest.fixture
def one(stations: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(stations / "one.sqlite", tmp_path))


@pytest.fixture
def two(stations: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(stations / "two.sqlite", tmp_path))
