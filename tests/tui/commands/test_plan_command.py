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
    ("arguments", "words"),
    [
        (("depth", *LENS, "--magnification", "1"), ("f/22", "1.32 mm", "29.5 µm", "2 EV")),
        (("light", "--guide-number-m", "36", "--distance-mm", "750"), ("f/48", "! Capacitors")),
        (("plate", "--thickness-mm", "2"), ("3.51 EV", "! Plates with ground or taped edges")),
        (
            ("sync", "--exposure-s", "1/400", "--curtain-travel-s", "0.003"),
            ("17 %", "1/333 s", "all of it", "0.3 EV too short"),
        ),
        (("steps", "--relief-mm", "10", "--depth-mm", "1.32"), ("10", "0.99 mm")),
        (("shake", "--frequency-hz", "10", "--damping-ratio", "0.02", "--delay-s", "2"), ("0.081", "3.66 s")),
    ],
)
def test_tables_write_numbers_with_their_units(arguments, words):
    told = run(*arguments)
    for word in words:
        assert word in told


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


def test_a_view_is_planned_with_the_demo_kit_and_says_that_it_is_invented():
    told = run(*MOVEMENT, "--plate", "2 mm glass", "--light", "key", "--light", "fill", "--first", "3")
    for words in ("invented demo kit", "Wendle 36, Longmere 100 close-up", "light fill", "! Plates", "a black trap"):
        assert words in told
    assert told.count("before the next for") >= 1


@pytest.mark.parametrize("columns", [40, 60, 80, 120])
@pytest.mark.parametrize(
    "arguments",
    [
        (*MOVEMENT, "--plate", "2 mm glass"),
        (*MOVEMENT, "--clear-in-front-mm", "900", "--most-frames", "1"),
        ("plate", "--thickness-mm", "2", "--plate-distance-mm", "90", "--depth-mm", "1.3"),
        ("sync", "--exposure-s", "1/400", "--curtain-travel-s", "0.003"),
    ],
    ids=["view", "view that fails", "plate", "sync"],
)
def test_answers_fit_the_terminal_and_lose_no_word(arguments, columns):
    whole, fitted = run(*arguments), run(*arguments, columns=columns)
    longest = max(len(line) for line in fitted.splitlines())
    assert longest <= max(columns, max(map(len, whole.split())) + 2), fitted
    assert sorted(fitted.split()) == sorted(whole.split())


def test_a_view_as_json_holds_every_number():
    told = answer(*MOVEMENT, "--first", "2")
    first = told["plans"][0]
    assert (len(told["plans"]), told["kit_invented"], told["wish"]["relief_mm"]) == (2, True, 2.4)
    assert told["arrangements"] > 100
    for key in (
        *("magnification", "working_distance_mm", "room_needed_mm", "f_number", "blur_radius_on_piece_mm", "depth_mm"),
        *("depth_needed_mm", "frames", "step_mm", "exposure_s", "sync_margin_ev", "hold_off_s", "pixels_on_piece"),
    ):
        assert isinstance(first[key], int | float)
    assert {"name", "power_ev", "distance_mm"} <= first["lights"][0].keys()
    assert first["reason"]
    assert told["cautions"]


def test_a_view_that_fails_says_by_how_much():
    told = run(*MOVEMENT, "--clear-in-front-mm", "900", "--most-frames", "1", "--first", "1")
    assert "fails by" in told
    assert "pixels across the delivered picture, 2400 are wanted" in told  # from so far away
    assert "The blur on the piece has a radius of" in told and "0.015 mm are allowed" in told


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
