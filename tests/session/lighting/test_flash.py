"""The light of one flash: f-number, power and distance undo each other, and every stop costs what a stop costs."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.lighting.flash import (
    calibrated_guide_number_m,
    distance_mm_for,
    f_number,
    guide_number_at_m,
    guide_number_m,
    power_ev_for,
    recycling_time_s,
)
from session.units.quantities import RefusedNumberError
from session.units.refusals import ImpossibleNumbersError

quick = settings(max_examples=30)

guides, distances = st.floats(5, 100), st.floats(100, 3000)
more = {
    "iso": st.sampled_from([50.0, 100.0, 400.0]),
    "magnification": st.floats(0, 3),
    "pupil_magnification": st.floats(0.5, 2),
    "source_size_mm": st.one_of(st.just(0.0), st.floats(10, 800)),
    "loss_ev": st.floats(-1, 4),
    "origin_behind_mm": st.floats(0, 200),
}


@quick
@given(gn=guides, distance=distances, power=st.floats(-8, 0), rest=st.fixed_dictionaries(more))
def test_f_number_power_and_distance_are_one_equation(
    gn: float, distance: float, power: float, rest: dict[str, float]
) -> None:
    number = f_number(gn, distance, power, **rest)
    assume(0.5 <= number <= 128)
    assert power_ev_for(number, gn, distance, **rest) == pytest.approx(power, abs=1e-6)
    assert distance_mm_for(number, gn, power, **rest) == pytest.approx(distance, rel=1e-6)


@quick
@given(gn=guides, distance=distances)
def test_far_away_the_guide_number_is_f_number_times_distance(gn: float, distance: float) -> None:
    """Its definition in ISO 1230: ISO 100, full power, a small source, nothing close up."""
    number = f_number(gn, distance)
    assert number * distance / 1000 == pytest.approx(gn)
    if 0.5 <= number <= 4000:
        assert guide_number_m(number, distance) == pytest.approx(gn)


@pytest.mark.parametrize(
    ("change", "stops"),
    [
        ({"power_ev": -2.0}, -2.0),
        ({"iso": 400.0}, 2.0),
        ({"loss_ev": 1.5}, -1.5),
        ({"magnification": 1.0}, -2.0),  # N(1 + m): two stops at life size
        ({"magnification": 1.0, "pupil_magnification": 2.0}, -2 * math.log2(1.5)),
    ],
)
def test_what_a_change_costs_in_stops(change: dict[str, float], stops: float) -> None:
    plain, changed = f_number(32, 1000), f_number(32, 1000, **change)
    assert 2 * math.log2(changed / plain) == pytest.approx(stops)


@quick
@given(gn=guides, distance=distances, size=st.floats(10, 2000))
def test_a_large_source_gives_less_than_its_guide_number_and_never_more(
    gn: float, distance: float, size: float
) -> None:
    assert f_number(gn, distance, source_size_mm=size) < f_number(gn, distance)


def test_a_light_that_seems_to_stand_farther_back_gives_as_one_that_stands_there() -> None:
    assert f_number(32, 500, origin_behind_mm=200) == pytest.approx(f_number(32, 700))


def test_a_source_too_large_to_give_enough_even_at_the_piece_is_refused_with_what_it_can() -> None:
    """A 1000 mm disc of guide number 8 gives f/16 at the piece: 8 m over its radius of 0.5 m."""
    assert distance_mm_for(15.9, 8, source_size_mm=1000) > 0
    with pytest.raises(ImpossibleNumbersError) as refused:
        distance_mm_for(16, 8, source_size_mm=1000)
    assert str(refused.value) == "f_number is 16, but this light gives at most f/16 however near it stands."


@quick
@given(gn=guides, off=st.floats(-3, 3))
def test_a_calibrated_light_gives_the_exposure_that_was_measured(gn: float, off: float) -> None:
    corrected = calibrated_guide_number_m(gn, off)
    assert 2 * math.log2(f_number(corrected, 1000) / f_number(gn, 1000)) == pytest.approx(off)
    assert calibrated_guide_number_m(corrected, -off) == pytest.approx(gn)


def test_a_calibration_out_of_this_world_is_refused_after_it_was_worked_out() -> None:
    with pytest.raises(RefusedNumberError, match=r"guide_number_m is 1600 m, but must be from 0\.1 to 500 m"):
        calibrated_guide_number_m(100, 8)


@pytest.mark.parametrize(("power_ev", "time_s"), [(0, 2.0), (-1, 1.0), (-2, 0.5), (-7, 2 / 128)])
def test_half_the_power_takes_half_the_time_to_be_back(power_ev: float, time_s: float) -> None:
    assert recycling_time_s(2.0, power_ev) == pytest.approx(time_s)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: f_number(32, 0.6), "distance_mm"),
        (lambda: f_number(32, 600, 0.1), "power_ev"),
        (lambda: guide_number_at_m(36_000), "guide_number_m"),
        (lambda: power_ev_for(0.1, 32, 600), "f_number"),
        (lambda: f_number(32, 600, source_size_mm=1.0), "source_size_mm"),
        (lambda: recycling_time_s(-1, 0), "full_recycling_time_s"),
    ],
)
def test_a_number_that_cant_be_meant_is_refused_by_its_name(call: object, name: str) -> None:
    with pytest.raises(RefusedNumberError) as refused:
        call()
    assert refused.value.name == name


def test_without_pupils_given_a_lens_at_life_size_costs_two_stops() -> None:
    """N_e = 2 N for equal pupils; the defaults of all three questions are those of the plainest lens and light."""
    assert f_number(40.0, 1000.0, magnification=1.0) == pytest.approx(20.0)
    assert power_ev_for(20.0, 40.0, 1000.0, magnification=1.0) == pytest.approx(0.0)
    assert distance_mm_for(20.0, 40.0, magnification=1.0) == pytest.approx(1000.0)
    assert f_number(40.0, 1000.0) == pytest.approx(40.0)
