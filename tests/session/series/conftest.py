"""One focus series of the simulated table for all tests of this folder: a leaning label, by the drive, four planes."""

from pathlib import Path

import pytest

from tests.support.focus_series import random_table
from tests.support.series_truth import ShotSeries, shoot


@pytest.fixture(scope="session")
def shot(tmp_path_factory: pytest.TempPathFactory) -> ShotSeries:
    folder: Path = tmp_path_factory.mktemp("series")
    return shoot(random_table(1, by_rail=False, piece="label"), folder)
