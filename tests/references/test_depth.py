"""Depth of field against worked values, classical limits and marginal rays. Sources: SOURCES.md."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.optics import arrangement, circle, depth
from tests.support.paraxial_trace import TwoLenses

# f, N, c, m, P, u_E, near, far, exact total, close-up form. D1 from [3] van Walree; the rest derived.
LIMITS = {
    "D1": (100, 11, 0.030, 1, 1, 200, 0.65783, 0.66219, 1.32001, 1.3200),
    "D2": (100, 11, 0.030, 0.5, 1, 300, 1.96702, 1.99315, 3.96017, 3.9600),
    "D3": (100, 11, 0.030, 0.1, 1, 1100, 35.1404, 37.5388, 72.6792, 72.600),
    "D4": (50, 16, 0.030, 0.05, 1, 1050, 169.128, 249.505, 418.632, 403.2),
    "D5": (100, 8, 0.030, 2, 1, 150, 0.17978, 0.18022, 0.36000, 0.3600),
    "D6": (100, 11, 0.030, 1, 0.6, 266.667, 0.87711, 0.88291, 1.76002, 1.7600),
    "D7": (100, 11, 0.030, 1, 1.6, 162.5, 0.53449, 0.53803, 1.07251, 1.0725),
    "D8": (60, 11, 0.015, 0.5, 1, 180, 0.98458, 0.99548, 1.98006, 1.9800),
}
TELEPHOTO = TwoLenses(60, -80, 25, 20)


def traced_blur_mm(system: TwoLenses, f_number: float, m: float, defocus_mm: float) -> float:
    """Blur at the sensor of an axial point so far behind the plane of focus, from its marginal ray."""
    before, behind = system.distances_mm(m)
    ray = system.marginal_ray(before + defocus_mm, behind, system.stop_radius_mm(f_number))
    return float(2 * abs(ray[0]))


@pytest.mark.parametrize("row", LIMITS.values(), ids=LIMITS.keys())
def test_exact_limits_and_close_up_form_match_the_worked_values(row: tuple[float, ...]) -> None:
    f, n, c, m, pupil, u_e, near, far, total, _ = row
    got = depth.depth_of_field(f, n, m, c, pupil)
    assert got.near_mm == pytest.approx(near, rel=1e-4)
    assert got.far_mm == pytest.approx(far, rel=1e-4)
    assert got.depth_mm == pytest.approx(total, rel=1e-5)
    assert arrangement.bare(f, n, m, pupil).entrance_pupil_distance_mm == pytest.approx(u_e, abs=5e-4)


@settings(max_examples=80)
@given(f=st.floats(20, 300), n=st.floats(1.4, 32), c=st.floats(0.002, 0.05), s=st.floats(1.1, 60))
def test_d3_exact_limits_agree_with_the_classical_ones(f: float, n: float, c: float, s: float) -> None:
    # s·f²/(f² ± N·c·(s − f)) for a symmetrical lens, any handbook.
    distance = s * f
    m = f / (distance - f)
    blur_reach = n * c * (distance - f)
    assume(abs(f * f - blur_reach) > 1e-3 * f * f)
    got = depth.depth_of_field(f, n, m, c)
    near = distance - distance * f * f / (f * f + blur_reach)
    assert got.near_mm == pytest.approx(near, rel=1e-7)
    if blur_reach < f * f:
        far = distance * f * f / (f * f - blur_reach) - distance
        assert got.far_mm == pytest.approx(far, rel=1e-7)
    else:
        assert math.isinf(got.far_mm)


def test_d9_marginal_rays_from_both_limits_give_the_blur_circle() -> None:
    # D9. Two-lens system, P = 0.62745, N = 8.
    f, pupil = TELEPHOTO.focal_length_mm, TELEPHOTO.pupil_magnification
    got = depth.depth_of_field(f, 8, 1, 0.030, pupil)
    assert got.near_mm == pytest.approx(0.62110, abs=5e-6)
    assert got.far_mm == pytest.approx(0.62390, abs=5e-6)
    assert got.depth_mm == pytest.approx(1.24501, abs=5e-6)
    assert traced_blur_mm(TELEPHOTO, 8, 1, got.far_mm) == pytest.approx(0.030, rel=1e-9)
    assert traced_blur_mm(TELEPHOTO, 8, 1, -got.near_mm) == pytest.approx(0.030, rel=1e-9)


@settings(max_examples=60)
@given(
    dioptres=st.floats(0.5, 10),
    gap=st.floats(0, 40),
    own=st.floats(0, 1),
    k=st.floats(1, 2),
    defocus=st.floats(0.5, 10) | st.floats(-10, -0.5),
)
def test_blur_through_close_up_lens_and_converter_agrees_with_marginal_rays(
    dioptres: float, gap: float, own: float, k: float, defocus: float
) -> None:
    # A thin 100 mm lens at f/8, its stop in it, behind a thin supplementary lens: traced as two lenses.
    lens = arrangement.with_close_up_lens(arrangement.bare(100, 8, own), dioptres, gap)
    system = TwoLenses(1000 / dioptres, 100, gap, gap)
    before = lens.subject_distance_mm
    behind = 100 * (1 + own)
    ray = system.marginal_ray(before + defocus, behind, 100 / 16)
    assume(2e-4 < 2 * abs(ray[0]) < 2)
    assert system.distances_mm(lens.magnification)[0] == pytest.approx(before, rel=1e-9)
    for seen, circle_mm in ((lens, 2 * abs(ray[0])), (arrangement.with_converter(lens, k), 2 * k * abs(ray[0]))):
        limits = depth.depth_of_lens(seen, circle_mm)
        assert (limits.far_mm if defocus > 0 else -limits.near_mm) == pytest.approx(defocus, rel=1e-7)


def test_d11_far_field_form_is_twice_the_truth_at_life_size() -> None:
    # D11. 2Ncs²/f² says 2.64 mm; it must not be what comes out.
    far_field = 2 * 11 * 0.03 * 200**2 / 100**2
    assert far_field == pytest.approx(2.64)
    assert depth.depth_of_field(100, 11, 1, 0.03).depth_mm == pytest.approx(far_field / 2, rel=1e-4)


def test_d12_depth_with_a_close_up_lens_uses_the_lens_s_own_effective_f_number() -> None:
    # D12. 3.00 mm; 2Nc(1 + m)/m² would say 4.20. The exact total differs from the close-up form by 4e-5.
    lens = arrangement.with_close_up_lens(arrangement.bare(100, 8, 0), 4)
    assert depth.depth_of_lens(lens, 0.03).depth_mm == pytest.approx(3.00, rel=1e-4)


@pytest.mark.parametrize(
    ("wide", "high", "of_1500", "of_1730"),
    [
        (36, 24, 0.0288, 0.0250),
        (23.6, 15.6, 0.0189, 0.0164),
        (17.3, 13, 0.0144, 0.0125),
        (43.8, 32.9, 0.0365, 0.0317),
    ],
    ids=lambda value: f"D14-{value}",
)
def test_blur_circle_as_a_part_of_the_diagonal(wide: float, high: float, of_1500: float, of_1730: float) -> None:
    # D14. [7] Lyon for 1/1500; 1/1730 is a value from memory.
    assert circle.blur_circle_from_diagonal_mm(wide, high) == pytest.approx(of_1500, abs=5.1e-5)
    assert circle.blur_circle_from_diagonal_mm(wide, high, 1730) == pytest.approx(of_1730, abs=5.1e-5)
