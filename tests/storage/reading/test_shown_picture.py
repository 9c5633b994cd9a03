"""The file that a frame is shown by: its own, its second copy, its stored preview, and words for the last."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from session.picture.stored_preview import keep_preview, preview_path
from storage.files.paths import previews_folder
from storage.reading.log_reader import LogReader
from storage.reading.shown_picture import FROM_PREVIEW, ShownPicture, shown_picture
from storage.reading.views import FrameRecord
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import shot
from tests.support.log_samples import saved_file


@pytest.fixture
def own(path: Path, log: SqlLog, tmp_path: Path) -> Path:
    """The file of the log's only frame."""
    return shot(log, tmp_path, 1, "ring 1", "front")


def record(path: Path) -> FrameRecord:
    reader = LogReader.open(path)
    found = reader.frame_numbered("spring line", 1)
    reader.close()
    assert found is not None
    return found


def store(path: Path, frame_id: str) -> Path:
    folder = previews_folder(path)
    folder.mkdir()
    keep_preview(folder, frame_id, np.full((80, 120, 3), 118, np.uint8), (120, 80))
    stored = preview_path(folder, frame_id)
    assert stored is not None
    return stored


def test_a_preview_stands_in_only_where_the_files_are_gone_and_says_so(path: Path, own: Path) -> None:
    frame = record(path)
    stored = store(path, frame.frame_id)
    assert shown_picture(frame) == ShownPicture(str(own))
    own.unlink()
    assert shown_picture(frame) == ShownPicture(str(stored), FROM_PREVIEW)
    stored.write_bytes(stored.read_bytes()[:-1])
    assert shown_picture(frame) == ShownPicture(str(own)), "the place at which nothing is, so that it is said"


def test_an_approved_frame_whose_file_is_gone_is_compared_with_by_its_preview(
    path: Path, log: SqlLog, own: Path
) -> None:
    frame, place = record(path), log.open_place("spring line", "ring 1", "front")
    log.set_reference(place, 1, frame.frame_id)
    stored = store(path, frame.frame_id)
    before = log.reference(place, 1)
    own.unlink()
    after = log.reference(place, 1)
    assert before and after and (before.path, after.path) == (str(own), str(stored))


@pytest.mark.parametrize(
    "left", [("jpeg", "copy", "raw", "preview"), ("copy", "raw", "preview"), ("raw", "preview"), ("preview",)]
)
def test_ledger_and_judge_take_the_same_file_which_is_the_best_one_left(
    path: Path, log: SqlLog, tmp_path: Path, left: tuple[str, ...]
) -> None:
    second = tmp_path / "second.JPG"
    own = shot(log, tmp_path, 1, "ring 1", "front", copy_path=str(second))
    frame, place = record(path), log.open_place("spring line", "ring 1", "front")
    raw = saved_file(1, "DNG", "raw")
    log.frame_file(frame.frame_id, replace(raw, path=str(tmp_path / "1.DNG")))
    log.set_reference(place, 1, frame.frame_id)
    files = {"jpeg": own, "copy": second, "raw": tmp_path / "1.DNG", "preview": store(path, frame.frame_id)}
    for kind, file in files.items():
        if kind not in left:
            file.unlink(missing_ok=True)
        elif not file.exists():
            file.write_bytes(own.read_bytes() if own.exists() else b"II*\0")
    shown, reference = shown_picture(record(path)), log.reference(place, 1)
    assert shown and reference and shown.path == reference.path == str(files[left[0]])
    assert shown.told == (FROM_PREVIEW if left[0] == "preview" else "")


def test_a_reference_whose_disk_answers_with_an_error_is_looked_at_by_its_preview(
    path: Path, log: SqlLog, own: Path
) -> None:
    """A name longer than 255 bytes stands in for a disk that fails: the look at it raises OSError, for root too."""
    frame, place = record(path), log.open_place("spring line", "ring 1", "front")
    log.set_reference(place, 1, frame.frame_id)
    stored, beyond = store(path, frame.frame_id), f"/{'x' * 300}/1.JPG"
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("UPDATE frame_file SET path = ?", (beyond,))
    reference = log.reference(place, 1)
    assert reference and reference.path == str(stored)
    stored.unlink()
    reference = log.reference(place, 1)
    assert reference and reference.path == beyond, "so that the judge says why it can't be read"


def test_a_second_copy_that_another_station_names_outside_the_logs_folder_is_not_opened(
    path: Path, log: SqlLog, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    outside = tmp_path_factory.mktemp("outside") / "1.JPG"
    own = shot(log, tmp_path, 1, "ring 1", "front", copy_path=str(outside))
    frame, place = record(path), log.open_place("spring line", "ring 1", "front")
    log.set_reference(place, 1, frame.frame_id)
    own.rename(outside)
    taken = shown_picture(record(path)), log.reference(place, 1)
    assert [one and one.path for one in taken] == [str(outside)] * 2
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("INSERT INTO pulled_frame SELECT frame_id FROM frame")
    taken = shown_picture(record(path)), log.reference(place, 1)
    assert [one and one.path for one in taken] == [str(own)] * 2
