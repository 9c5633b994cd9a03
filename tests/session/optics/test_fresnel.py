"""What a plate reflects and lets pass: against the sum of its internal reflections, and what energy must do."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.fresnel import (
    CROWN_GLASS_INDEX,
    Polarised,
    brewster_angle_deg,
    plate_reflectance,
    plate_transmittance,
    second_image_strength,
    surface_reflectance,
)
from session.units.quantities import RefusedNumberError

quick = settings(max_examples=30)

angles, indices = st.floats(0, 89), st.floats(1.1, 2.5)


@quick
@given(angle=angles, index=indices)
def test_a_plate_reflects_and_passes_the_sum_of_what_goes_to_and_fro_in_it(angle: float, index: float) -> None:
    """R + T²·R·(1 + R² + R⁴ + …) leaves in front, T²·(1 + R² + …) behind, counted as intensities."""
    one, back, through = (
        surface_reflectance(angle, index),
        plate_reflectance(angle, index),
        plate_transmittance(angle, index),
    )
    for share, reflected, passed in ((one.s, back.s, through.s), (one.p, back.p, through.p)):
        rounds = sum(share ** (2 * n) for n in range(4000))
        assert reflected == pytest.approx(share + (1 - share) ** 2 * share * rounds, abs=2e-3 * share + 1e-9)
        assert passed == pytest.approx((1 - share) ** 2 * rounds, abs=2e-3)


@quick
@given(angle=angles, index=indices)
def test_no_light_is_lost_and_none_is_won(angle: float, index: float) -> None:
    back, through = plate_reflectance(angle, index), plate_transmittance(angle, index)
    assert back.s + through.s == pytest.approx(1) and back.p + through.p == pytest.approx(1)
    assert back.mean + through.mean == pytest.approx(1)
    assert back.s >= back.p - 1e-12, "a plate polarises across the plane of incidence"
    assert 0 <= back.degree_of_polarisation <= 1 and through.degree_of_polarisation <= 1e-12


@quick
@given(index=indices)
def test_straight_on_both_polarisations_are_alike_and_follow_the_handbook(index: float) -> None:
    """((n − 1)/(n + 1))² for one surface at normal incidence. Source: any optics handbook, value from memory."""
    one = surface_reflectance(0, index)
    assert one.s == pytest.approx(one.p) == pytest.approx(((index - 1) / (index + 1)) ** 2)


@quick
@given(index=indices)
def test_at_the_brewster_angle_no_p_light_is_reflected_and_either_side_of_it_some_is(index: float) -> None:
    at_deg = brewster_angle_deg(index)
    assert surface_reflectance(at_deg, index).p == pytest.approx(0, abs=1e-12)
    assert surface_reflectance(at_deg - 1, index).p > 1e-9 and surface_reflectance(at_deg + 1, index).p > 1e-9
    assert plate_reflectance(at_deg, index).degree_of_polarisation == pytest.approx(1)


def test_crown_glass_straight_on_gives_the_four_per_cent_of_every_handbook() -> None:
    assert surface_reflectance(0, CROWN_GLASS_INDEX).mean == pytest.approx(0.042, abs=5e-4)
    assert brewster_angle_deg(CROWN_GLASS_INDEX) == pytest.approx(56.6, abs=0.1)


@quick
@given(angle=angles, index=indices)
def test_the_second_image_is_weaker_than_the_first_by_two_passes(angle: float, index: float) -> None:
    one, second = surface_reflectance(angle, index), second_image_strength(angle, index)
    assert second.s == pytest.approx((1 - one.s) ** 2) and second.s <= second.p + 1e-12


def test_nothing_left_has_no_polarisation() -> None:
    assert Polarised(0.0, 0.0).degree_of_polarisation == 0.0
    assert Polarised(0.3, 0.1).mean == pytest.approx(0.2)
    assert Polarised(0.3, 0.1).degree_of_polarisation == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("angle", "index", "name"), [(90, 1.5, "angle_deg"), (-1, 1.5, "angle_deg"), (45, 1.0, "refractive_index")]
)
def test_grazing_light_and_glass_of_air_are_refused(angle: float, index: float, name: str) -> None:
    with pytest.raises(RefusedNumberError) as refused:
        surface_reflectance(angle, index)
    assert refused.value.name == name and not math.isnan(refused.value.value or 0)
