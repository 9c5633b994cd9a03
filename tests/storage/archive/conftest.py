"""One PostgreSQL server for all tests of the archive, an empty database for each."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from postgres_server import LOOKER, Server, running_server


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
