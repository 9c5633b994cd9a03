"""How long a flash burns: against the area under its exponential fall, summed step by step."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.lighting.duration import (
    EXPONENTIAL_RATIO,
    GAUSSIAN_RATIO,
    decay_time_s,
    duration_at_power_s,
    share_given,
    shutter_loss_ev,
)
from session.units.quantities import RefusedNumberError
from session.units.refusals import ImpossibleNumbersError

quick = settings(max_examples=30)

durations = st.floats(1e-5, 0.05)
KNOWN = {0.0: 0.002, -2.0: 0.0008, -5.0: 0.0002}


@quick
@given(t01=durations)
def test_an_exponential_flash_is_above_a_tenth_and_a_half_of_its_peak_as_long_as_the_standard_counts(
    t01: float,
) -> None:
    tau = decay_time_s(t01)
    assert math.exp(-t01 / tau) == pytest.approx(0.1)
    assert math.exp(-t01 / EXPONENTIAL_RATIO / tau) == pytest.approx(0.5), "t0.5 = t0.1 / 3.32"
    assert pytest.approx(EXPONENTIAL_RATIO) == GAUSSIAN_RATIO**2


@pytest.mark.parametrize("part", [0.1, 0.5, 1.0, 3.0])
def test_the_share_given_is_the_area_under_the_fall(part: float) -> None:
    """Trapezoids under exp(−t/τ) from 0 to t, as a share of the whole area τ."""
    t01, steps = 0.001, 20_000
    tau, end = decay_time_s(t01), part * t01
    heights = [math.exp(-end * n / steps / tau) for n in range(steps + 1)]
    area = (sum(heights) - (heights[0] + heights[-1]) / 2) * end / steps
    assert share_given(end, t01) == pytest.approx(area / tau, rel=1e-6)


def test_by_t01_nine_tenths_of_the_light_are_given() -> None:
    assert share_given(0.001, 0.001) == pytest.approx(0.9)
    assert shutter_loss_ev(0.001, 0.001) == pytest.approx(0.152, abs=5e-4), "−log2 0.9"


@quick
@given(t01=durations, first=st.floats(-1, 1), more=st.floats(0, 1))
def test_light_is_only_ever_added(t01: float, first: float, more: float) -> None:
    early, late = share_given(first, t01), share_given(first + more, t01)
    assert 0 <= early <= late <= 1
    assert shutter_loss_ev(first, t01) >= shutter_loss_ev(first + more, t01) >= 0


@pytest.mark.parametrize("elapsed", [0.0, -0.001, -60.0])
def test_before_the_flash_nothing_was_given(elapsed: float) -> None:
    assert share_given(elapsed, 0.001) == 0.0
    assert math.isinf(shutter_loss_ev(elapsed, 0.001))


def test_a_flash_without_length_gives_all_at_once() -> None:
    assert (share_given(1e-9, 0), share_given(0, 0)) == (1.0, 0.0)


@quick
@given(power=st.floats(-5, 0))
def test_between_known_powers_the_duration_lies_between_the_neighbours(power: float) -> None:
    below, above = max(p for p in KNOWN if p <= power), min(p for p in KNOWN if p >= power)
    assert KNOWN[below] - 1e-12 <= duration_at_power_s(KNOWN, power) <= KNOWN[above] + 1e-12


def test_halfway_in_stops_is_the_geometric_mean_and_a_known_power_its_own() -> None:
    assert duration_at_power_s(KNOWN, -1.0) == pytest.approx(math.sqrt(0.002 * 0.0008))
    for power, t01 in KNOWN.items():
        assert duration_at_power_s(KNOWN, power) == t01


@pytest.mark.parametrize("power", [-5.001, -16.0])
def test_outside_the_known_powers_nothing_is_guessed(power: float) -> None:
    with pytest.raises(ImpossibleNumbersError, match="no flash duration is known on both sides of it"):
        duration_at_power_s(KNOWN, power)


@pytest.mark.parametrize(
    ("known", "said"),
    [
        ({0.0: 0.0}, "duration_t01_s is 0 s, but a flash burns for some time."),
        ({1.0: 0.001}, "power_ev is 1 EV, but must be from -16 to 0 EV."),
        ({0.0: 2.0}, "duration_t01_s is 2 s, but must be from 0 to 0.1 s: was it given in ms?"),
    ],
)
def test_a_table_with_a_number_that_cant_be_meant_is_refused_by_it(known: dict[float, float], said: str) -> None:
    with pytest.raises(RefusedNumberError) as refused:
        duration_at_power_s(known, 0.0)
    assert str(refused.value) == said


def test_an_empty_table_knows_no_power() -> None:
    with pytest.raises(ImpossibleNumbersError, match=r"power_ev is -1 EV, but no flash duration is known"):
        duration_at_power_s({}, -1.0)
