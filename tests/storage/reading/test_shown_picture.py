"""The file that a frame is shown by: its own, its second copy, its stored preview, and words for the last."""

from __future__ import annotations

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
