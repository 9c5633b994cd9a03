"""Values of the log for screens: which findings a frame has, and which of its files is its picture."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from storage.reading.log_reader import LogReader
from storage.reading.views import FileRow, FrameRecord

AT = datetime(2026, 5, 4, tzinfo=UTC)
RAW, JPEG, LATER = (
    FileRow(path, kind, 1, "0" * 64, "/card", path, AT, ())
    for path, kind in (("1.tif", "raw"), ("1.jpg", "jpeg"), ("1-2.jpg", "jpeg"))
)
STRANGE = replace(JPEG, here=False)


@pytest.fixture
def frame(shoot: LogReader) -> FrameRecord:
    found = shoot.frame_numbered("Movement", 2)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("files", "picture"),
    [
        ((), None),
        ((RAW,), "1.tif"),
        ((RAW, JPEG), "1.jpg"),
        ((JPEG, LATER), "1.jpg"),
        ((RAW, STRANGE), "1.tif"),
        ((STRANGE,), None),
    ],
)
def test_the_picture_is_the_first_jpeg_else_the_raw_as_far_as_it_may_be_opened(
    frame: FrameRecord, files: tuple[FileRow, ...], picture: str | None
) -> None:
    assert replace(frame, files=files).picture == picture


def test_findings_are_those_before_the_release_then_the_last_judgements(frame: FrameRecord) -> None:
    assert frame.findings == (*frame.rules, *frame.checks) and [finding.id for finding in frame.checks] == ["band"]
