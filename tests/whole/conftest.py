"""Every whole path is walked on a new account: nobody's own folder, nothing in it.

What our processes use that is deprecated is an error in each of them.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.long_day import LongDay, long_day
from tests.support.stillset_program import DEPRECATIONS, empty_account, without_account


@pytest.fixture(autouse=True)
def account(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The new account's own folder."""
    for name in set(os.environ) - set(without_account(os.environ)):
        monkeypatch.delenv(name)
    monkeypatch.setenv("PYTHONWARNINGS", DEPRECATIONS)
    folder = empty_account(tmp_path)
    monkeypatch.setenv("HOME", str(folder))
    return folder


@pytest.fixture(scope="module")
def shared_day(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LongDay]:
    with long_day(tmp_path_factory.mktemp("day")) as day:
        day.home.environment["STILLSET_LATE_FILE_S"] = "2"  # here no camera writes a file that it hasn't announced
        yield day


@pytest.fixture
def day(shared_day: LongDay) -> Iterator[LongDay]:
    """A module's long day, with no mishap to come afterwards."""
    yield shared_day
    shared_day.as_at_start()
