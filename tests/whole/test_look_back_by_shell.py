"""From the shell, on the log of a true shoot: look back, change and compare set-ups, build one again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import closing

import pytest

from storage.writing.log import SqlLog
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import StillsetHome

KEY = "key,power_ev=-2,distance_mm=600,azimuth_deg=45,elevation_deg=30,shaper=tube"
PLACE = ("--job", "Invented rings", "--piece", "ring 1", "--view", "front")
NOTE = "the ring lay [b]askew[/b]"


@pytest.fixture(scope="module")
def mock() -> Iterator[MockCamera]:
    with MockCamera("--format", "raw+jpeg") as mock:
        yield mock


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory, mock: MockCamera) -> StillsetHome:
    """Two frames of set-up 01.1; the second is marked and has a note. Set-up 01.2 has the key a stop brighter."""
    home = StillsetHome(tmp_path_factory.mktemp("home"))
    shot = home.run("shoot", "--headless", "--frames", "2", "--camera", mock.address, *PLACE, "--light", KEY)
    assert shot.code == 0, shot
    second = home.frames()[1]["frame_id"]
    with closing(SqlLog.open(home.log)) as log:
        log.note(second, NOTE)
        log.mark(second, "hero")
    changed = home.run("setup", "set", "--light", "key,power_ev=-1", "--note", "colder")
    assert (changed.code, changed.err) == (0, "")
    assert changed.out == "Set-up 01.2.\n  light key power: 1/4 (−2 EV) → 1/2 (−1 EV)\n  notes: — → colder\n"
    return home


def told(home: StillsetHome, *command: str) -> str:
    ended = home.here(*command)
    assert (ended.code, ended.err) == (0, ""), ended
    return ended.out


def test_a_set_up_is_shown_with_its_lights_as_they_stand(home: StillsetHome) -> None:
    lines = [" ".join(line.split()) for line in told(home, "setup", "show", "01.1").splitlines()]
    assert "light key 1/4 (−2 EV) 600 mm 45° left · 30° up tube" in lines
    shown = json.loads(told(home, "setup", "show", "--json"))
    assert (shown["setup"], shown["notes"], shown["lights"][0]["power_ev"]) == ("01.2", "colder", -1)


def test_two_revisions_are_compared(home: StillsetHome) -> None:
    first = told(home, "setup", "diff", "01.1", "01.2").splitlines()[0]
    assert first == "Light key power went from 1/4 (−2 EV) to 1/2 (−1 EV), 1 EV more."
    rows = [json.loads(row) for row in told(home, "setup", "diff", "01.1", "01.2", "--json").splitlines()]
    assert {"name": "light key power_ev", "old": -2.0, "new": -1.0} in rows
    assert told(home, "setup", "diff", "01.2", "1") == "They are alike.\n"


def test_a_change_that_changes_nothing_makes_no_revision(home: StillsetHome) -> None:
    assert told(home, "setup", "set", "--light", "key,power_ev=-1") == "Nothing to change; set-up 01.2 stands.\n"


def test_jobs_frames_set_ups_notes_and_events_are_listed_for_people_and_machines(home: StillsetHome) -> None:
    assert told(home, "log", "jobs").startswith("Invented rings: 1 piece, ")
    assert "  ring 1, front  01.1  " in told(home, "log", "frames", "--setup", "01.1", "--mark", "hero")
    assert told(home, "log", "setups").startswith("01.2    Invented rings: 1/200 s, f/11, ISO 100; key 1/2 (−1 EV); ")
    assert told(home, "log", "notes") == f"Invented rings, frame 2, ring 1: {NOTE}\n"
    assert "frame 2 marked hero" in told(home, "log", "events", "--kind", "mark")
    for what in ("jobs", "setups", "notes", "events"):
        rows = [json.loads(row) for row in told(home, "log", what, "--json").splitlines()]
        assert rows, what
        assert all(isinstance(row, dict) for row in rows)


@pytest.mark.parametrize(
    "wanted",
    [
        "--light key --shaper tube --until 2999-12-31 → 1 2",
        "--text askew --mark hero → 2",
        "--since 2999-12-31 →",
        "--light rim →",
    ],
)
def test_frames_are_found_by(home: StillsetHome, wanted: str) -> None:
    options, _, numbers = wanted.partition("→")
    ended = home.here("log", "frames", "--json", *options.split())
    assert ended.code == 0
    found = [frame["number"] for frame in ended.json_lines()]
    assert [number for number in found if number <= 2] == [int(number) for number in numbers.split()]


def test_a_reshoot_lists_what_the_hands_must_do_and_needs_no_camera(home: StillsetHome) -> None:
    plan = told(home, "reshoot", "01.1", "--list")
    assert "camera: 1/200 s, f/11, ISO 100" in plan
    assert "light key: 1/4 (−2 EV) with tube, 600 mm from the piece, 45° left · 30° up" in plan
    assert "Its reference is frame 1." in plan
    listed = json.loads(told(home, "reshoot", "01.1", "--list", "--json"))
    assert (listed["setup"], listed["reference"]) == ("01.1", 1)
    assert {step["state"] for step in listed["steps"]} == {"open"}


def test_a_reshoot_puts_the_settings_back_and_holds_its_frame_against_the_reference(
    home: StillsetHome, mock: MockCamera
) -> None:
    mock.hands("turn_dial", setting="f_number", value=8)
    mock.hands("turn_dial", setting="iso", value=400)
    before = len(home.frames())
    ended = home.run("reshoot", "01.1", "--headless", "--json", "--camera", mock.address)
    assert ended.code == 0, ended
    plan, frame = ended.json_lines()
    assert plan["reference"] == 1
    assert (frame["number"], frame["setup"], frame["state"]) == (before + 1, "01.1", "logged")
    assert (frame["camera"]["f_number"], frame["camera"]["iso"]) == (11, 100)
    assert frame == home.frames()[-1]
    assert (mock.hands("state")["settings"]["f_number"], mock.hands("state")["settings"]["iso"]) == (11, 100)


def test_a_set_up_that_is_not_there_is_told(home: StillsetHome) -> None:
    for command in (("setup", "show", "9"), ("reshoot", "09", "--list"), ("setup", "diff", "1", "2")):
        ended = home.here(*command)
        assert ended.code == 2
        assert "Job 'Invented rings' has no set-up" in ended.sentence()
