"""Two lights' series of solos, shot once: a test that changes the set puts it back."""

from __future__ import annotations

import pytest

from tests.support.solo_sets import ShotSolos, solo_set


@pytest.fixture(scope="session")
def series(tmp_path_factory: pytest.TempPathFactory) -> ShotSolos:
    made = solo_set(tmp_path_factory.mktemp("solos"), 4002, count=2)
    return ShotSolos(made, made.together(), made.solos(), made.picture())
