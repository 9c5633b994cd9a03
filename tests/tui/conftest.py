"""Fixtures for the screens: a scripted table, a still clock, a picture on disk, and a local time that is UTC."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.support.scripted_table import FixedClock, ScriptedTable


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


@pytest.fixture
def picture(tmp_path: Path) -> str:
    """A picture on disk: dark, with a white upper left quarter."""
    pixels = np.full((200, 300, 3), 16, np.uint8)
    pixels[:100, :150] = 240
    path = tmp_path / "0001.jpg"
    Image.fromarray(pixels).save(path, quality=95)
    return str(path)
