"""What the shutter cuts off the flash: against a picture whose rows are each opened and closed by themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.lighting.sync import (
    dark_band_side,
    dark_share,
    edge_loss_ev,
    fastest_exposure_s,
    high_speed_sync_share,
    loss_along_frame_ev,
    slit_share,
    sync_margin_ev,
)
from session.units.refusals import ImpossibleNumbersError

quick = settings(max_examples=30)

exposures, travels, delays = st.floats(1e-4, 0.02), st.floats(5e-4, 0.01), st.floats(0, 0.003)


def rows_open(exposure_s: float, travel_s: float, at_s: float, rows: int = 4000) -> np.ndarray:
    """Which rows are open at a moment: row y opens at y·T_c and closes t later."""
    y = (np.arange(rows) + 0.5) / rows
    return (y * travel_s <= at_s) & (at_s < y * travel_s + exposure_s)


@quick
@given(t=exposures, travel=travels, delay=delays)
def test_the_dark_share_is_what_an_instant_flash_finds_closed(t: float, travel: float, delay: float) -> None:
    """The flash goes off when the first curtain has arrived, and the delay later."""
    lit = rows_open(t, travel, travel + delay)
    assert dark_share(t, travel, delay) == pytest.approx(1 - lit.mean(), abs=1e-3)


@quick
@given(t=exposures, travel=travels, delay=delays, t01=st.floats(1e-5, 0.005))
def test_the_loss_grows_along_the_travel_towards_where_the_second_curtain_begins(
    t: float, travel: float, delay: float, t01: float
) -> None:
    places = np.linspace(0, 1, 9)
    loss = loss_along_frame_ev(places, t, travel, delay, t01)
    assert loss.shape == places.shape and np.all(loss >= 0)
    assert np.all(loss[:-1] >= loss[1:] - 1e-9)
    assert loss[0] == pytest.approx(edge_loss_ev(t, travel, delay, t01), rel=1e-6, abs=1e-9)


@quick
@given(t=exposures, travel=travels, delay=delays)
def test_a_flash_without_length_is_there_or_not(t: float, travel: float, delay: float) -> None:
    loss = loss_along_frame_ev(np.linspace(0, 1, 50), t, travel, delay, 0.0)
    assert set(np.unique(loss)) <= {0.0, np.inf}
    dark = float(np.mean(np.isinf(loss)))
    assert dark == pytest.approx(dark_share(t, travel, delay), abs=0.03)


@quick
@given(travel=travels, delay=delays, t01=st.floats(0, 0.005))
def test_at_the_fastest_time_an_edge_keeps_nine_tenths_and_just_under_it_less(
    travel: float, delay: float, t01: float
) -> None:
    fastest = fastest_exposure_s(travel, delay, t01)
    assert sync_margin_ev(fastest, travel, delay, t01) == pytest.approx(0)
    if t01 > 1e-6:
        assert edge_loss_ev(fastest, travel, delay, t01) == pytest.approx(-math.log2(0.9), rel=1e-3)
        assert edge_loss_ev(fastest * 0.99, travel, delay, t01) > edge_loss_ev(fastest, travel, delay, t01)
    assert sync_margin_ev(fastest * 2, travel, delay, t01) == pytest.approx(1)


@pytest.mark.parametrize(
    ("t", "dark", "slit"), [(0.003, 0.0, 1.0), (0.0015, 0.5, 0.5), (0.00075, 0.75, 0.25), (0.006, 0.0, 2.0)]
)
def test_half_the_time_leaves_half_the_frame_dark(t: float, dark: float, slit: float) -> None:
    assert dark_share(t, 0.003) == pytest.approx(dark)
    assert slit_share(t, 0.003) == pytest.approx(slit)


@quick
@given(t=exposures, travel=travels)
def test_a_burst_over_the_whole_travel_lights_every_row_alike_and_costs_the_slit(t: float, travel: float) -> None:
    """Each row is open for t of a burst that lasts from the first opening to the last closing, T_c + t."""
    assert high_speed_sync_share(t, travel) == pytest.approx(t / (travel + t))
    assert 0 < high_speed_sync_share(t, travel) < 1


@pytest.mark.parametrize(
    ("downward", "early", "side"),
    [(True, False, "bottom"), (True, True, "top"), (False, False, "top"), (False, True, "bottom")],
)
def test_the_band_lies_where_the_image_standing_on_its_head_has_it(downward: bool, early: bool, side: str) -> None:
    assert dark_band_side(downward, early) == side


@pytest.mark.parametrize("place", [-0.01, 1.01, math.nan])
def test_a_place_off_the_frame_is_refused_with_its_number(place: float) -> None:
    with pytest.raises(ImpossibleNumbersError, match=r"^a place is at .*must be from 0 to 1 along"):
        loss_along_frame_ev([0.0, place], 0.004, 0.003, 0, 0.001)


def test_any_shape_of_places_is_answered_in_that_shape() -> None:
    for shape in ((), (3,), (2, 2)):
        assert loss_along_frame_ev(np.full(shape, 0.5), 0.004, 0.003, 0, 0.001).shape == shape
