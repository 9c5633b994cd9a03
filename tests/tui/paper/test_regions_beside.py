"""Regions of a view's frames on a page: at one place, the middle of large ones, a word where the picture is gone."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from session.set.setup import Region
from storage.reading.log_reader import LogReader
from storage.reading.views import FileRow, FrameRecord
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import shot
from tests.support.log_samples import SetClock
from tests.support.made_pictures import coded, photograph
from tui.paper.regions_beside import REGION_PX, opener, strip


@pytest.fixture
def records(tmp_path: Path) -> tuple[FrameRecord, ...]:
    """Three frames of one view."""
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    for number in (1, 2, 3):
        shot(log, tmp_path, number, "ring 1", "front", None)
    log.close()
    return tuple(LogReader.open(tmp_path / "log.sqlite").records())


def file_at(record: FrameRecord, path: Path) -> FileRow:
    """The frame's first file, lying there."""
    return replace(record.files[0], path=str(path))


def cuts_of(parts: Sequence[str]) -> list[NDArray[np.float64]]:
    """The regions on the page, (height, width, 3) codes."""
    data = [base64.b64decode(part.partition("base64,")[2].partition('"')[0]) for part in parts]
    return [np.asarray(Image.open(io.BytesIO(one))).astype(float) for one in data]


def test_regions_lie_beside_each_other_at_one_place(records: tuple[FrameRecord, ...], tmp_path: Path) -> None:
    """Each picture shows the same photograph, moved; of the last, part of the place lies beyond the edge."""
    photo = np.repeat(coded(photograph("coffee.png", (1200, 800)), noise_codes=2.0)[:, :, None], 3, axis=2)
    region = Region(0.02, 0.4, 0.2, 0.2)
    frames = []
    for record, left in zip(records, (60, 100, 90), strict=True):
        path = tmp_path / f"{left}.jpg"
        Image.fromarray(photo[100:700, left : left + 900]).save(path, quality=95)
        frames.append(replace(record, files=(file_at(record, path),), region=region, mark=None))
    parts = [part for part in strip(frames, lambda record: "sharp") if "src" in part]
    cuts = cuts_of(parts)
    assert {cut.shape for cut in cuts} == {(120, 180, 3)} and not any("same part" in part for part in parts)
    assert np.abs(cuts[0][:, 40:] - cuts[1][:, 40:]).mean() < 4, "the same content"
    assert cuts[1][:, :8].mean() > 250, "beyond the picture's edge there is nothing"
    unlike = tmp_path / "unlike.jpg"
    Image.effect_noise((900, 600), 90).save(unlike)
    other = replace(frames[1], files=(file_at(frames[1], unlike),))
    (_, part) = [part for part in strip([frames[0], other], lambda record: "sharp") if "src" in part]
    assert "the same part of the picture only" in part


def test_the_middle_of_a_large_region_is_held_pixel_for_pixel(records: tuple[FrameRecord, ...], tmp_path: Path) -> None:
    """A region of 720 × 480 px is cut to the 640 px in the middle across, and left as it is down."""
    photo = np.repeat(coded(photograph("coffee.png", (1200, 800)))[:, :, None], 3, axis=2)
    path = tmp_path / "large.jpg"
    Image.fromarray(photo).save(path, quality=95)
    frame = replace(records[0], files=(file_at(records[0], path),), region=Region(0.2, 0.2, 0.6, 0.6))
    (cut,) = cuts_of([part for part in strip([frame], lambda record: "sharp") if "src" in part])
    assert cut.shape == (480, REGION_PX, 3)
    assert np.abs(cut - photo[160:640, 280:920]).mean() < 4


def test_a_frame_without_its_picture_says_so_and_the_others_are_shown(records: tuple[FrameRecord, ...]) -> None:
    gone = replace(records[0], files=(), mark=None)
    page = "".join(strip([gone, *records[1:]], lambda record: "sharp"))
    assert page.count("no picture") == 1 and page.count("<img") == 2
    for record in records:
        name = opener(record).partition('for="')[2].partition('"')[0]
        assert page.count(f'id="{name}"') == 1, "the words beside the small picture open it"
