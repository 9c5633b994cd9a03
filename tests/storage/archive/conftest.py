"""An empty archive and two stations for each test."""

from __future__ import annotations

from tests.support.archive_fixtures import archive, database, for_looking, one, two

__all__ = ["archive", "database", "for_looking", "one", "two"]
