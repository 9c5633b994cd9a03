"""Effective f-number and exposure increase against handbooks, prysm and marginal rays. Sources: SOURCES.md."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from prysm import thinlens

from session.optics import arrangement, closeup
from tests.support.paraxial_trace import TwoLenses

# m, then factor and stops at P = 1, 0.6 and 1.6.
FACTORS = [
    (0.1, 1.1000, 0.275, 1.1667, 0.445, 1.0625, 0.175),
    (0.2, 1.2000, 0.526, 1.3333, 0.830, 1.1250, 0.340),
    (0.25, 1.2500, 0.644, 1.4167, 1.005, 1.1563, 0.419),
    (0.5, 1.5000, 1.170, 1.8333, 1.749, 1.3125, 0.785),
    (0.75, 1.7500, 1.615, 2.2500, 2.340, 1.4688, 1.109),
    (1, 2.0000, 2.000, 2.6667, 2.830, 1.6250, 1.401),
    (1.5, 2.5000, 2.644, 3.5000, 3.615, 1.9375, 1.908),
    (2, 3.0000, 3.170, 4.3333, 4.231, 2.2500, 2.340),
    (3, 4.0000, 4.000, 6.0000, 5.170, 2.8750, 3.047),
    (4, 5.0000, 4.644, 7.6667, 5.877, 3.5000, 3.615),
    (5, 6.0000, 5.170, 9.3333, 6.445, 4.1250, 4.089),
]

RETROFOCUS = TwoLenses(-90, 45, 40, 38)


def traced_effective_f_number(system: TwoLenses, f_number: float, m: float, stop_radius_mm: float) -> float:
    """1/(2·slope) of the marginal ray at the sensor."""
    before, behind = system.distances_mm(m)
    return float(1 / (2 * abs(system.marginal_ray(before, behind, stop_radius_mm)[1])))


@pytest.mark.parametrize("row", FACTORS, ids=lambda row: f"table-1.2-m{row[0]}")
def test_exposure_increase_matches_the_table(row: tuple[float, ...]) -> None:
    # [1] Greivenkamp, p. 29, with m positive; (1 + m)² at P = 1 in [5], [6].
    m = row[0]
    for pupil, factor, stops in zip((1.0, 0.6, 1.6), row[1::2], row[2::2], strict=True):
        assert closeup.effective_f_number(8, m, pupil) / 8 == pytest.approx(factor, abs=5.1e-5)
        assert closeup.exposure_increase_ev(m, pupil) == pytest.approx(stops, abs=5e-4)


@pytest.mark.parametrize(
    ("m", "times"), [(0.5, 2.25), (1, 4), (2, 9)], ids=["handbook-1:2", "handbook-1:1", "handbook-2:1"]
)
def test_handbook_exposure_factors_hold_for_a_symmetrical_lens(m: float, times: float) -> None:
    # [5] Focal Press textbook: x2 1/4 at m = 0.5. [6] reference article: x4 at 1:1, x9 at 2:1.
    assert 2 ** closeup.exposure_increase_ev(m) == pytest.approx(times, rel=1e-12)


@settings(max_examples=80)
@given(f_number=st.floats(1, 64), m=st.floats(0, 10), pupil=st.floats(0.2, 5))
def test_effective_f_number_agrees_with_prysm(f_number: float, m: float, pupil: float) -> None:
    want = thinlens.mag_to_fno(m, f_number, pupil)
    assert closeup.effective_f_number(f_number, m, pupil) == pytest.approx(want, rel=1e-12)


@pytest.mark.parametrize(
    ("m", "pupil", "expected"), [(1, 1, 22), (1, 0.6, 29.3333), (0.5, 1.6, 14.4375)], ids=["1.2a", "1.2b", "1.2c"]
)
def test_effective_f_number_at_f11(m: float, pupil: float, expected: float) -> None:
    # Worked with prysm.thinlens.mag_to_fno.
    assert closeup.effective_f_number(11, m, pupil) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("pupil", "factor", "stops"), [(0.6, 3.6667, 3.749), (1.6, 2.625, 2.785)], ids=["E1-0.6", "E1-1.6"]
)
def test_reversed_lens_factor_at_two_to_one(pupil: float, factor: float, stops: float) -> None:
    # E1. Derived; the handbook form is from memory.
    lens = arrangement.reversed_lens(50, 8, 2, pupil)
    assert lens.effective_f_number / 8 == pytest.approx(factor, abs=5e-5)
    assert 2 * math.log2(lens.effective_f_number / 8) == pytest.approx(stops, abs=5e-4)


def test_e1_reversed_lens_agrees_with_a_marginal_ray() -> None:
    # E1. Marginal-ray trace: 9.3750, where N(1 + mP) would say 13.95 and N(1 + m/P) 10.69.
    f, pupil = RETROFOCUS.focal_length_mm, RETROFOCUS.pupil_magnification
    traced = traced_effective_f_number(RETROFOCUS.reversed(), 8, 0.5, RETROFOCUS.stop_radius_mm(8))
    assert traced == pytest.approx(9.3750, abs=5e-4)
    lens = arrangement.reversed_lens(f, 8, 0.5, pupil)
    assert lens.effective_f_number == pytest.approx(traced, rel=1e-9)
    before, _ = RETROFOCUS.reversed().distances_mm(0.5)
    pupil_distance = before + RETROFOCUS.reversed().entrance_pupil_behind_first_mm
    assert lens.entrance_pupil_distance_mm == pytest.approx(pupil_distance, rel=1e-9)


@settings(max_examples=60)
@given(
    first=st.floats(30, 120),
    second=st.floats(30, 120),
    gap=st.floats(5, 25),
    stop=st.floats(0.1, 0.9),
    m=st.floats(0.1, 4),
    turned=st.booleans(),
)
def test_effective_f_number_agrees_with_marginal_rays_either_way_round(
    first: float, second: float, gap: float, stop: float, m: float, turned: bool
) -> None:
    straight = TwoLenses(first, second, gap, stop * gap)
    system = straight.reversed() if turned else straight
    make = arrangement.reversed_lens if turned else arrangement.bare
    lens = make(straight.focal_length_mm, 8, m, straight.pupil_magnification)
    traced = traced_effective_f_number(system, 8, m, straight.stop_radius_mm(8))
    assert lens.effective_f_number == pytest.approx(traced, rel=1e-9)


@pytest.mark.parametrize(("own", "m", "expected"), [(0, 0.4, 8.0), (0.25, 0.75, 10.0)], ids=["E2a", "E2b"])
def test_close_up_lens_adds_no_factor_of_its_own(own: float, m: float, expected: float) -> None:
    # E2. Combined-lens f-number, then (1 + m).
    lens = arrangement.with_close_up_lens(arrangement.bare(100, 8, own), 4)
    assert lens.magnification == pytest.approx(m, rel=1e-12)
    assert lens.effective_f_number == pytest.approx(expected, rel=1e-12)
    assert lens.f_number * (1 + m) == pytest.approx(expected, rel=1e-12)
    assert lens.f_number == pytest.approx(8 / (1 + 100 / 250), rel=1e-12)


def test_e3_converter_multiplies_the_effective_f_number_once() -> None:
    # E3. 24, not 16·(1 + 1) = 32.
    lens = arrangement.with_converter(arrangement.bare(100, 8, 0.5), 2)
    assert lens.magnification == 1
    assert lens.effective_f_number == pytest.approx(24, rel=1e-12)


@pytest.mark.parametrize(("front", "expected"), [(1.4, 8.0), (2.8, 11.2)], ids=["E4-rear", "E4-front"])
def test_narrower_beam_of_a_stacked_pair_decides(front: float, expected: float) -> None:
    # E4. Beam diameter argument, m = 4.
    assert arrangement.stacked_lenses(200, 8, 50, front).effective_f_number == pytest.approx(expected, rel=1e-12)
