"""What the drive is worth at the bench: typed before measured, measured today before kept, and ends with their play."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from session.frame.drive_runs import DriveRuns
from session.set.kit import Kit, LensDrive
from session.set.setup import Arrangement, Revision
from session.shoot.events import DriveMeasured, FocusMoved
from tui.bench.mode import BenchPort
from tui.bench.series_drive import SeriesDrive
from tui.words.model import BenchModel

PLAY_STEPS = 30


def measured(**more: Any) -> LensDrive:
    values = {"name": "a", "lens": "close", "magnification": 1.0, "steps_per_mm": 100.0, "play_steps": PLAY_STEPS}
    return LensDrive.model_validate(values | more)


def drive_with(*kept: LensDrive) -> tuple[SeriesDrive, BenchModel]:
    model = BenchModel()
    model.revision = Revision(arrangement=Arrangement("close", 100.0, 1.0))
    return SeriesDrive(cast(BenchPort, SimpleNamespace(model=model, kit=Kit(drive=kept)))), model


def test_what_was_typed_goes_before_what_was_measured_and_today_before_what_the_kit_has() -> None:
    drive, model = drive_with(measured())
    assert (drive.steps_per_mm, drive.play_steps) == (100.0, PLAY_STEPS)
    model.hear(DriveMeasured(measured(steps_per_mm=96.0, play_steps=28)), 0.0)
    assert (drive.steps_per_mm, drive.play_steps) == (96.0, 28)
    drive.typed = 90.0
    assert (drive.steps_per_mm, drive.play_steps) == (90.0, 28), "its play is the drive's own"
    unknown, _ = drive_with()
    assert (unknown.steps_per_mm, unknown.play_steps) == (None, None)


def test_what_was_typed_goes_only_when_a_drive_is_measured_anew() -> None:
    drive, model = drive_with()
    model.hear(DriveMeasured(measured()), 0.0)
    drive.forget_typed_before_measured()
    drive.typed = 90.0
    drive.forget_typed_before_measured()
    assert drive.steps_per_mm == 90.0
    model.hear(DriveMeasured(measured(steps_per_mm=96.0)), 0.0)
    drive.forget_typed_before_measured()
    assert drive.steps_per_mm == 96.0
    drive.typed = 90.0
    model.hear(DriveMeasured(None), 0.0)
    drive.forget_typed_before_measured()
    assert drive.steps_per_mm == 90.0, "kept with the kit"


@pytest.mark.parametrize(
    "moves", [(5, -3, 4, -9, 2), (-40, 35, -35, 40), (10, -10, 10, -10, 10), (50, -20, 20, -20, 7, -7, 30), (3, 4, -1)]
)
@pytest.mark.parametrize("unknown", [1, -1])
def test_the_turns_that_are_kept_tell_the_lag_as_all_moves_do(moves: tuple[int, ...], unknown: int) -> None:
    runs, lag = DriveRuns(), PLAY_STEPS if unknown > 0 else 0
    for steps in moves:
        runs, lag = runs.and_then(steps), min(max(lag + steps, 0), PLAY_STEPS)
        assert runs.lag(PLAY_STEPS, unknown) == lag


@pytest.mark.parametrize(
    ("moves_before", "moves_after", "lens_steps"),
    [
        ((200,), (300,), 300),
        ((200,), (-300,), -270),
        ((-200,), (300,), 270),
        ((200,), (400, -100), 330),
        ((200,), (200, -10), 200),
        ((100, -10), (200,), 190),
    ],
)
def test_the_lens_goes_as_far_as_the_drive_less_the_play_where_it_turned_round(
    moves_before: tuple[int, ...], moves_after: tuple[int, ...], lens_steps: int
) -> None:
    drive, model = drive_with(measured())
    for steps in moves_before:
        model.hear(FocusMoved(steps), 0.0)
    drive.mark("n")
    for steps in moves_after:
        model.hear(FocusMoved(steps), 0.0)
    assert drive.steps_since("n") == lens_steps
    assert drive.steps_since("m") is None
    model.hear(FocusMoved(None), 0.0)
    assert drive.steps_since("n") is None, "after a move that failed nobody knows"
