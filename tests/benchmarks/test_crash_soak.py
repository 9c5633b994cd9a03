"""Every stop of a shoot with every loss, every lag between the two processes, and 200 double stops; takes minutes.

Run apart: `python -m pytest tests/benchmarks/test_crash_soak.py -s -q --ignore-glob=`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

import pytest

from tests.support.crash_disk import Loss
from tests.support.crash_station import (
    MISHAPS,
    Moment,
    distinct,
    fast_folder,
    killed_after_move,
    read_only_meanwhile,
    restarted,
    violations,
    whole_shoot,
    with_mishap,
    wrong_when_read_only,
)

pytestmark = pytest.mark.timeout(3600)

DOUBLE_STOPS = 200
STOPS_EACH = 4


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    with fast_folder(tmp_path_factory.mktemp("station")) as folder:
        yield folder


@pytest.fixture(scope="module")
def moments(root: Path) -> list[Moment]:
    station = whole_shoot(root)
    station.end()
    return station.moments


def wrong_after(root: Path, moment: Moment, loss: Loss, late: bool, chance: Random | None = None) -> list[str]:
    """Restarted, then with one more frame, then started once more."""
    station = restarted(root, moment, loss, chance, late=late)
    found = violations(station)
    station.recording = True
    station.frame()
    found += [f"{one}, after one more frame" for one in violations(station)]
    station.end()
    again = restarted(root, station.moments[-1], Loss.ALL)
    found += [f"{one}, after another start" for one in violations(again)]
    again.end()
    return [f"{moment.step}, {loss}, late {late}: {one}" for one in found]


def test_every_stop_with_every_loss(root: Path, moments: list[Moment]) -> None:
    losses = [loss for loss in Loss if loss is not Loss.RANDOM]
    stops = [(moment, loss, False) for moment in moments for loss in losses]
    stops += [(moment, Loss.NONE, True) for moment in moments if moment.card.unwritten]
    states = list(distinct(stops))
    wrong = [one for stop in states for one in wrong_after(root, *stop)]
    print(
        f"\n{len(moments)} stops, {len(stops)} with what they may lose, {len(states)} states, {len(wrong)} violations"
    )
    assert wrong == []


def test_every_lag_of_the_controller_behind_the_camera_process(root: Path, moments: list[Moment]) -> None:
    """Within a frame of ours the camera's process may have come to any step while the log has come to any before it.

    Not before the row of the frame: only when that is durable does the camera hear of it.
    """
    stops = []
    for place, moment in enumerate(moments):
        if not moment.card.released or not moment.card.released[-1][0]:
            continue
        begun = place
        while begun and len(moments[begun - 1].card.released) == len(moment.card.released):
            begun -= 1
        stops += [
            (moment.with_log_of(earlier), loss, False)
            for earlier in moments[max(begun - 1, 0) : place]
            for loss in (Loss.NONE, Loss.ALL)
        ]
    states = list(distinct(stops))
    wrong = [one for stop in states for one in wrong_after(root, *stop)]
    print(f"\n{len(stops)} pairs of steps, {len(states)} states, {len(wrong)} violations")
    assert wrong == []


def test_two_hundred_double_stops(root: Path, moments: list[Moment]) -> None:
    chance, wrong = Random(5), []
    for number in range(DOUBLE_STOPS // STOPS_EACH):
        moment, loss = chance.choice(moments), chance.choice([Loss.NONE, Loss.RANDOM])
        station = restarted(root, moment, loss, chance, late=chance.random() < 0.3, record=True)
        station.end()
        for second in chance.choices(station.moments, k=STOPS_EACH):
            found = wrong_after(root, second, chance.choice([Loss.NONE, Loss.RANDOM]), chance.random() < 0.3, chance)
            wrong += [f"{number}: after {moment.step}, {loss}: {one}" for one in found]
    print(f"\n{DOUBLE_STOPS} double stops, {len(wrong)} violations")
    assert wrong == []


@pytest.mark.parametrize("mishap", MISHAPS)
def test_log_that_goes_from_its_place_at_every_step_of_a_frame(root: Path, mishap: Callable[[Path], object]) -> None:
    step, came_to, wrong = 1, True, []
    while came_to:
        found, came_to = with_mishap(root, mishap, step)
        wrong += [f"at step {step}: {one}" for one in found]
        step += 1
    print(f"\n{mishap.__name__} at each of {step - 2} steps of a frame, {len(wrong)} violations")
    assert wrong == []


@pytest.mark.parametrize("trouble", [killed_after_move, read_only_meanwhile])
def test_log_moved_before_a_kill_or_read_only_from_every_step_on(
    root: Path, trouble: Callable[[Path, int], tuple[list[str], bool]]
) -> None:
    step, came_to, wrong = 1, True, []
    while came_to:
        found, came_to = trouble(root, step)
        wrong += [f"at step {step}: {one}" for one in found]
        step += 1
    print(f"\n{trouble.__name__} at each of {step - 2} steps of a frame, {len(wrong)} violations")
    assert wrong == []


def test_read_only_folder_after_every_stop(root: Path, moments: list[Moment]) -> None:
    states = [moment for moment, _, _ in distinct([(moment, Loss.NONE, False) for moment in moments])]
    wrong = [f"{moment.step}: {one}" for moment in states for one in wrong_when_read_only(root, moment)]
    print(f"\nread-only after each of {len(states)} stops, {len(wrong)} violations")
    assert wrong == []
