"""An empty archive and a station for each test that asks for them."""

from __future__ import annotations

from tests.support.archive_fixtures import archive, database, for_looking, one

__all__ = ["archive", "database", "for_looking", "one"]
