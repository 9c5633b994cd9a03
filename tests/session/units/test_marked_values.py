"""Engraved values against the series that they round: thirds of a stop, whole stops by ISO 516 and ISO 517."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.units.marked_values import (
    MARKED_EXPOSURES_S,
    MARKED_F_NUMBERS,
    STEPS_PER_EV,
    exposure_at_least_s,
    f_numbers_between,
)

HALF_A_STEP_EV = 1 / STEPS_PER_EV / 2
"""An engraved value is nearer to its own third of a stop than to another: f/1.2 for 1.26 is the farthest, 0.14 EV."""

WHOLE_F_NUMBERS = (1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0, 32.0, 45.0, 64.0)
WHOLE_PARTS_OF_A_SECOND = (8000, 4000, 2000, 1000, 500, 250, 125, 60, 30, 15, 8, 4)
"""The series of ISO 517 and ISO 516 (values from memory)."""


def test_every_f_number_is_a_third_of_a_stop_from_the_one_before_but_for_rounding() -> None:
    for number, marked in enumerate(MARKED_F_NUMBERS):
        true = 2 ** (number / STEPS_PER_EV / 2)
        assert abs(2 * math.log2(marked / true)) < HALF_A_STEP_EV, marked


def test_every_exposure_time_is_a_third_of_a_stop_from_the_one_before_but_for_rounding() -> None:
    steps = [math.log2(longer / shorter) for shorter, longer in pairwise(MARKED_EXPOSURES_S)]
    assert all(abs(step - 1 / STEPS_PER_EV) < HALF_A_STEP_EV for step in steps)
    whole = math.log2(MARKED_EXPOSURES_S[-1] / MARKED_EXPOSURES_S[0])
    assert whole == pytest.approx((len(MARKED_EXPOSURES_S) - 1) / STEPS_PER_EV, abs=HALF_A_STEP_EV)


def test_whole_stops_of_the_standards_are_among_them() -> None:
    assert set(WHOLE_F_NUMBERS) <= set(MARKED_F_NUMBERS)
    assert {1 / part for part in WHOLE_PARTS_OF_A_SECOND} | {1.0, 2.0, 4.0, 8.0, 15.0, 30.0} <= set(MARKED_EXPOSURES_S)


@given(st.floats(1, 64), st.floats(1, 64))
def test_f_numbers_between_two_are_those_in_the_interval(one: float, other: float) -> None:
    widest, smallest = sorted((one, other))
    found = f_numbers_between(widest, smallest)
    assert list(found) == sorted(found)
    surely = {number for number in MARKED_F_NUMBERS if widest <= number <= smallest}
    slack = 2**0.051  # a tenth of a stop on either side, and a little
    perhaps = {number for number in MARKED_F_NUMBERS if widest / slack <= number <= smallest * slack}
    assert surely <= set(found) <= perhaps


@given(st.floats(1e-5, 60))
def test_the_marked_time_is_long_enough_and_the_one_before_is_not(seconds: float) -> None:
    found = exposure_at_least_s(seconds)
    assert found in MARKED_EXPOSURES_S
    assert found >= seconds * 0.995 or found == MARKED_EXPOSURES_S[-1]
    place = MARKED_EXPOSURES_S.index(found)
    assert place == 0 or MARKED_EXPOSURES_S[place - 1] < seconds


def test_a_kit_that_rounds_its_time_gets_the_marked_one() -> None:
    assert exposure_at_least_s(0.0167) == 1 / 60
    assert exposure_at_least_s(0.0168) == 1 / 50
