"""Which log a camera was last used for, by camera, whoever asks."""

from __future__ import annotations

from pathlib import Path

from session.shoot.last_log import LastLog


def test_camera_that_another_log_used_since_is_told_until_it_is_taken_over(tmp_path: Path) -> None:
    one, other = LastLog(tmp_path / "one.db", tmp_path), LastLog(tmp_path / "other.db", tmp_path)
    assert (one.other("S-1"), other.other("S-1")) == ("", "")
    one.take("S-1")
    assert (one.other("S-1"), other.other("S-1")) == ("", str(tmp_path / "one.db"))
    other.take("S-1")
    assert (one.other("S-1"), other.other("S-1")) == (str(tmp_path / "other.db"), "")


def test_log_reached_by_a_link_is_the_same_log(tmp_path: Path) -> None:
    (tmp_path / "one.db").touch()
    (tmp_path / "link.db").symlink_to(tmp_path / "one.db")
    LastLog(tmp_path / "one.db", tmp_path).take("S-1")
    assert LastLog(tmp_path / "link.db", tmp_path).other("S-1") == ""


def test_each_camera_has_its_own_last_log_whatever_its_serial_is(tmp_path: Path) -> None:
    one, other = LastLog(tmp_path / "one.db", tmp_path), LastLog(tmp_path / "other.db", tmp_path)
    one.take("S-1")
    other.take("../../S-2\0")
    assert one.other("S-1") == ""
    assert sorted(place.name for place in tmp_path.iterdir()) == ["gphoto", "logs"]


def test_what_is_kept_and_can_not_be_read_is_no_other_log(tmp_path: Path) -> None:
    one = LastLog(tmp_path / "one.db", tmp_path)
    one.take("S-1")
    (kept,) = (tmp_path / "logs").iterdir()
    kept.write_bytes(b"\xff\xfe")
    assert one.other("S-1") == ""
