"""A log to build a set-up again from."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.reshoot_screen import referenced_log
from tests.support.written_log import WrittenLog


@pytest.fixture
def written(tmp_path: Path) -> Iterator[WrittenLog]:
    log = referenced_log(tmp_path)
    yield log
    log.close()
