"""A page over a log that grows meanwhile, with a photograph; and a log that only is looked at, for strangers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.frame.finding import FocusVerdict
from tests.support.scripted_table import READING, REVISION
from tests.support.served_page import HIGH, WIDE, ServedPage
from tests.support.written_log import WrittenLog, written_log

SHARP, MISSED = FocusVerdict.SHARP, FocusVerdict.MISSED


@pytest.fixture(scope="module")
def photograph(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Smooth structure with fine detail, as a JPEG."""
    down, across = np.mgrid[0:HIGH, 0:WIDE]
    waves = 127 + 60 * np.sin(across / 3.0) * np.cos(down / 5.0) + 60 * np.sin(across / 400.0)
    pixels = np.stack([waves, np.roll(waves, 40, axis=0), waves[::-1]], axis=2).clip(0, 255).astype(np.uint8)
    path = tmp_path_factory.mktemp("pictures") / "photograph.jpg"
    Image.fromarray(pixels).save(path, quality=97, subsampling="4:4:4")
    return path


@pytest.fixture
def written(tmp_path: Path, photograph: Path, in_utc: None) -> Iterator[WrittenLog]:
    picture = tmp_path / "picture.jpg"
    for name in (picture, f"{picture}.2.jpg", f"{picture}.3.jpg"):
        Path(name).write_bytes(photograph.read_bytes())
    log = written_log(tmp_path / "log.db", REVISION, READING, (SHARP, MISSED), picture)
    yield log
    log.close()


@pytest.fixture
def page(written: WrittenLog, tmp_path: Path) -> Iterator[ServedPage]:
    with ServedPage(tmp_path / "log.db") as served:
        yield served


@pytest.fixture(scope="module")
def still_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("log")


@pytest.fixture(scope="module")
def still_log(still_folder: Path) -> Iterator[WrittenLog]:
    """A log that only is looked at."""
    picture = still_folder / "picture.jpg"
    Image.fromarray(np.full((200, 300, 3), 200, np.uint8)).save(picture)
    log = written_log(still_folder / "log.db", REVISION, READING, (FocusVerdict.SHARP,), picture)
    yield log
    log.close()
