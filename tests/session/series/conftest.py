"""One focus series of the simulated table for all tests of this folder: a leaning label, by the drive, four planes."""

import pytest

from tests.support.series_truth import ShotSeries, label_series


@pytest.fixture(scope="session")
def shot() -> ShotSeries:
    return label_series()
