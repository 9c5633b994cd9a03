"""Ctrl-C at every state of a shoot: one sentence, exit code 1, and no frame lost.

The program is caught in a state by a camera that stalls there, a flash that takes ten minutes to charge, or a judge
that is halted.
"""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from tests.support.long_day import STAGES, LongDay
from tests.support.slow_kit import slow_kit
from tests.support.stillset_program import CAMERA, JUDGE, Ended, StillsetHome, until_ended

STOPPED = "Stopped. What was saved until now is safe."


def assert_stopped(ended: Ended) -> None:
    assert ended.code == 1, ended
    assert ended.sentence() == STOPPED


def assert_nothing_lost(day: LongDay) -> None:
    """The next run puts right what is left to put right."""
    day.as_at_start()
    ended = day.shoot()
    assert (ended.code, ended.err) == (0, ""), ended
    logged = [frame for frame in day.frames() if frame["state"] == "logged"]
    assert len(logged) == day.mock.hands("state")["releases"]
    assert all(frame["focus"] for frame in logged), "each is judged"


@pytest.mark.parametrize("stage", ["while it connects", "at the release", "in the raw file"])
def test_interrupted_while_the_camera_does_not_answer(day: LongDay, stage: str) -> None:
    STAGES[stage].prepare(day)
    with day.start() as program:
        STAGES[stage].reached(day)
        program.interrupt()
        assert_stopped(program.ended())
    last = day.home.frames()[-1]
    states = {"while it connects": "logged", "at the release": "uncertain", "in the raw file": "missing"}
    assert last["state"] == states[stage]
    if stage == "in the raw file":
        assert "It is on the card and is fetched when the camera is back." in last["text"]
        told = day.home.run("log", "events", "--kind", "left on the card").out
        assert f"frame {last['number']}: /" in told and ".TIF" in told, "where it lies is in the log"
    assert_nothing_lost(day)


def test_interrupted_in_a_transfer_the_frame_is_saved_first(day: LongDay) -> None:
    day.mock.slow_raws()
    with day.start() as program:
        day.until_files(1)
        program.interrupt()
        program.until("A frame is under way; it is saved first.")
        day.mock.quick_wire()
        assert_stopped(program.ended())
    last = day.home.frames()[-1]
    assert last["state"] in ("saved", "logged")
    assert len(last["files"]) == 2
    assert_nothing_lost(day)


def test_interrupted_twice_it_ends_at_once_and_the_camera_process_saves_the_frame(day: LongDay) -> None:
    day.mock.slow_raws()
    with day.start() as program:
        camera = program.process_of(CAMERA)
        day.until_files(1)
        program.interrupt()
        program.until("A frame is under way; it is saved first.")
        program.interrupt()
        ended = program.ended()
        day.mock.quick_wire()
        until_ended(camera)
    assert_stopped(ended)
    assert_nothing_lost(day)


def test_interrupted_while_a_release_waits_it_does_not_fire(day: LongDay, tmp_path: Path) -> None:
    with day.start(2, "--light", "key", "--kit", str(slow_kit(tmp_path))) as program:
        program.until("s: recycling.")
        releases = day.mock.hands("state")["releases"]
        program.interrupt()
        ended = program.ended()
    assert_stopped(ended)
    assert "did not fire: cancelled" in ended.out
    assert day.mock.hands("state")["releases"] == releases
    assert "was cancelled before the release" in day.home.run("log", "events", "--kind", "called off").out
    day.home.run("setup", "set", "--no-light", "key")
    assert_nothing_lost(day)


def test_interrupted_before_the_checks_are_done_the_next_run_makes_them(day: LongDay) -> None:
    with day.start() as program:
        os.kill(program.process_of(JUDGE), signal.SIGSTOP)
        day.until_files(2)
        program.interrupt()
        assert_stopped(program.ended())
    last = day.home.frames()[-1]
    assert (last["state"], last["focus"], len(last["files"])) == ("saved", None, 2)
    assert_nothing_lost(day)


@pytest.mark.parametrize(
    "module", ["click._compat", "click.core", "tui.commands.command_line", "tui.shell.troubles", "tui.shell.choices"]
)
def test_interrupted_while_it_is_still_starting_it_ends_without_a_traceback(tmp_path: Path, module: str) -> None:
    """Python says on standard error when each module has been imported (`-X importtime`)."""
    home = StillsetHome(tmp_path)
    with home.start("log", "jobs", PYTHONPROFILEIMPORTTIME="1") as program:
        program.until(f" {module}\n")
        program.interrupt()
        ended = program.ended()
    assert "Traceback" not in ended.err and ended.out == ""
    assert ended.code in (-signal.SIGINT, 1)
    if ended.code == 1 and STOPPED not in ended.err:
        assert "There is no log" in ended.err, "it was quicker than the signal"
