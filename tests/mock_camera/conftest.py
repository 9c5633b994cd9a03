"""One bench a test."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.camera_bench import CameraBench


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[CameraBench]:
    with CameraBench(tmp_path) as set_up:
        yield set_up
