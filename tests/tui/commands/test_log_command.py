"""`stillset log`: jobs, frames, set-ups, notes and events as lines for people and for machines; undo by the shell."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from storage.reading import csv_lines
from tests.support.fresh_log import fresh_log
from tests.support.in_process import stillset
from tests.support.station_logs import FRAMES, station


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "log.sqlite"
    station(path, "Movement")
    return path


def told(log: Path, *words: str, exit_code: int = 0) -> str:
    return stillset("log", "--log", str(log), *words, exit_code=exit_code)


@pytest.mark.parametrize("what", ["jobs", "frames", "setups", "notes", "events"])
def test_each_list_has_a_line_for_people_and_an_object_for_machines_of_each_thing(log: Path, what: str) -> None:
    lines, objects = told(log, what).splitlines(), told(log, what, "--json").splitlines()
    assert len(lines) >= len(objects) > 0
    assert all(isinstance(json.loads(line), dict) for line in objects)
    assert not any("\x1b" in line for line in lines), "a note steers no terminal"


def test_an_empty_log_is_the_line_of_names_alone_and_says_so_to_people(tmp_path: Path) -> None:
    fresh_log(tmp_path / "log.sqlite").close()
    assert told(tmp_path / "log.sqlite", "frames", "--csv") == csv_lines.header()
    assert "no frame" in told(tmp_path / "log.sqlite", "frames")


def test_two_forms_at_once_are_refused(log: Path) -> None:
    assert "--json and --csv are two things" in told(log, "frames", "--csv", "--json", exit_code=2)


def test_the_last_act_is_undone_and_redone_and_both_are_said(log: Path) -> None:
    approved = told(log, "setups", "--json")
    assert f"frame {FRAMES}" in told(log, "undo", "--job", "movement")
    assert told(log, "setups", "--json") != approved
    assert f"frame {FRAMES}" in told(log, "undo", "--job", "movement", "--redo")
    assert told(log, "setups", "--json") == approved


def test_a_log_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    said = told(tmp_path / "none.sqlite", "jobs", exit_code=1)
    assert len(said.splitlines()) == 1 and "none.sqlite" in said
