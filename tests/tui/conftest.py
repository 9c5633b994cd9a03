"""Fixtures for the screens: a scripted table, a still clock, and a local time that is UTC."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest
from scripted_table import FixedClock, ScriptedTable


@pytest.fixture
def table() -> ScriptedTable:
    return ScriptedTable()


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock()


@pytest.fixture
def in_utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()
