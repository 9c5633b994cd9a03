"""Lights together, against scipy: sums of exposures, and a card's fill by integrating over its surface."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad
from scipy.special import logsumexp

from session.lighting.mix import AMBIENT_STOPS_UNDER, ambient_gain_ev, combined_ev, lighting_ratio, reflector_fill

EV = st.floats(-20, 20)


@given(st.lists(EV, min_size=1, max_size=12))
def test_exposures_add_as_light_adds(exposures: list[float]) -> None:
    by_scipy = float(logsumexp(np.array(exposures) * math.log(2))) / math.log(2)
    assert combined_ev(exposures) == pytest.approx(by_scipy, abs=1e-9)
    assert combined_ev(exposures) >= max(exposures) - 1e-12
    assert combined_ev(exposures) == pytest.approx(combined_ev(exposures[::-1]), abs=1e-12)


def test_no_light_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one light"):
        combined_ev([])


@given(EV, EV)
def test_ratio_is_lit_side_over_shadow_side(key_ev: float, fill_ev: float) -> None:
    lit, shadow = combined_ev([key_ev, fill_ev]), fill_ev
    assert math.log2(lighting_ratio(key_ev, fill_ev)) == pytest.approx(lit - shadow, abs=1e-9)


def by_surface(width_mm: float, height_mm: float, distance_mm: float) -> float:
    """Share of what leaves an even Lambertian card that reaches the point before its middle: ∫ cos²θ / (π r²) dA."""

    def piece(y: float, x: float) -> float:
        square = x * x + y * y + distance_mm**2
        return distance_mm**2 / (math.pi * square**2)

    share, _ = dblquad(piece, -width_mm / 2, width_mm / 2, -height_mm / 2, height_mm / 2)
    return float(share)


@pytest.mark.parametrize(
    ("width_mm", "height_mm", "distance_mm"),
    [(100, 100, 100), (200, 50, 60), (50, 200, 60), (300, 20, 40), (60, 60, 600), (1000, 700, 50)],
)
def test_a_cards_fill_is_the_integral_over_its_surface(width_mm: float, height_mm: float, distance_mm: float) -> None:
    wanted = 0.9 * by_surface(width_mm, height_mm, distance_mm)
    assert reflector_fill(0.9, width_mm, height_mm, distance_mm) == pytest.approx(wanted, rel=1e-6)


@given(st.floats(0.05, 1), st.floats(10, 1000), st.floats(10, 1000), st.floats(20, 2000))
def test_a_card_gives_back_less_than_it_gets_and_less_the_farther_it_stands(
    reflectance: float, width_mm: float, height_mm: float, distance_mm: float
) -> None:
    fill = reflector_fill(reflectance, width_mm, height_mm, distance_mm)
    assert 0 < fill < reflectance
    assert reflector_fill(reflectance, width_mm, height_mm, 2 * distance_mm) < fill
    assert reflector_fill(reflectance, height_mm, width_mm, distance_mm) == pytest.approx(fill)


@given(st.floats(0, 12))
def test_ambient_adds_to_the_flash_as_a_second_light_of_so_many_stops_less(stops_under: float) -> None:
    assert ambient_gain_ev(stops_under) == pytest.approx(combined_ev([0.0, -stops_under]), abs=1e-12)


def test_five_stops_under_add_less_than_a_tenth_of_a_stop() -> None:
    """log2(1 + 1/32) = 0.0444."""
    assert ambient_gain_ev(AMBIENT_STOPS_UNDER) == pytest.approx(0.0444, abs=5e-5)
