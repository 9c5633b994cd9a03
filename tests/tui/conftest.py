"""Fixtures for the screens: a scripted table, a still clock, a picture on disk, and a local time that is UTC."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.support.at_ledger import VERDICTS
from tests.support.scripted_table import READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, written_log


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


@pytest.fixture
def looked_back(tmp_path: Path, in_utc: None) -> Iterator[WrittenLog]:
    """A log of a dozen frames with pictures."""
    picture = tmp_path / "picture.jpg"
    Image.fromarray(np.full((200, 300, 3), 128, np.uint8)).save(picture)
    for number in range(2, len(VERDICTS) + 1):
        shutil.copy(picture, f"{picture}.{number}.jpg")
    log = written_log(tmp_path / "log.db", REVISION, READING, VERDICTS, picture)
    yield log
    log.close()
