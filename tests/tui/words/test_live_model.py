"""What the screens know of live view: fresh readings only, a trend of half a minute, a look that outlasts a cable."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.moves import FRESH_S, Moves
from session.live.instruments import LiveReading
from session.live.sweep import RANGES
from session.shoot.events import LivePicture
from tests.support.live_pictures import live_jpeg, scene
from tui.words.live_look import LiveLook
from tui.words.live_model import REMEMBERED_S, LiveModel


@pytest.fixture(scope="module")
def reading() -> LiveReading:
    """What the real instruments read from a live frame of the test's photograph."""
    from session.live.instruments import Instruments
    from session.set.setup import Region

    instruments = Instruments()
    instruments.begin(0.0)
    return instruments.see(live_jpeg(scene(), seed=1), 0.1, Region(), pixels_across=1024, limit_px=2.0)


def shown(model: LiveModel, reading: LiveReading, at_s: float, **changes: object) -> None:
    model.take_frame(LivePicture(b"", replace(reading, at_s=at_s, **changes)))  # type: ignore[arg-type]


def test_a_frame_that_no_instrument_has_seen_changes_nothing() -> None:
    model = LiveModel(on=True)
    before = replace(model)
    model.take_frame(LivePicture(b"jpeg"))
    assert model == before


def test_readings_are_those_of_the_newest_picture_that_showed_them(reading: LiveReading) -> None:
    model = LiveModel(on=True)
    shown(model, reading, 1.0)
    assert (model.at_s, model.focus) == (1.0, reading.focus)
    shown(model, reading, 1.1, picture=None, focus=None)
    assert model.at_s == 1.1 and model.focus == reading.focus, "the camera sent one picture twice"


def test_the_trend_goes_half_a_minute_back_and_no_farther(reading: LiveReading) -> None:
    model = LiveModel(on=True)
    for second in range(60):
        shown(model, reading, float(second))
    assert model.trend[0][0] == 59 - REMEMBERED_S and model.trend[-1][0] == 59.0
    assert [at for at, _ in model.trend] == sorted(at for at, _ in model.trend)
    shown(model, reading, 60.0, resized=True)
    assert len(model.trend) == 1, "another size is no measure for the ones before"
    model.forget()
    assert not model.trend


@pytest.mark.parametrize(("later_s", "fresh"), [(0.0, True), (FRESH_S, True), (FRESH_S + 0.1, False)])
def test_motion_that_was_measured_too_long_ago_is_not_told(reading: LiveReading, later_s: float, fresh: bool) -> None:
    model = LiveModel(on=True)
    moves = Moves(1.0, 0.5, 0.6, None, 1.0)
    shown(model, reading, 1.0, moves=moves)
    shown(model, reading, 1.0 + later_s, picture=None, focus=None, moves=None)
    assert (model.seen_moves is moves) is fresh


def test_switching_off_forgets_the_look_and_a_lost_cable_keeps_it(reading: LiveReading) -> None:
    model = LiveModel(on=True)
    model.look.enlarge()
    shown(model, reading, 1.0)
    model.lose()
    assert (model.on, model.at_s, model.focus, model.look.times) == (False, None, None, 1)
    assert model.seen_moves is None and not model.trend
    model.switch(True)
    assert model.look.times == 1
    model.switch(False)
    assert model.look == LiveLook()


def test_ranges_of_a_sweep_go_round() -> None:
    model = LiveModel(sweeps=RANGES[0])
    seen = []
    for _ in range(len(RANGES) + 1):
        seen.append(model.sweeps)
        model.next_range()
    assert seen == [*RANGES, RANGES[0]]
