"""Times that grow with the work, and the note that is read when the camera's process has died of a question."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.cameras.camera_limits import WIDTH, AskedNow, CameraLimits, Start


@given(st.integers(0, 10**9), st.integers(1, 10**9))
def test_a_larger_file_may_take_longer_and_even_none_has_a_calls_time(size: int, more: int) -> None:
    limits = CameraLimits()
    assert limits.call_s <= limits.transfer_s(size) < limits.transfer_s(size + more)


def test_the_largest_file_at_the_slowest_rate_is_still_allowed() -> None:
    limits = CameraLimits(call_s=1.0, slowest_bytes_per_s=1000.0)
    assert limits.transfer_s(5000) == 6.0


def test_a_folder_may_take_the_slowest_time_of_both_files_of_each_number() -> None:
    limits = CameraLimits(call_s=1.0, slowest_told_s=0.1)
    assert limits.listing_s(0) == 1.0
    assert limits.listing_s(50) == pytest.approx(11.0)


@settings(max_examples=30)
@given(st.lists(st.text("abcdefgXYZ-_ 019äß漢", max_size=100), min_size=1, max_size=5))
def test_the_note_holds_the_last_name_whatever_stood_there_before(
    tmp_path_factory: pytest.TempPathFactory, names: list[str]
) -> None:
    path = str(tmp_path_factory.getbasetemp() / "asked")
    asked = AskedNow(path)
    for name in names:
        asked.note(name)
        kept = AskedNow.read(path)
        whole = name.encode()[:WIDTH].decode(errors="replace").strip()
        assert kept == whole
    assert Path(path).stat().st_size == WIDTH


def test_a_long_name_is_followed_by_a_short_one_without_its_rest(tmp_path: Path) -> None:
    asked = AskedNow(str(tmp_path / "asked"))
    asked.note("capturetarget")
    asked.note("iso")
    assert AskedNow.read(str(tmp_path / "asked")) == "iso"
    asked.note("")
    assert AskedNow.read(str(tmp_path / "asked")) == ""


def test_a_note_is_the_users_alone_and_outlives_the_process_that_wrote_it(tmp_path: Path) -> None:
    path = tmp_path / "asked"
    AskedNow(str(path)).note("battery")
    assert path.stat().st_mode & 0o077 == 0
    AskedNow(str(path))  # opened anew, the old note stands until another is made
    assert AskedNow.read(str(path)) == "battery"


@pytest.mark.parametrize("path", ["", "/nowhere/at/all", "/dev/null"])
def test_where_there_is_no_note_nothing_was_asked(path: str) -> None:
    assert AskedNow.read(path) == ""


def test_without_a_path_nothing_is_kept() -> None:
    AskedNow("").note("iso")


def test_by_default_everything_is_asked_for() -> None:
    start = Start("claims")
    assert (start.asked_file, start.without) == ("", frozenset())
    assert start.limits == CameraLimits()
