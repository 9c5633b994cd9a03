"""The best opening and the most depth: compared with a plain search over openings, and with each other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.aperture import (
    BEST_MTF50,
    BEST_WAVES,
    Rule,
    best_aperture,
    combined_blur_mm,
    depth_with_diffraction_mm,
    half_contrast_cycles_per_mm,
    most_depth,
    quarter_wave_depth_mm,
)
from session.optics.diffraction import GREEN_UM, airy_diameter_um, mtf50
from session.units.quantities import RefusedNumberError

RULES: tuple[Rule, ...] = ("wave", "rss", "linear")
by_rule = pytest.mark.parametrize("rule", RULES)
quick = settings(max_examples=40)


def blur_at_ends_mm(opening: float, depth_mm: float, magnification: float, rule: Rule) -> float:
    """Total blur at the ends of a depth: half the depth as the image sees it, over the effective f-number."""
    return combined_blur_mm(depth_mm * magnification**2 / (2 * opening), opening, rule=rule)


@by_rule
@pytest.mark.parametrize(("depth_mm", "magnification"), [(1.0, 1.0), (4.0, 0.5), (0.2, 3.0)])
def test_no_other_opening_leaves_less_blur_at_the_ends_of_a_depth(
    depth_mm: float, magnification: float, rule: Rule
) -> None:
    best = best_aperture(depth_mm, magnification, rule=rule)
    openings = [best.effective_f_number * 2 ** (step / 20) for step in range(-40, 41)]
    blurs = [blur_at_ends_mm(opening, depth_mm, magnification, rule) for opening in openings]
    assert min(blurs) >= best.blur_mm * (1 - 1e-5), "the constants have six digits"
    assert blurs.index(min(blurs)) == 40, "the search finds the same opening, to a twentieth of a stop"
    assert blur_at_ends_mm(best.effective_f_number, depth_mm, magnification, rule) == pytest.approx(best.blur_mm, 1e-4)


@by_rule
@quick
@given(blur_mm=st.floats(0.005, 0.2), magnification=st.floats(0.1, 5))
def test_the_most_depth_for_a_blur_and_the_least_blur_for_that_depth_are_the_same_opening(
    rule: Rule, blur_mm: float, magnification: float
) -> None:
    deep = most_depth(blur_mm, magnification, rule=rule)
    back = best_aperture(deep.depth_mm, magnification, rule=rule)
    assert back.effective_f_number == pytest.approx(deep.effective_f_number, rel=1e-6)
    assert back.blur_mm == pytest.approx(blur_mm, rel=1e-6)


@quick
@given(defocus_mm=st.floats(0, 0.5), opening=st.floats(2, 60))
def test_the_two_sums_are_more_pessimistic_than_either_part_and_linear_more_than_rss(
    defocus_mm: float, opening: float
) -> None:
    airy_mm = airy_diameter_um(opening) / 1000
    rss, linear = (combined_blur_mm(defocus_mm, opening, rule=rule) for rule in ("rss", "linear"))
    assert max(defocus_mm, airy_mm) <= rss <= linear == pytest.approx(defocus_mm + airy_mm)
    assert linear <= math.sqrt(2) * rss + 1e-12, "they differ most where both parts are equal"


@quick
@given(opening=st.floats(2, 60), more_mm=st.floats(0.001, 0.3))
def test_more_defocus_never_sharpens(opening: float, more_mm: float) -> None:
    for rule in RULES:
        assert combined_blur_mm(more_mm, opening, rule=rule) >= combined_blur_mm(0, opening, rule=rule)
    soft, sharp = (half_contrast_cycles_per_mm(blur_mm, opening) for blur_mm in (more_mm, 0.0))
    assert soft <= sharp


def test_a_pupil_without_defocus_has_half_contrast_at_four_tenths_of_the_cut_off() -> None:
    """The root of 2/π·(acos x − x·√(1 − x²)) = 1/2, found here by halving; the cut-off is 1/(λ·N)."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        contrast = 2 / math.pi * (math.acos(middle) - middle * math.sqrt(1 - middle**2))
        low, high = (middle, high) if contrast > 0.5 else (low, middle)
    cut_off = 1000 / (GREEN_UM * 11)
    assert half_contrast_cycles_per_mm(0.0, 11.0) == pytest.approx(low * cut_off, rel=1e-3)


def test_the_best_defocus_is_a_maximum_of_depth_and_sharpness_together() -> None:
    """BEST_WAVES is where √W·mtf50(W) is highest; its neighbours are lower, and BEST_MTF50 is the value there."""
    assert mtf50(BEST_WAVES) == pytest.approx(BEST_MTF50, rel=1e-4)
    at_best = math.sqrt(BEST_WAVES) * mtf50(BEST_WAVES)
    for factor in (0.8, 0.9, 1.1, 1.25):
        assert math.sqrt(BEST_WAVES * factor) * mtf50(BEST_WAVES * factor) < at_best


def test_no_focus_step_brings_back_what_diffraction_alone_blurs() -> None:
    """The depth is 0 from the opening on whose blur in focus is the circle itself; just below it some is left."""
    circle_mm = 0.02
    low, high = 1.0, 1000.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if combined_blur_mm(0, middle) < circle_mm else (low, middle)
    assert depth_with_diffraction_mm(high * 1.001, 1.0, circle_mm) == 0
    assert depth_with_diffraction_mm(low * 0.98, 1.0, circle_mm) > 0


@quick
@given(opening=st.floats(2, 20), circle_mm=st.floats(0.02, 0.1), magnification=st.floats(0.1, 5))
def test_depth_with_diffraction_is_where_total_blur_reaches_the_circle(
    opening: float, circle_mm: float, magnification: float
) -> None:
    depth_mm = depth_with_diffraction_mm(opening, magnification, circle_mm)
    if depth_mm > 0:
        assert blur_at_ends_mm(opening, depth_mm, magnification, "wave") == pytest.approx(circle_mm, rel=0.01)
    geometric_mm = 2 * circle_mm * opening / magnification**2
    assert depth_mm <= geometric_mm * 1.2, "and never much more than geometry alone allows"


@pytest.mark.parametrize("wider", [1.4, 2.0])
def test_a_quarter_wave_of_depth_grows_with_the_square_of_the_opening_and_falls_with_that_of_the_ratio(
    wider: float,
) -> None:
    plain = quarter_wave_depth_mm(11.0, 1.0)
    assert quarter_wave_depth_mm(11.0 * wider, 1.0) == pytest.approx(plain * wider**2)
    assert quarter_wave_depth_mm(11.0, wider) == pytest.approx(plain / wider**2)
    assert plain == pytest.approx(4 * GREEN_UM / 1000 * 121), "4·λ·N², Rayleigh"


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: best_aperture(1.0, 0.0), "magnification"),
        (lambda: best_aperture(0.0, 1.0), "depth_mm"),
        (lambda: most_depth(6.0, 1.0), "blur_circle_mm"),
        (lambda: combined_blur_mm(-0.01, 8), "defocus_blur_mm"),
        (lambda: depth_with_diffraction_mm(0.4, 1.0, 0.02), "effective_f_number"),
        (lambda: quarter_wave_depth_mm(8, 1.0, 5.0), "wavelength_um"),
        (lambda: quarter_wave_depth_mm(8, 0.0), "magnification"),
    ],
)
def test_a_number_that_cant_be_meant_is_refused_by_its_name(call: object, name: str) -> None:
    with pytest.raises(RefusedNumberError) as refused:
        call()
    assert refused.value.name == name
