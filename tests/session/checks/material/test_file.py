"""Is a file whole: its size against the camera's word, its end, and what is said when it gives no picture."""

from __future__ import annotations

from pathlib import Path

import pytest

from session.checks.material.file import FETCH_AGAIN, unreadable, whole
from session.frame.finding import CheckId, Level
from session.picture.preview import Source


def source(complete: bool = True) -> Source:
    return Source(b"", None, (600, 400), 600, 400, 1, "jpeg", complete)


@pytest.mark.parametrize("expected", [1000, None, 0], ids=["as long as said", "nothing said", "no size"])
def test_a_whole_file_gives_no_finding(tmp_path: Path, expected: int | None) -> None:
    path = tmp_path / "1.JPG"
    path.write_bytes(bytes(1000))
    assert whole(str(path), source(), expected) == ()


@pytest.mark.parametrize("expected", [999, 1001, 10**9])
def test_a_file_of_another_length_than_the_camera_said_is_told_with_both(tmp_path: Path, expected: int) -> None:
    path = tmp_path / "1.JPG"
    path.write_bytes(bytes(1000))
    (finding,) = whole(str(path), source(complete=False), expected)
    assert (finding.id, finding.level, finding.remedy) == (CheckId.FILE, Level.CAUTION, FETCH_AGAIN)
    assert finding.text == f"The file is 1000 bytes long, the camera said {expected}."
    assert (finding.value, finding.limit, finding.unit) == (1000, expected, "bytes")


def test_a_file_of_the_right_length_without_an_end_is_cut_short(tmp_path: Path) -> None:
    path = tmp_path / "1.JPG"
    path.write_bytes(bytes(1000))
    (finding,) = whole(str(path), source(complete=False), 1000)
    assert finding.text == "The file has no end: it is cut short at 1000 bytes."


def test_what_gives_no_picture_is_named_by_its_file_and_never_by_its_folder() -> None:
    finding = unreadable("/pictures/of a client/0001.JPG", "is no picture")
    assert finding.text == "0001.JPG is no picture." and finding.remedy == FETCH_AGAIN
