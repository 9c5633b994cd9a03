"""A shoot stopped before and after every one of its steps: the next start puts the log right, whatever was lost.

What is a step, what a stop may lose, and what must hold after it: `crash_station`, `crash_disk`. A stop before a step
is the stop after the one before it. Stops that leave the same behind are restarted once.
The full enumeration with every loss, lag and double stop: tests/benchmarks/test_crash_soak.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from session.frame.ports import Place
from session.frame.states import Intent
from session.set.setup import Revision
from storage.writing.log import SqlLog
from tests.support.crash_camera import Card
from tests.support.crash_disk import Loss, Operation, RecordedDisk
from tests.support.crash_station import (
    MISHAPS,
    Moment,
    Station,
    begin,
    distinct,
    fast_folder,
    killed_after_move,
    read_only_meanwhile,
    restarted,
    rows,
    violations,
    whole_shoot,
    with_mishap,
    wrong_when_read_only,
)

LEAST_STOPS = 150
LEAST_STEPS_OF_A_FRAME = 20


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    with fast_folder(tmp_path_factory.mktemp("station")) as folder:
        yield folder


@pytest.fixture(scope="module")
def moments(root: Path) -> list[Moment]:
    station = whole_shoot(root)
    assert violations(station) == []
    station.end()
    return station.moments


def wrong_after(root: Path, moment: Moment, loss: Loss, **how: Any) -> list[str]:
    station = restarted(root, moment, loss, **how)
    found = [f"{moment.step}, {loss}: {one}" for one in violations(station)]
    station.end()
    return found


def test_shoot_stopped_after_any_step_is_put_right(
    root: Path, moments: list[Moment], capsys: pytest.CaptureFixture[str]
) -> None:
    states = list(distinct([(moment, loss, False) for moment in moments for loss in (Loss.NONE, Loss.ALL)]))
    wrong = [one for moment, loss, _ in states for one in wrong_after(root, moment, loss)]
    with capsys.disabled():
        print(f"\n{len(moments)} stops in a shoot of 6 + 1 frames leave {len(states)} states, {len(wrong)} violations")
    assert wrong == []
    assert len(moments) >= LEAST_STOPS


def test_file_that_the_camera_writes_after_the_restart_goes_to_its_frame(root: Path, moments: list[Moment]) -> None:
    unwritten = [moment for moment in moments if moment.card.unwritten and moment.card.released[-1][0]]
    last_of_two = [moment for moment in unwritten if len(moment.card.released) == 2]
    assert len(last_of_two) >= 3
    assert [one for moment in last_of_two for one in wrong_after(root, moment, Loss.NONE, late=True)] == []


def test_files_half_written_are_never_taken_for_whole(root: Path, moments: list[Moment]) -> None:
    writing = [moment for moment in moments if moment.step.startswith(("write", "create", "fsync", "link", "unlink"))]
    third = [moment for moment in writing if len(moment.card.released) == 3]
    wrong = [
        one
        for moment in third
        for loss in (Loss.TORN, Loss.ZEROES, Loss.OLD_NAMES, Loss.LAST_NAME)
        for one in wrong_after(root, moment, loss)
    ]
    assert third and wrong == []


def test_both_copies_of_each_file_are_made_wherever_the_shoot_was_stopped(root: Path) -> None:
    station = whole_shoot(root, frames=1, twice=True)
    assert violations(station) == []
    station.end()
    states = distinct([(moment, Loss.NONE, False) for moment in station.moments])
    assert [one for moment, loss, _ in states for one in wrong_after(root, moment, loss)] == []


def test_camera_process_killed_at_any_of_its_steps_loses_no_frame(root: Path) -> None:
    """The controller lives on; in each frame the process is killed one step later, until a frame has no such step."""
    station = whole_shoot(root, frames=1)
    station.recording = False
    step = 1
    while station.frame_with_camera_killed(step) >= step:  # a file is closed even so
        assert violations(station) == [], f"killed at step {step}"
        step += 1
    assert step > LEAST_STEPS_OF_A_FRAME
    station.end()


@pytest.mark.parametrize("mishap", MISHAPS)
def test_log_that_goes_from_its_place_at_a_step_of_a_frame_loses_nothing(
    root: Path, mishap: Callable[[Path], object]
) -> None:
    """Every eleventh step; each of them: tests/benchmarks/test_crash_soak.py."""
    step, came_to = 1, True
    while came_to:
        found, came_to = with_mishap(root, mishap, step)
        assert found == [], f"at step {step}"
        step += 11
    assert step > LEAST_STEPS_OF_A_FRAME


@pytest.mark.parametrize("trouble", [killed_after_move, read_only_meanwhile])
def test_log_moved_before_a_kill_or_read_only_from_a_step_on_loses_nothing_once_it_is_back(
    root: Path, trouble: Callable[[Path, int], tuple[list[str], bool]]
) -> None:
    """Every eleventh step; each of them: tests/benchmarks/test_crash_soak.py."""
    step, came_to = 1, True
    while came_to:
        found, came_to = trouble(root, step)
        assert found == [], f"at step {step}"
        step += 11
    assert step > LEAST_STEPS_OF_A_FRAME


def test_standby_copy_is_sound_and_at_most_one_frame_old_after_every_step(root: Path) -> None:
    image = begin(root)
    (root / "copies").mkdir()
    image.folders.add(str(root / "copies"))
    station = Station(root, Card(), image, standby=True)
    station.recording = False
    seen: list[tuple[str, int]] = []

    def look(what: str) -> None:
        (copy,) = (root / "copies").glob("log.sqlite.standby*")
        assert rows(copy, "PRAGMA integrity_check") == [("ok",)], what
        logged = "SELECT count(*) FROM frame WHERE state = 'logged'"
        behind = rows(station.log_path, logged)[0][0] - rows(copy, logged)[0][0]
        seen.append((what, behind))

    station.run()
    station.at_each_step = look
    for _ in range(3):
        station.frame()
        station.wait(1.0)
    station.at_each_step = lambda what: None
    station.end()
    assert len(seen) > 3 * LEAST_STEPS_OF_A_FRAME and {what for what, _ in seen} >= {"commit", "standby"}
    assert max(behind for _, behind in seen) <= 1, seen
    assert seen[-1][1] == 0


def test_stop_in_a_folder_that_is_read_only_afterwards_is_put_right_when_it_may_be_written(
    root: Path, moments: list[Moment]
) -> None:
    """Eight of them; after each stop: tests/benchmarks/test_crash_soak.py."""
    for moment in Random(3).sample(moments, 8):
        assert wrong_when_read_only(root, moment) == []
        assert wrong_after(root, moment, Loss.NONE) == []


def test_stopped_again_while_it_is_put_right(root: Path, moments: list[Moment]) -> None:
    chance = Random(11)
    for moment in chance.sample(moments, 6):
        station = restarted(root, moment, chance.choice([Loss.NONE, Loss.RANDOM]), chance, record=True)
        station.end()
        for second in chance.sample(station.moments, 2):
            assert wrong_after_random(root, second, chance) == []


def wrong_after_random(root: Path, moment: Moment, chance: Random) -> list[str]:
    station = restarted(root, moment, chance.choice([Loss.NONE, Loss.RANDOM]), chance)
    found = violations(station)
    station.frame()
    found += [f"{one} after one more frame" for one in violations(station)]
    station.end()
    return found


@pytest.mark.parametrize("forgotten", ["fsync", "fsync folder"])
def test_program_that_forgets_to_make_files_durable_is_found_out(
    root: Path, forgotten: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The harness itself: a power cut after the last step must show what was not durable."""
    did = RecordedDisk._did

    def without(self: RecordedDisk, operation: Operation) -> None:
        if operation.kind != forgotten:
            did(self, operation)

    monkeypatch.setattr(RecordedDisk, "_did", without)
    station: Station = whole_shoot(root, frames=1)
    assert any("would not outlive a power cut" in one for one in violations(station))
    station.end()


def test_program_that_writes_a_revision_before_its_frame_is_found_out(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The harness itself: between the two steps there is a stop that leaves a revision without a frame."""

    def in_two_steps(self: SqlLog, intent: Intent, place: Place, draft: Revision | None = None) -> None:
        revision_id = intent.revision_id if draft is None else self.save_revision(place, draft)
        begin_frame(self, replace(intent, revision_id=revision_id), place)

    begin_frame = SqlLog.begin_frame
    monkeypatch.setattr(SqlLog, "begin_frame", in_two_steps)
    station = whole_shoot(root, frames=1)
    station.end()
    between = station.moments[[moment.step for moment in station.moments].index("commit") :]
    assert any("a revision has no frame" in one for moment in between for one in wrong_after(root, moment, Loss.NONE))
