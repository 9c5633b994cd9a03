"""`stillset plan` as a command: tables, what can't be meant, a view planned, help, exit codes, what is asked back."""

from __future__ import annotations

import json
import os
import pty
import select
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.support.plan_answers import LENS, answer, run
from tui.commands.plan_command import QUESTIONS

ROOT = Path(__file__).parents[3]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ("depth --f-number 1/11", "f_number is 0.09091, but must be from 0.5 to 128: was f/11 typed as 1/11?"),
        ("depth --f-number eleven", "an f-number is written like 11 or f/11, not 'eleven'."),
        ("depth --focal-length-mm 0", "focal_length_mm is 0 mm, but must be from 1 to 2000 mm."),
        ("depth --focal-length-mm -50", "focal_length_mm is -50 mm, but must be from 1 to 2000 mm."),
        ("depth --focal-length-mm 1e9", "focal_length_mm is 1,000,000,000 mm, but must be from 1 to 2000 mm."),
        ("depth --focal-length-mm nan", "focal_length_mm is not a number: give it, from 1 to 2000 mm."),
        ("depth --focal-length-mm 1/0", "focal_length_mm is a number in mm, not '1/0'."),
        ("light --distance-mm 0.6", "distance_mm is 0.6 mm, but must be from 1 to 100,000 mm: was it given in m?"),
        (
            "light --guide-number-m 36000",
            "guide_number_m is 36,000 m, but must be from 0.1 to 500 m: was it given in mm?",
        ),
        ("sync --exposure-s 200", "exposure_s is 200 s, but must be from 0.000001 to 60 s: was 1/200 typed as 200?"),
        ("sync --exposure-s 1/200", "Missing: curtain_travel_s in s; give --curtain-travel-s."),
        (
            "depth --f-number f/11 --magnification 1",
            "Missing: focal_length_mm in mm and blur_circle_mm in mm; give --focal-length-mm --blur-circle-mm.",
        ),
        (
            "depth --focal-length-mm 100 --f-number 8 --magnification 0.3 --blur-circle-mm 0.03 --dioptres 4",
            "magnification is 0.3, but the added lenses alone give 0.4 with the lens at infinity.",
        ),
        ("steps --relief-mm 5000 --depth-mm 0.001", "at most 10000 make a series."),
        (
            "shake --frequency-hz 10 --damping-ratio 2 --delay-s 2",
            "damping_ratio is 2, but must be from 0.00001 to 0.999.",
        ),
        ("view --piece-width-mm 28", "Missing: piece_height_mm in mm and relief_mm in mm; give"),
        (
            "view --piece-width-mm 28 --piece-height-mm 28 --relief-mm 2.4",
            "Missing: blur_radius_on_piece_mm in mm; give --blur-radius-on-piece-mm, or --delivered-pixels to take it "
            "from.",
        ),
        (
            "view --piece-width-mm 28 --piece-height-mm 28 --relief-mm 2.4 --delivered-pixels 2400 --plate none",
            "The kit has no plate 'none'; it has 2 mm glass.",
        ),
        (
            "view --piece-width-mm 28 --piece-height-mm 28 --relief-mm 2.4 --depth-needed-mm 3 --delivered-pixels 2400",
            "depth_needed_mm is 3 mm, but the piece is only 2.4 mm deep.",
        ),
    ],
)
def test_what_can_not_be_meant_is_refused_in_one_sentence(arguments, sentence):
    told = run(*arguments.split(), exit_code=2)
    assert sentence in told
    assert told.count("\n") == 1


SIZE = ("--piece-width-mm", "28", "--piece-height-mm", "28", "--relief-mm", "2.4")
MOVEMENT = ("view", *SIZE, "--delivered-pixels", "2400", "--blur-radius-on-piece-mm", "0.015")


def test_the_kit_is_the_one_named(tmp_path, monkeypatch):
    kit = tmp_path / "kit.toml"
    kit.write_text(
        '[[body]]\nname = "b"\nsensor_width_mm = 36\nsensor_height_mm = 24\npixels_across = 6000\npixels_down = 4000\n'
        'sync_time_s = 0.005\n[[lens]]\nname = "mine"\nfocal_length_mm = 100\nclosest_magnification = 1\n',
        encoding="utf-8",
    )
    told = run(*MOVEMENT, "--kit", str(kit))
    assert "b, mine" in told
    assert "invented" not in told
    assert "The room before the lens can't be told" in told
    monkeypatch.setenv("STILLSET_KIT", str(kit))
    assert answer(*MOVEMENT)["plans"][0]["body"] == "b"
    kit.write_text(kit.read_text(encoding="utf-8").replace("closest_magnification = 1\n", ""), encoding="utf-8")
    refused = run(*MOVEMENT, exit_code=2)
    assert refused.startswith("Nothing in the kit can be planned with; mine: it forms no close-up picture:")
    assert refused.endswith("closest_magnification isn't known.\n")


def test_every_option_of_every_question_is_a_quantity_or_a_name():
    for question in QUESTIONS:
        told = run(question, "--help")
        assert "--json" in told
    assert all(name in run("--help") for name in QUESTIONS)


def program(*arguments: str, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "tui", "plan", *arguments], cwd=ROOT, capture_output=True, text=True, check=False, **more
    )


def test_the_program_answers_and_refuses_by_its_exit_code():
    done = program("depth", *LENS, "--magnification", "1", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["depth_mm"] == pytest.approx(1.32001, rel=1e-4)
    done = program("sync", "--exposure-s", "1/500", stdin=subprocess.DEVNULL)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "Missing: curtain_travel_s in s; give --curtain-travel-s.\n"


def test_help_comes_without_wave_optics_or_screens():
    code = (
        "import sys, tui.commands.planning.view_question, tui.commands.planning.lens_questions\n"
        "import tui.commands.planning.light_questions, tui.commands.planning.set_questions\n"
        "print([name for name in ('numpy', 'session.optics.closeup', 'textual', 'sqlalchemy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_at_a_terminal_what_is_missing_is_asked_for_by_name_and_unit():
    leader, follower = pty.openpty()
    try:
        command = [sys.executable, "-m", "tui", "plan", "sync", "--exposure-s", "1/400", "--json"]
        process = subprocess.Popen(command, cwd=ROOT, stdin=follower, stderr=follower, stdout=subprocess.PIPE)
        os.close(follower)
        seen = _read_on(leader, "", "curtain_travel_s in s")
        os.write(leader, b"3\n")  # milliseconds: refused, and asked again
        seen = _read_on(leader, seen, "was it given in ms?")
        _read_on(leader, seen, "curtain_travel_s in s", times=2)
        os.write(leader, b"0.003\n")
        told, _ = process.communicate(timeout=60)
    finally:
        os.close(leader)
    assert process.returncode == 0
    assert json.loads(told)["dark_share"] == pytest.approx(1 / 6)


def _read_on(leader: int, seen: str, words: str, times: int = 1) -> str:
    """All that the terminal has shown once the words stand there so often."""
    while seen.count(words) < times:
        ready, _, _ = select.select([leader], [], [], 60)
        assert ready, f"{words!r} never came, only {seen!r}"
        seen += os.read(leader, 4096).decode(errors="replace")
    return seen
