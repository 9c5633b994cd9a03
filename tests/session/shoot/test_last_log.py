"""Which log a camera was last used for, by camera, whoever asks."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from session.shoot.last_log import LastLog
from tests.support.lesser_user import NOBODY


def last_log(folder: Path, name: str) -> LastLog:
    """Of the user who runs the tests; what all see is a folder of its own."""
    shared = folder / "shared"
    shared.mkdir(exist_ok=True)
    return LastLog(folder / name, folder, shared)


def test_camera_that_another_log_used_since_is_told_until_it_is_taken_over(tmp_path: Path) -> None:
    one, other = last_log(tmp_path, "one.db"), last_log(tmp_path, "other.db")
    assert (one.other("S-1"), other.other("S-1")) == ("", "")
    one.take("S-1")
    assert (one.other("S-1"), other.other("S-1")) == ("", str(tmp_path / "one.db"))
    other.take("S-1")
    assert (one.other("S-1"), other.other("S-1")) == (str(tmp_path / "other.db"), "")


def test_log_reached_by_a_link_is_the_same_log(tmp_path: Path) -> None:
    (tmp_path / "one.db").touch()
    (tmp_path / "link.db").symlink_to(tmp_path / "one.db")
    last_log(tmp_path, "one.db").take("S-1")
    assert last_log(tmp_path, "link.db").other("S-1") == ""


def test_each_camera_has_its_own_last_log_whatever_its_serial_is(tmp_path: Path) -> None:
    one, other = last_log(tmp_path, "one.db"), last_log(tmp_path, "other.db")
    one.take("S-1")
    other.take("../../S-2\0")
    assert one.other("S-1") == ""
    assert sorted(place.name for place in tmp_path.iterdir()) == ["gphoto", "logs", "shared"]


def test_what_is_kept_and_can_not_be_read_is_no_other_log(tmp_path: Path) -> None:
    one = last_log(tmp_path, "one.db")
    one.take("S-1")
    (kept,) = (tmp_path / "logs").iterdir()
    kept.write_bytes(b"\xff\xfe")
    assert one.other("S-1") == ""


def turn_of_another_user(folder: Path, turn: str, owner: int = NOBODY) -> Path:
    """Played by a file of another owner with that number in its name."""
    if os.geteuid() != 0:
        pytest.skip("only root may give a file to another user")
    own = next((folder / "shared").iterdir())
    theirs = own.with_suffix(f".{NOBODY}")
    theirs.write_text(turn)
    os.chown(theirs, owner, owner)
    return theirs


def test_camera_that_another_user_of_the_computer_has_used_since_is_told_with_their_name(tmp_path: Path) -> None:
    one = last_log(tmp_path, "one.db")
    one.take("S-1")
    turn_of_another_user(tmp_path, "7")
    assert one.other("S-1").startswith("of user ")
    assert one.other("S-2") == ""
    one.take("S-1")
    assert one.other("S-1") == ""
    turn_of_another_user(tmp_path, "3")
    assert one.other("S-1") == "", "turns count, not times"


@pytest.mark.parametrize(("turn", "owner"), [("", NOBODY), ("soon", NOBODY), ("9", 0)])
def test_turn_that_is_none_or_planted_by_somebody_else_is_none(tmp_path: Path, turn: str, owner: int) -> None:
    one = last_log(tmp_path, "one.db")
    one.take("S-1")
    turn_of_another_user(tmp_path, turn, owner)
    assert one.other("S-1") == ""


def test_turn_is_never_written_through_a_link(tmp_path: Path) -> None:
    one = last_log(tmp_path, "one.db")
    one.take("S-1")
    (own,) = (tmp_path / "shared").iterdir()
    own.unlink()
    (tmp_path / "precious").write_text("precious")
    own.symlink_to(tmp_path / "precious")
    one.take("S-1")
    assert (tmp_path / "precious").read_text() == "precious"
