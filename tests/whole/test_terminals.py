"""Outputs and terminals that can do less: other encodings, no full screen, a screen reader; and completion."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.mock_camera_program import MockCameraProgram
from tests.support.stillset_program import StillsetHome, stillset
from tests.support.terminal_program import in_terminal

SET = ("--seed", "3", "--pixels", "768x512", "--format", "jpeg")
DRAWN = re.compile("[\u2500-\u259f\u2800-\u28ff\x1b]")
"""Box drawing, block elements, braille patterns, and the beginning of control sequences."""


@pytest.fixture
def home(tmp_path: Path) -> StillsetHome:
    return StillsetHome(tmp_path)


@pytest.fixture
def camera() -> Iterator[str]:
    with MockCameraProgram(*SET) as mock:
        yield f"ptpip:127.0.0.1:{mock.port}"


VIEW = ("--piece-width-mm", "28", "--piece-height-mm", "28", "--relief-mm", "2.4", "--delivered-pixels", "2400",
        "--blur-radius-on-piece-mm", "0.015")  # fmt: skip


LATIN, ASCII = {"PYTHONIOENCODING": "latin-1"}, {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"}


@pytest.mark.parametrize(
    ("words", "variables"),
    [
        (("setup", "show", "1"), LATIN),
        (("setup", "show", "1"), ASCII),
        (("setup", "diff", "1.1", "1.2"), LATIN),
        (("plan", "view", *VIEW), LATIN),
        (("keys",), ASCII),
    ],
    ids=lambda value: " ".join(value if isinstance(value, tuple) else value.values()),
)
def test_an_encoding_without_our_signs_ends_no_command(
    home: StillsetHome, words: tuple[str, ...], variables: dict[str, str]
) -> None:
    light = ("--light", "key,power_ev=-2,distance_mm=600")
    assert home.here("setup", "set", *light, "--note", "card nearer → “left”").code == 0
    assert home.here("setup", "set", "1", "--light", "key,power_ev=-3").code == 0
    ended = subprocess.run(
        stillset(*words), env=home.environment | variables, cwd=home.folder, capture_output=True, check=False
    )
    assert (ended.returncode, ended.stderr) == (0, b""), ended
    assert ended.stdout


def test_a_sign_that_the_encoding_lacks_is_written_as_its_nearest(home: StillsetHome) -> None:
    assert home.here("setup", "set", "--light", "key,power_ev=-2,distance_mm=600", "--note", "→ 日本").code == 0
    ended = subprocess.run(
        stillset("setup", "show", "1"), env=home.environment | {"PYTHONIOENCODING": "latin-1"}, cwd=home.folder,
        capture_output=True, check=True,
    )  # fmt: skip
    text = ended.stdout.decode("latin-1")
    assert "-2 EV" in text and r"-> \u65e5\u672c" in text, text


@pytest.mark.parametrize("words", [("shoot",), ("demo",)])
def test_a_terminal_that_cant_place_text_gets_no_full_screen(home: StillsetHome, words: tuple[str, ...]) -> None:
    with in_terminal(home, *words, TERM="dumb") as terminal:
        assert terminal.ended() == 2
    assert "use" in terminal.text and "--headless" in terminal.text
    assert not DRAWN.search(terminal.raw)


def test_looking_back_and_looking_on_are_lines_there(home: StillsetHome) -> None:
    assert home.here("setup", "set", "--f-number", "8").code == 0
    with in_terminal(home, "log", TERM="dumb") as terminal:
        assert terminal.ended() == 0
    with in_terminal(home, "follow", "--log", str(home.folder / "none.db"), TERM="dumb") as follower:
        follower.until("There is no log at")
    assert not DRAWN.search(terminal.raw + follower.raw)


def test_the_bench_as_lines_says_state_sentence_findings_and_keys_and_takes_the_keys(
    home: StillsetHome, camera: str
) -> None:
    place = ("--piece", "ring 4", "--view", "front", "--exposure-s", "1/500", "--light", "key,power_ev=-2")
    with in_terminal(home, "shoot", "--plain", "--camera", camera, *place) as bench:
        bench.until("stop: 1/500 s is shorter than the 1/200 s sync time")
        at = bench.until("1/500 s, f/11")  # the camera has taken the set-up
        bench.press("f")
        at = bench.until("1/200 s", at)
        at = bench.until("READY", at)
        bench.press(" ")
        at = bench.until("Frame 1", at)
        at = bench.until("FOCUS ?", at)
        bench.press("n")
        at = bench.until("note to frame 1: ", at)
        bench.press("too cold")
        at = bench.until("too cold", at)
        bench.press("\r")
        at = bench.until("The note is kept", at)
        bench.press("e")
        at = bench.until("chosen: exposure time", at)
        bench.press("\x1b[B")
        at = bench.until("chosen: aperture", at)
        bench.press("\x1b")
        bench.until("changing: none", at)
        bench.press("Q")
        assert bench.ended() == 0, bench.text[-2000:]
    assert not DRAWN.search(bench.raw), DRAWN.findall(bench.raw)[:10]
    assert home.frames()[0]["notes"] == ["too cold"] or "too cold" in str(home.frames()[0])


def test_lines_need_a_terminal_for_their_keys(home: StillsetHome) -> None:
    ended = home.run("shoot", "--plain")
    assert ended.code == 2 and "--headless" in ended.sentence()


@pytest.mark.parametrize(
    ("shell", "how"),
    [
        ("bash", {"COMP_WORDS": "stillset shoot --headl", "COMP_CWORD": "2"}),
        ("zsh", {"COMP_WORDS": "stillset shoot --headl", "COMP_CWORD": "2"}),
        ("fish", {"COMP_WORDS": "stillset shoot --headl", "COMP_CWORD": "--headl"}),
    ],
)
def test_shells_complete_commands_and_options(home: StillsetHome, shell: str, how: dict[str, str]) -> None:
    source = home.here("completion", shell)
    assert source.code == 0 and "_STILLSET_COMPLETE" in source.out, source
    code = "import sys; sys.argv = ['stillset']; from tui.__main__ import main; main()"
    asked = home.environment | how | {"_STILLSET_COMPLETE": f"{shell}_complete"}
    import sys

    ended = subprocess.run([sys.executable, "-P", "-c", code], env=asked, capture_output=True, text=True, check=False)
    assert "--headless" in ended.stdout, ended


def test_bash_itself_takes_the_lines(home: StillsetHome) -> None:
    lines = home.here("completion", "bash").out
    bash = subprocess.run(
        ["bash", "--norc", "-c", 'eval "$0"; complete -p stillset', lines], capture_output=True, text=True, check=False
    )
    assert bash.returncode == 0 and "_stillset_completion" in bash.stdout, bash
