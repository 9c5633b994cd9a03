"""Wrong files, names and addresses: one sentence that says what is wrong, the documented exit code, nothing touched.

Exit codes (docs/shell.md): 1 failed, 2 wrong use, 3 stopped by a rule.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.support.fresh_log import fresh_log
from tests.support.kept_whole import assert_whole
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import StillsetHome, sha256, stillset

SHOOT = ("shoot", "--headless")


@pytest.fixture
def home(tmp_path: Path) -> StillsetHome:
    return StillsetHome(tmp_path)


@pytest.fixture(scope="module")
def used_home(tmp_path_factory: pytest.TempPathFactory) -> StillsetHome:
    """With a log and a set-up in it."""
    home = StillsetHome(tmp_path_factory.mktemp("home"))
    assert home.here("setup", "set", "--iso", "100").code == 0
    return home


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("card")


@pytest.fixture(scope="module")
def mock(card: Path) -> Iterator[MockCamera]:
    with MockCamera("--card-folder", str(card)) as mock:
        yield mock


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (("--camera", "somewhere"), 2, "'somewhere' is no camera address"),
        (("--camera", "ptpip:127.0.0.1:99999"), 2, "no port between 1 and 65535"),
        (("--camera", "usb:009,009"), 1, "No camera answers at usb:009,009."),
        (("--camera", "ptpip:127.0.0.1:1"), 1, "No camera answers at ptpip:127.0.0.1:1."),
        ((), 1, "No camera was found on USB"),
        (("--setup", "later"), 2, "a set-up is written like 07.3 or 7, not 'later'"),
        (("--setup", "7"), 2, "has no set-up 7"),
        (("--light", "sun"), 2, "no light 'sun'; it has key, rim, fill"),
        (("--light", "key,power_ev=half"), 2, "power is written like 1/4, 1/4 +1/3 or -2, not 'half'"),
        (("--exposure-s", "quick"), 2, "an exposure time is written like 1/200"),
        (("--kit", "nowhere.toml"), 2, "The kit file nowhere.toml can't be used: there is no such file"),
        (("--log", "nowhere/deep/shoot.db"), 1, "folder nowhere/deep can't be made"),
        (("--log", "."), 1, ". is a folder, not a log."),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_what_cannot_be_used_is_said_in_one_sentence(
    used_home: StillsetHome, options: tuple[str, ...], code: int, words: str
) -> None:
    run = used_home.run if words.startswith("No camera") else used_home.here
    ended = run(*SHOOT, *options)
    assert (ended.code, ended.out) == (code, "")
    assert words in ended.sentence()


def test_a_shoot_without_screen_and_terminal_is_wrong_use(home: StillsetHome) -> None:
    ended = home.run("shoot")
    assert ended.code == 2
    assert "There is no terminal for the bench; use --headless." in ended.sentence()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[body\n", "not valid TOML"),
        (
            '[[light]]\nname = "key"\nguide_number = 36\n',
            "line 3, light 1 guide_number: there is no field of this name",
        ),
    ],
)
def test_a_broken_kit_file_is_told_with_line_and_field(home: StillsetHome, text: str, words: str) -> None:
    (home.folder / "kit.toml").write_text(text)
    ended = home.here(*SHOOT, STILLSET_KIT="kit.toml")
    assert ended.code == 2
    assert words in ended.sentence()
    assert not home.log.exists()


def noise(path: Path) -> None:
    path.write_bytes(bytes(range(256)) * 16)


def of_another_program(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE plants (name TEXT)")
    connection.close()


def of_the_future(path: Path) -> None:
    fresh_log(path).close()
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (noise, "is not a log: it isn't an SQLite file."),
        (of_another_program, "is not a log: it is another program's SQLite file."),
        (of_the_future, "was written by a newer stillset (schema 9999"),
    ],
)
def test_a_file_that_is_no_log_of_ours_is_left_alone(
    home: StillsetHome, make: Callable[[Path], None], words: str
) -> None:
    make(home.log)
    before = sha256(home.log)
    for ended in (home.here(*SHOOT), home.here("log", "frames")):
        assert ended.code == 1
        assert words in ended.sentence()
    assert sha256(home.log) == before


def test_looking_back_without_a_log_says_so_and_makes_none(home: StillsetHome) -> None:
    ended = home.here("log", "frames")
    assert ended.code == 1
    assert ended.sentence() == f"There is no log at {home.log} yet."
    assert not home.log.exists()


HOSTILE = {
    "commands for the terminal": "\x1b[2J\x1b]0;title\x07red",
    "a way out of the folder": "../../../../etc/cron.d/job",
    "turned reading direction": "abc\u202egnp.exe\u2066",
    "no text at all": os.fsdecode(b"\xff\xfe\x80"),
    "very long": "x" * 9000,
    "a device of another system, and line breaks": "nul\r\n",
}


def test_hostile_names_are_kept_shown_harmlessly_and_lead_out_of_no_folder(
    home: StillsetHome, mock: MockCamera, card: Path
) -> None:
    names = list(HOSTILE.values())
    options = ("--camera", mock.address, "--reason", "\x1b[31m", "--overrule", "sync")
    for place in range(2):
        job, piece, view = names[place * 3 : place * 3 + 3]
        ended = home.run(*SHOOT, *options, "--job", job, "--piece", piece, "--view", view)
        assert (ended.code, ended.err) == (0, ""), ended
    assert home.here("setup", "set", "--note", names[0], "--light", f"key,note={names[0]}").code == 0
    told = [
        home.run("log", "frames"),
        *(home.here(*what) for what in (("log", "setups"), ("log", "events"), ("setup", "show"))),
    ]
    for ended in told:
        assert ended.code == 0, ended
        assert not [sign for sign in ended.out if unicodedata.category(sign) in ("Cc", "Cf", "Cs") and sign != "\n"]
        assert all(len(line) < 5000 for line in ended.out.splitlines())
    frames = assert_whole(home, card)
    assert [frame["job"] for frame in frames] == [names[0].strip(), names[3]]
    for file in home.files():
        assert file.resolve().is_relative_to(home.pictures.resolve())


def test_an_output_that_nobody_reads_ends_a_command_without_a_word(home: StillsetHome, mock: MockCamera) -> None:
    assert home.here("setup", "set", "--iso", "200").code == 0
    reader, writer = os.pipe()
    os.close(reader)
    ended = subprocess.run(
        stillset("log", "events"),
        check=False,
        env=home.environment,
        cwd=home.folder,
        stdout=writer,
        stderr=subprocess.PIPE,
    )
    os.close(writer)
    assert (ended.returncode, ended.stderr) == (1, b"")


def test_a_shoot_whose_output_nobody_reads_stops_and_loses_nothing(
    home: StillsetHome, mock: MockCamera, card: Path
) -> None:
    mock.hands("format_card")
    reader, writer = os.pipe()
    os.close(reader)
    command = stillset(*SHOOT, "--frames", "3", "--camera", mock.address)
    ended = subprocess.run(
        command, check=False, env=home.environment, cwd=home.folder, stdout=writer, stderr=subprocess.PIPE
    )
    os.close(writer)
    assert (ended.returncode, ended.stderr) == (1, b"")
    assert home.run(*SHOOT, "--camera", mock.address).code == 0
    assert 2 <= len(assert_whole(home, card)) <= 4


def test_an_output_that_takes_nothing_is_told(home: StillsetHome, mock: MockCamera, card: Path) -> None:
    mock.hands("format_card")
    command = stillset(*SHOOT, "--camera", mock.address)
    with Path("/dev/full").open("w") as full:
        ended = subprocess.run(
            command, check=False, env=home.environment, cwd=home.folder, stdout=full, stderr=subprocess.PIPE, text=True
        )
    assert ended.returncode == 1
    assert ended.stderr == "The output can't be used: No space left on device.\n"
    assert home.run(*SHOOT, "--camera", mock.address).code == 0
    assert len(assert_whole(home, card)) == 2
