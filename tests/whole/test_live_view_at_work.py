"""The instruments over the real libgphoto2: a sweep by the camera's own drive, and a release that waits for rest.

Truth is asked of the simulated camera's hands, which the instruments know nothing of.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame.series_plane import MovedBy, SeriesToRun
from session.live.sweep import Range
from session.rules.stillness_rules import still_limit_px
from session.set.setup import Confirmation, Region
from session.shoot.acts import AskRelease, Revise, RunSeries, SweepFocus, Touched, TurnFocus
from session.shoot.events import FileArrived, FocusMoved, Said, SeriesChanged, SeriesPhase, Waiting
from session.units.ids import new_id
from tests.support.live_hands import depth_mm
from tests.support.live_shoot import LiveShoot
from tests.support.mock_process import MockCamera

PIXELS = (1536, 1024)
PLAY_STEPS = 30
AWAY_MM = 0.9


@pytest.fixture(scope="module")
def mock() -> Iterator[MockCamera]:
    with MockCamera("--pixels", f"{PIXELS[0]}x{PIXELS[1]}") as mock:
        yield mock


@pytest.fixture
def live(tmp_path: Path, mock: MockCamera) -> Iterator[LiveShoot]:
    mock.reset()
    left, top, width, height = mock.hands("state")["table"]["region"]
    region = Region(left / PIXELS[0], top / PIXELS[1], width / PIXELS[0], height / PIXELS[1])
    with LiveShoot(tmp_path, mock.address) as live:
        live.do(Revise({"region": region, "confirmed": (Confirmation.BY_STILLNESS,)}))
        yield live
        assert live.broken == []


def test_sweep_comes_back_to_the_best_focus_and_keeps_its_peak(live: LiveShoot, mock: MockCamera) -> None:
    mock.hands("backlash", steps=PLAY_STEPS)
    mock.hands("turn_focus", mm=AWAY_MM)
    live.do(SweepFocus(Range()))
    live.until(lambda event: isinstance(event, Said) and event.text.startswith("In focus"))
    quarter_mm = 0.25 * depth_mm(float(mock.hands("state")["table"]["magnification"]))
    assert abs(float(mock.hands("look")["defocus_mm"])) <= quarter_mm
    assert live.shoot.live.peaks.kept_peak() is not None


def test_release_waits_until_the_touched_stand_is_at_rest(live: LiveShoot, mock: MockCamera) -> None:
    """The touch is told as well, so that the timer waits where the machine is too slow for live view to judge."""
    limit_px = still_limit_px(live.shoot.shoot_state.revision)
    mock.hands("touch", strength_um=60, frequency_hz=6, damping_ratio=0.03)
    assert float(mock.hands("look")["shake_left_px"]) > 2 * limit_px
    live.do(Touched(), AskRelease())
    live.until(lambda event: isinstance(event, Waiting) and event.reason == "hold-off")
    arrived = live.until(lambda event: isinstance(event, FileArrived))
    assert isinstance(arrived, FileArrived)
    truth = mock.hands("truth", object=Path(arrived.file.card.name).stem)
    assert math.hypot(*truth["shake_shift_px"]) <= limit_px


def test_live_view_goes_on_after_a_release(live: LiveShoot, mock: MockCamera) -> None:
    live.do(AskRelease())
    live.until(lambda event: isinstance(event, FileArrived))
    live.until_read(lambda reading: reading.picture is not None)


def test_a_series_by_the_cameras_drive_has_each_plane_where_it_was_planned(live: LiveShoot, mock: MockCamera) -> None:
    """From a side that the play falsifies: the drive came to the first plane from the far side."""
    step_mm = float(mock.hands("state")["table"]["step_mm"])
    mock.hands("backlash", steps=PLAY_STEPS)
    live.do(Revise({"confirmed": (), "hold_off_s": 0.0}), TurnFocus(2 * PLAY_STEPS), TurnFocus(-2 * PLAY_STEPS))
    for _ in range(2):
        live.until(lambda event: isinstance(event, FocusMoved))
    began_mm = float(mock.hands("look")["defocus_mm"])
    series = SeriesToRun(
        new_id(), 3, 0.4, 0.5, MovedBy.DRIVE, steps_per_mm=1 / step_mm, play_steps=PLAY_STEPS, run_up_steps=100
    )
    live.do(RunSeries(series, series.planes_mm, 0.0))
    truly_mm = []
    for _ in series.planes_mm:
        arrived = live.until(lambda event: isinstance(event, FileArrived))
        assert isinstance(arrived, FileArrived)
        truth = mock.hands("truth", object=Path(arrived.file.card.name).stem)
        truly_mm.append(abs(float(truth["defocus_mm"]) - began_mm))
    live.until(lambda event: isinstance(event, SeriesChanged) and event.phase is SeriesPhase.JUDGING)
    assert truly_mm == [pytest.approx(mm, abs=2 * step_mm) for mm in series.planes_mm]
