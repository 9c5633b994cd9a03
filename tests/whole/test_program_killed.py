"""Killed without warning, at every stage of a frame: the next run finds each release once, and its files whole.

Real processes are killed (SIGKILL) while libgphoto2 drives the simulated camera. To catch a stage without racing
it, the camera is made to stall in it, or the process that would end it is halted.
"""

from __future__ import annotations

import os
import signal

import pytest

from tests.support.long_day import STAGES, LongDay
from tests.support.stillset_program import CAMERA, JUDGE, until_ended


@pytest.mark.parametrize(
    ("stage", "both"),
    [(stage, True) for stage in STAGES] + [(stage, False) for stage in ("at the release", "on a slow wire")],
    ids=lambda value: value if isinstance(value, str) else "program and camera process" if value else "program",
)
def test_killed_the_next_run_has_every_release_once_and_whole(day: LongDay, stage: str, both: bool) -> None:
    STAGES[stage].prepare(day)
    with day.start() as program:
        camera = program.process_of(CAMERA)
        STAGES[stage].reached(day)
        program.kill()
        if both:
            os.kill(camera, signal.SIGKILL)
        day.mock.quick_wire()
        until_ended(camera)
    ended = day.shoot()
    assert (ended.code, ended.err) == (0, ""), ended
    frames = day.frames()
    assert {frame["state"] for frame in frames} <= {"logged", "not fired"}
    logged = [frame for frame in frames if frame["state"] == "logged"]
    assert len(logged) == day.mock.hands("state")["releases"]
    assert {len(frame["files"]) for frame in logged} == {2}
    assert all(frame["focus"] for frame in logged), "each is judged"


@pytest.mark.parametrize("stage", ["at the release", "in the raw file"])
def test_camera_process_killed_the_same_run_goes_on_and_has_the_frame_whole(day: LongDay, stage: str) -> None:
    STAGES[stage].prepare(day)
    with day.start() as program:
        camera = program.process_of(CAMERA)
        STAGES[stage].reached(day)
        os.kill(camera, signal.SIGKILL)
        until_ended(camera)
        ended = program.ended()
    fired = stage != "at the release"
    assert "The camera's process was ended (signal 9)." in ended.out
    assert ended.code == (0 if fired else 1), ended
    assert day.frames()[-1]["state"] == ("logged" if fired else "not fired")


def test_program_killed_before_the_checks_were_done_the_next_run_makes_them(day: LongDay) -> None:
    with day.start() as program:
        judge = program.process_of(JUDGE)
        os.kill(judge, signal.SIGSTOP)
        day.until_files(2)
        program.kill()
        os.kill(judge, signal.SIGKILL)
        until_ended(judge)
    assert day.shoot().code == 0
    frames = day.frames()
    assert [frame["state"] for frame in frames[-2:]] == ["logged", "logged"]
    assert frames[-2]["focus"] is not None


def test_judge_killed_over_a_frame_leaves_it_unjudged_with_the_reason_and_the_next_is_judged(day: LongDay) -> None:
    with day.start(2) as program:
        judge = program.process_of(JUDGE)
        os.kill(judge, signal.SIGSTOP)
        day.until_files(3)
        os.kill(judge, signal.SIGKILL)
        ended = program.ended()
    assert ended.code == 0
    first, second = day.frames()[-2:]
    assert first["focus"]["verdict"] == "unjudged"
    assert first["focus"]["reason"] == "the judge's process ended over it (-9)"
    assert not second["focus"]["reason"].startswith("the judge's process")
