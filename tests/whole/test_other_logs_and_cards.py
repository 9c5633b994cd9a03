"""Two logs, two bodies, a card formatted or swapped, numbers that begin again: over the real libgphoto2."""

from __future__ import annotations

import hashlib
import os
import signal
from pathlib import Path

import pytest

from session.shoot.last_log import SEEN_BY_ALL
from tests.support.lesser_user import NOBODY
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import CAMERA, StillsetHome, until_ended


def shoot(home: StillsetHome, mock: MockCamera, *more: str) -> str:
    ended = home.run("shoot", "--headless", "--camera", mock.address, *more)
    assert (ended.code, ended.err) == (0, ""), ended
    return ended.out


def states(home: StillsetHome) -> list[tuple[str, str, int]]:
    return [(frame["released_by"], frame["state"], len(frame["files"])) for frame in home.frames()]


BOTH = ("--format", "raw+jpeg", "--pixels", "384x256")
GOOD, BY_BODY = ("tool", "logged", 2), ("body", "logged", 2)


def test_frames_of_another_log_stay_its_own_and_those_of_the_body_are_taken_in_by_the_log_in_use(
    tmp_path: Path,
) -> None:
    home = StillsetHome(tmp_path)
    other = tmp_path / "other.db"
    with MockCamera(*BOTH) as mock:
        shoot(home, mock)
        shoot(home, mock, "--log", str(other), "--folder", str(tmp_path / "others"), "--frames", "2")
        said = shoot(home, mock)
        assert f"The camera was used for the log {other} since. 2 releases on its card are not fetched here" in said
        assert states(home) == [GOOD, GOOD]
        mock.hands("release")
        assert "released on the camera while it was not connected" in shoot(home, mock)
        assert states(home) == [GOOD, GOOD, BY_BODY, GOOD]


def test_frames_of_another_user_of_the_computer_are_not_taken_for_releases_on_the_camera(tmp_path: Path) -> None:
    """The other user is played by a file of their owner where all users see it, and a release on the camera."""
    if os.geteuid() != 0:
        pytest.skip("only root may give a file to another user")
    home, serial = StillsetHome(tmp_path), f"TWO-USERS-{os.getpid()}"
    with MockCamera(*BOTH, "--serial", serial) as mock:
        shoot(home, mock)
        (own,) = SEEN_BY_ALL.glob(f"stillset-turn-{hashlib.sha256(serial.encode()).hexdigest()[:16]}.*")
        theirs = own.with_suffix(f".{NOBODY}")
        try:
            theirs.write_text(str(int(own.read_text()) + 1))
            os.chown(theirs, NOBODY, NOBODY)
            mock.hands("release")
            said = shoot(home, mock)
            assert "The camera was used for the log of user " in said
            assert (
                "1 releases on its card are not fetched here: they are that log's, or were made on the camera." in said
            )
            assert states(home) == [GOOD, GOOD]
            mock.hands("release")
            assert "released on the camera while it was not connected" in shoot(home, mock)
        finally:
            for path in (own, theirs):
                path.unlink(missing_ok=True)


def test_frame_left_in_the_middle_is_not_mistaken_for_one_that_another_log_made_since(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    home.environment["STILLSET_LATE_FILE_S"] = "2"  # the camera has written nothing, and won't
    with MockCamera(*BOTH) as mock:
        shoot(home, mock)
        mock.fault("stall", operation="InitiateCapture")
        with home.start("shoot", "--headless", "--camera", mock.address) as program:
            camera = program.process_of(CAMERA)
            mock.until_struck()
            program.kill()
            os.kill(camera, signal.SIGKILL)
            until_ended(camera)
        mock.hands("clear_faults")
        shoot(home, mock, "--log", str(tmp_path / "other.db"), "--folder", str(tmp_path / "others"), "--frames", "2")
        said = shoot(home, mock)
        assert "Frame 2 may have fired: the camera was used elsewhere since, and it may be among the 2 releases" in said
        unsure = ("tool", "uncertain", 0)
        assert states(home) == [GOOD, unsure, GOOD]
        shoot(home, mock)
        assert states(home) == [GOOD, unsure, GOOD, GOOD]
        listed = home.here("log", "settle").out
        assert "frame 2, asked for" in listed and "on the card: STIL0002.JPG" in listed
        looked = home.run("log", "settle", "2", "--camera", mock.address)
        assert (looked.code, looked.err) == (0, ""), looked
        shown = [line.partition(": ")[0] for line in looked.out.splitlines()[:-1] if ".JPG" in line.partition(": ")[2]]
        assert [name.strip() for name in shown[-4:]] == ["frame 1", "STIL0002.JPG", "STIL0003.JPG", "frame 3"]
        assert states(home) == [GOOD, unsure, GOOD, GOOD], "to look settles nothing"
        told = home.here("log", "settle", "2", "--file", "STIL0002.JPG").out
        assert told == "Frame 2 has STIL0002.JPG, STIL0002.TIF on the card; fetched when its camera is connected.\n"
        assert "Frame 2 is on the card; it is being fetched." in shoot(home, mock)
        assert states(home) == [GOOD] * 5
    assert home.here("log", "settle").out == ""
    assert [Path(file["path"]).name[:4] for file in home.frames()[1]["files"]] == ["0002", "0002"]


def test_frame_left_by_one_body_waits_for_that_body(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    with MockCamera(*BOTH, "--serial", "A-1") as first, MockCamera(*BOTH, "--serial", "B-2") as second:
        shoot(home, first)
        first.fault("truncated_file", times=3)  # the JPEG, at each try: it stays on the card
        assert home.run("shoot", "--headless", "--camera", first.address).code == 1
        shoot(home, second)
        assert [state for _, state, _ in states(home)] == ["logged", "missing", "logged"]
        said = shoot(home, first)
        assert "Frame 2 is on the card; it is being fetched." in said
        assert states(home) == [GOOD] * 4


def test_card_formatted_between_two_frames_is_no_trouble_and_a_file_lost_with_it_is_named(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    with MockCamera(*BOTH) as mock:
        shoot(home, mock)
        mock.hands("format_card")
        shoot(home, mock)
        mock.fault("truncated_file", times=3)
        assert home.run("shoot", "--headless", "--camera", mock.address).code == 1
        mock.hands("format_card")
        said = shoot(home, mock)
        assert "Frame 3 fired, not saved whole: neither disk nor card has" in said
        assert "look for another card" in said
        assert states(home) == [GOOD, GOOD, ("tool", "missing", 1), GOOD]
