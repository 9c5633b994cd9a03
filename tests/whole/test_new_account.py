"""Every command starts on a new account: a user's folder with nothing in it, no log, no settings."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.made_pictures import coded, jpeg_bytes, photograph
from tests.support.mock_camera_program import MockCameraProgram
from tests.support.stillset_program import StillsetHome, stillset, until
from tests.support.terminal_program import in_terminal

SET = ("--seed", "3", "--pixels", "768x512", "--format", "jpeg")


@pytest.fixture
def home(tmp_path: Path) -> StillsetHome:
    home = StillsetHome(tmp_path)
    del home.environment["STILLSET_LOG"]
    return home


@pytest.fixture
def camera() -> Iterator[str]:
    with MockCameraProgram(*SET) as mock:
        yield f"ptpip:127.0.0.1:{mock.port}"


def own_log(home: StillsetHome) -> Path:
    """Where the XDG Base Directory Specification has a user's data, by its defaults."""
    return home.account / ".local/share/stillset/shoot.db"


def test_a_shoot_without_a_screen_makes_the_log_and_saves_among_the_users_pictures(
    home: StillsetHome, camera: str
) -> None:
    place = ("--piece", "ring 4", "--view", "front")
    ended = home.run("shoot", "--headless", "--frames", "1", "--camera", camera, *place)
    assert ended.code == 0, ended
    assert own_log(home).is_file()
    (saved,) = (home.account / "Pictures/stillset").rglob("*.JPG")
    assert saved.name.startswith("0001-ring_4-front-01.1")
    told = home.run("log", "frames")
    assert told.code == 0 and "ring 4, front" in told.out and saved.name in told.out, told
    assert re.search(r"  \d{4}-\d\d-\d\d \d\d:\d\d:\d\d  1/\d+ s f/\d+ ISO \d+  ", told.out), told
    assert home.run("verify").code == 0
    assert len(list(own_log(home).with_name("shoot.db.previews").iterdir())) == 1
    saved.unlink()
    sheet = home.account / "sheet.html"
    assert home.run("log", "sheet", str(sheet)).code == 0
    assert "from the stored preview" in sheet.read_text()


def test_pictures_stay_beside_a_log_that_has_them_there(home: StillsetHome, camera: str) -> None:
    beside = own_log(home).parent / "pictures"
    beside.mkdir(parents=True)
    assert home.run("shoot", "--headless", "--frames", "1", "--camera", camera).code == 0
    assert len(list(beside.rglob("*.JPG"))) == 1
    assert not (home.account / "Pictures").exists()


def test_the_bench_opens_and_is_left(home: StillsetHome, camera: str) -> None:
    with in_terminal(home, "shoot", "--camera", camera) as terminal:
        terminal.until("LEDGER", after=terminal.until("Opening the bench …"))  # while libraries and log are opened
        terminal.press("Q")
        assert terminal.ended() == 0, terminal.text[-2000:]
        assert f"No frame was released. The log is {own_log(home)}." in terminal.text
    assert own_log(home).is_file()


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux isn't installed")
def test_the_bench_opens_in_tmux_and_is_left(home: StillsetHome, camera: str, tmp_path: Path) -> None:
    tmux = ("tmux", "-S", str(tmp_path / "tmux"), "-f", "/dev/null")
    words = ("new-session", "-d", "-x", "80", "-y", "24", *stillset("shoot", "--camera", camera))
    subprocess.run([*tmux, *words], env=home.environment, cwd=home.folder, check=True)
    try:
        until(lambda: "LEDGER" in _shown(tmux), "no bench in tmux")
        subprocess.run([*tmux, "send-keys", "Q"], check=True)
        until(lambda: not _shown(tmux), "the bench was not left")
    finally:
        subprocess.run([*tmux, "kill-server"], check=False, capture_output=True)
    assert own_log(home).is_file()


def _shown(tmux: tuple[str, ...]) -> str:
    return subprocess.run([*tmux, "capture-pane", "-p"], check=False, capture_output=True, text=True).stdout


def test_who_looks_on_waits_for_the_log(home: StillsetHome) -> None:
    with home.start("follow") as follower:
        follower.until("There is no log at")
        follower.interrupt()
        assert "Traceback" not in follower.ended().err
    with in_terminal(home, "follow") as terminal:
        terminal.until("There is no log at")
        terminal.press("Q")
        assert terminal.ended() == 0, terminal.text[-2000:]


def test_a_log_that_isnt_there_yet_is_one_sentence_and_none_is_made(home: StillsetHome) -> None:
    for command in (("log",), ("log", "frames"), ("setup", "show", "1"), ("verify",)):
        ended = home.run(*command)
        assert ended.code == 1 and "There is no log at" in ended.sentence(), (command, ended)
    assert not own_log(home).parent.exists()


def test_files_are_judged_without_a_log(home: StillsetHome) -> None:
    (home.folder / "a.jpg").write_bytes(jpeg_bytes(coded(photograph("coins.png"))))
    ended = home.run("check", "a.jpg", "--json")
    assert len(ended.json_lines()) == 1 and not ended.err, ended


def test_a_set_up_can_be_made_before_the_first_shoot(home: StillsetHome) -> None:
    ended = home.run("setup", "set", "--f-number", "8")
    assert ended.code == 0, ended
    assert own_log(home).is_file()


def test_a_set_up_that_only_one_job_has_is_built_again_without_naming_the_job(home: StillsetHome) -> None:
    for job, f_number in (("rings", "8"), ("rings", "11"), ("type", "16"), ("type", "22"), ("watches", "5.6")):
        assert home.here("setup", "set", "--job", job, "--f-number", f_number).code == 0
    told = home.here("reshoot", "1.1", "--list")
    assert told.code == 0 and "of watches" in told.out, told  # the job worked on last has one of this label
    assert home.here("setup", "set", "--job", "type", "--f-number", "32").code == 0  # 1.3
    assert home.here("setup", "set", "--job", "watches", "--iso", "200").code == 0
    only = home.here("reshoot", "1.3", "--list")
    assert only.code == 0 and "of type" in only.out, only
    assert home.here("setup", "set", "--job", "rings", "--f-number", "32").code == 0
    assert home.here("setup", "set", "--job", "bells", "--f-number", "32").code == 0
    several = home.here("reshoot", "1.3", "--list")
    assert several.code == 2 and "'rings'" in several.err and "'type'" in several.err, several
    none = home.here("reshoot", "9.9", "--list")
    assert none.code == 2 and "has no set-up 9.9" in none.err, none


def test_a_log_whose_folders_are_mistyped_is_refused(home: StillsetHome) -> None:
    ended = home.run("shoot", "--headless", "--log", "shots/deep/shoot.db")
    assert ended.code == 1 and "can't be made" in ended.sentence(), ended
    assert not (home.folder / "shots").exists()
