"""Real processes over the real libgphoto2, killed without warning forty times and more at random; takes minutes.

Run apart: `python -m pytest tests/benchmarks/test_kill_soak.py -s -q --ignore-glob=`. A shorter part, at chosen
stages, is tests/whole/test_program_killed.py.
"""

from __future__ import annotations

import os
import select
import signal
from pathlib import Path
from random import Random

import pytest

from tests.support.long_day import LongDay, long_day
from tests.support.stillset_program import CAMERA, children, until_ended

pytestmark = pytest.mark.timeout(3600)

KILLS = 42
LONGEST_S = 2.5
"""A run of two frames takes about so long once it has begun with the camera; most kills fall into it."""


def test_forty_kills_at_random_lose_no_release(tmp_path: Path) -> None:
    chance, struck = Random(8), {"program": 0, "camera": 0, "both": 0}
    with long_day(tmp_path) as day:
        while sum(struck.values()) < KILLS:
            victim = chance.choice(list(struck))
            if kill(day, victim, chance.uniform(0.0, LONGEST_S), chance.random() < 0.4):
                struck[victim] += 1
        frames, releases = day.frames(), day.mock.hands("state")["releases"]
    logged = [frame for frame in frames if frame["state"] == "logged"]
    print(f"\n{struck}: {releases} releases, {len(logged)} frames logged, {len(frames) - len(logged)} did not fire")
    assert len(logged) == releases
    assert {len(frame["files"]) for frame in logged} == {2}
    assert {frame["state"] for frame in frames} <= {"logged", "not fired"}


def kill(day: LongDay, victim: str, after_s: float, slowly: bool) -> bool:
    """One run of two frames, killed; then one that is let be. False when there was nothing to kill any more."""
    if slowly:
        day.mock.hands("wire", bytes_per_s=300_000)
    with day.start(2) as program:
        program.process_of(CAMERA)  # before it there is little to lose
        select.select([], [], [], after_s)  # a moment at random is what is wanted here, not one of ours
        cameras = children(program.pid, CAMERA)
        if victim != "camera":
            program.kill()
        if victim != "program":
            for camera in cameras:
                os.kill(camera, signal.SIGKILL)
        for camera in cameras:
            until_ended(camera)
        day.as_at_start()
        code = program.ended().code
    assert day.shoot().code == 0
    day.frames()
    return bool(cameras) if victim == "camera" else code == -signal.SIGKILL
