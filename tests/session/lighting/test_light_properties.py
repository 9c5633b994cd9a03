"""What must hold for flash, sync and mixed light whatever the numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.lighting import cautions, duration, flash, mix, source, sync

quick = settings(max_examples=60)
guide_numbers = st.floats(5, 80)
distances = st.floats(100, 3000)
powers = st.floats(-8, 0)
ratios = st.floats(0, 4)
pupils = st.floats(0.5, 2)
sizes = st.one_of(st.just(0.0), st.floats(20, 1500))
losses = st.floats(-2, 5)
travels = st.floats(0.001, 0.1)
delays = st.floats(0, 0.002)


@quick
@given(gn=guide_numbers, d=distances, power=powers, m=ratios, p=pupils, size=sizes, loss=losses)
def test_power_to_distance_to_power(
    gn: float, d: float, power: float, m: float, p: float, size: float, loss: float
) -> None:
    near = {"iso": 200.0, "magnification": m, "pupil_magnification": p, "source_size_mm": size, "loss_ev": loss}
    n = flash.f_number(gn, d, power, **near)
    assume(0.5 <= n <= 128)
    assert flash.power_ev_for(n, gn, d, **near) == pytest.approx(power, abs=1e-9)
    assert flash.distance_mm_for(n, gn, power, **near) == pytest.approx(d, rel=1e-6)


@quick
@given(gn=guide_numbers, d=distances, power=st.floats(-8, -1), size=sizes)
def test_stops_mean_the_same_for_power_iso_loss_and_distance(gn: float, d: float, power: float, size: float) -> None:
    base = flash.f_number(gn, d, power, source_size_mm=size)
    one_stop = [
        flash.f_number(gn, d, power + 1, source_size_mm=size),
        flash.f_number(gn, d, power, 200, source_size_mm=size),
        flash.f_number(gn, d, power, loss_ev=-1, source_size_mm=size),
        flash.f_number(gn * math.sqrt(2), d, power, source_size_mm=size),
        flash.f_number(gn, d / math.sqrt(2), power, source_size_mm=size / math.sqrt(2)),
    ]
    assert one_stop == pytest.approx([base * math.sqrt(2)] * 5, rel=1e-9)


@quick
@given(gn=guide_numbers, error=st.floats(-3, 3), d=st.floats(700, 3000))
def test_calibrated_guide_number_foretells_the_measured_frame(gn: float, error: float, d: float) -> None:
    # The frame was taken at the f-number foretold and came out `error` stops too bright.
    foretold = flash.f_number(gn, d)
    assume(0.5 <= foretold * 2 ** (error / 2) <= 128)
    right = flash.f_number(flash.calibrated_guide_number_m(gn, error), d)
    assert 2 * math.log2(right / foretold) == pytest.approx(error, abs=1e-9)


@quick
@given(near=distances, times=st.floats(1.01, 10), size=sizes)
def test_large_source_gains_less_by_moving_closer(near: float, times: float, size: float) -> None:
    far = near * times
    gain = source.distance_change_ev(far, near, size)
    assert 0 < gain <= source.distance_change_ev(far, near) + 1e-12
    assert source.distance_change_ev(near, far, size) == pytest.approx(-gain, abs=1e-12)
    small = source.distance_change_ev(far, near)
    errors = source.inverse_square_error_ev(size, near) - source.inverse_square_error_ev(size, far)
    assert gain == pytest.approx(small + errors, abs=1e-9)


@quick
@given(wide=st.floats(50, 1500), high=st.floats(50, 1500), d=distances)
def test_rectangle_and_disc_of_equal_area_meet_far_away(wide: float, high: float, d: float) -> None:
    far = 20 * max(wide, high)
    disc = source.disc_view_factor(2 * math.sqrt(wide * high / math.pi), far)
    assert source.rectangle_view_factor(wide, high, far) == pytest.approx(disc, rel=2e-3)
    assert 0 < source.rectangle_view_factor(wide, high, d) < 1


@quick
@given(exposures=st.lists(st.floats(-10, 10), min_size=1, max_size=6))
def test_lights_add_and_none_takes_away(exposures: list[float]) -> None:
    total = mix.combined_ev(exposures)
    assert max(exposures) - 1e-12 <= total <= max(exposures) + math.log2(len(exposures)) + 1e-12


@quick
@given(travel=travels, delay=delays, extra=st.floats(0, 0.05))
def test_nothing_is_dark_at_or_below_sync(travel: float, delay: float, extra: float) -> None:
    fastest = sync.fastest_exposure_s(travel, delay)
    assert sync.dark_share(fastest + extra, travel, delay) == 0
    assert sync.sync_margin_ev(fastest + extra, travel, delay) >= 0


@quick
@given(travel=travels, delay=delays, t=st.floats(0.0001, 0.2), shorter=st.floats(0.05, 0.999))
def test_dark_share_only_grows_as_the_exposure_time_shortens(
    travel: float, delay: float, t: float, shorter: float
) -> None:
    longer_dark, shorter_dark = sync.dark_share(t, travel, delay), sync.dark_share(t * shorter, travel, delay)
    assert 0 <= longer_dark <= shorter_dark <= 1
    if 0 < longer_dark < 1:
        assert shorter_dark > longer_dark
    assert sync.dark_share(t, travel, delay) <= sync.dark_share(t, travel, delay + 0.001)


@quick
@given(travel=travels, delay=delays, t=st.floats(0.0005, 0.2), t01=st.floats(0.0002, 0.005))
def test_loss_falls_along_the_travel_and_is_whole_over_the_dark_share(
    travel: float, delay: float, t: float, t01: float
) -> None:
    place = (np.arange(2000) + 0.5) / 2000
    loss = sync.loss_along_frame_ev(place, t, travel, delay, t01)
    finite = loss[np.isfinite(loss)]
    assert np.all(np.diff(finite) <= 1e-12)
    assert np.mean(np.isinf(loss)) == pytest.approx(sync.dark_share(t, travel, delay), abs=1e-3)
    assert np.all(finite >= 0)
    assert sync.edge_loss_ev(t, travel, delay, t01) >= (loss[0] if len(loss) else 0) - 1e-12


@quick
@given(travel=travels, delay=delays, t01=st.floats(0.0002, 0.005))
def test_fastest_exposure_costs_the_edge_a_tenth(travel: float, delay: float, t01: float) -> None:
    fastest = sync.fastest_exposure_s(travel, delay, t01)
    assert 1 - 2 ** -sync.edge_loss_ev(fastest, travel, delay, t01) == pytest.approx(0.1, rel=1e-6)


@quick
@given(travel=travels, t=st.floats(0.0001, 0.1))
def test_burst_over_the_whole_travel_never_gives_more_than_all(travel: float, t: float) -> None:
    share = sync.high_speed_sync_share(t, travel)
    slit = sync.slit_share(t, travel)
    assert 0 < share < 1
    assert share == pytest.approx(slit / (1 + slit), rel=1e-9)


def test_flash_without_length_is_there_or_not() -> None:
    assert duration.share_given(0.001, 0.0) == 1
    assert duration.share_given(-0.001, 0.0) == 0
    assert list(sync.loss_along_frame_ev([0.0, 1.0], 0.002, 0.003, 0.0, 0.0)) == [math.inf, 0.0]
    assert math.isinf(duration.shutter_loss_ev(0.0, 0.002))


@quick
@given(power=st.floats(-7, 0))
def test_duration_between_known_powers_lies_between_theirs(power: float) -> None:
    known = {0.0: 1 / 300, -3.0: 1 / 2000, -7.0: 1 / 15000}
    got = duration.duration_at_power_s(known, power)
    assert min(known.values()) * (1 - 1e-12) <= got <= max(known.values()) * (1 + 1e-12)
    assert got >= duration.duration_at_power_s(known, max(power - 0.5, -7.0)) * (1 - 1e-12)
    for at, value in known.items():
        assert duration.duration_at_power_s(known, at) == value


@quick
@given(full=st.floats(0.1, 10), power=st.floats(-8, -1))
def test_each_stop_halves_the_charging_time(full: float, power: float) -> None:
    assert flash.recycling_time_s(full, power + 1) == pytest.approx(2 * flash.recycling_time_s(full, power), rel=1e-12)
    assert flash.recycling_time_s(full, 0) == full


def test_cautions_end_with_who_has_the_last_word() -> None:
    said = cautions.cautions_for("glass", "capacitor")
    assert said == (cautions.CAUTIONS["capacitor"], cautions.CAUTIONS["glass"], cautions.LAST_WORD)
    with pytest.raises(ValueError, match="no known hazard"):
        cautions.cautions_for("dragons")
