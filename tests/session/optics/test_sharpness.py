"""Blur and depth on the piece against wave optics at the sensor, and against published optima."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from session.optics.aperture import combined_blur_mm, depth_with_diffraction_mm, most_depth
from session.optics.sharpness import blur_at_ends_mm, depth_mm, opening

F_NUMBERS, RATIOS = st.floats(2, 100), st.floats(0.05, 6)
GREEN = 0.55


@given(st.floats(1e-3, 60), F_NUMBERS, RATIOS, st.sampled_from([0.45, 0.55, 0.65]))
def test_blur_on_the_piece_is_the_sensors_blur_brought_back(depth, f_number, ratio, wavelength):
    # a slice of depth d images as defocus discs of d·m²/(2·N_e) at its ends
    geometric = depth * ratio**2 / (2 * f_number)
    assume(geometric < 900 and geometric / (8e-3 * wavelength * f_number) < 9000)
    at_sensor = combined_blur_mm(geometric, f_number, wavelength)
    assert blur_at_ends_mm(depth, opening(f_number, ratio), wavelength) == pytest.approx(at_sensor / ratio, rel=3e-5)


@given(st.floats(3e-3, 0.5), F_NUMBERS, RATIOS)
def test_depth_on_the_piece_is_that_of_the_defocused_transfer_function(blur, f_number, ratio):
    exact = depth_with_diffraction_mm(f_number, ratio, blur * ratio, GREEN)
    assert depth_mm(blur, opening(f_number, ratio), GREEN) == pytest.approx(exact, rel=1e-4, abs=1e-9)


@given(st.floats(3e-3, 0.5), F_NUMBERS, RATIOS)
def test_at_the_ends_of_the_depth_the_blur_is_the_one_allowed(blur, f_number, ratio):
    seen = opening(f_number, ratio)
    depth = depth_mm(blur, seen, GREEN)
    assume(depth > 0)
    assert blur_at_ends_mm(depth, seen, GREEN) == pytest.approx(blur, rel=6e-5)


# T in mm, m, best effective f-number by wave optics, from the maximum of the transfer at half contrast.
@pytest.mark.parametrize(("depth", "ratio", "best"), [(1, 1, 21.90), (2, 1, 30.98), (5, 0.5, 24.49)])
def test_the_least_blur_lies_at_the_published_optimum(depth, ratio, best):
    def blur(f_number):
        return blur_at_ends_mm(depth, opening(f_number, ratio), GREEN)

    assert blur(best) == pytest.approx(minimize_scalar(blur, bounds=(4, 90), method="bounded").fun, rel=1e-4)


def test_the_most_depth_for_a_blur_lies_where_the_closed_form_puts_it():
    found = most_depth(0.03, 0.5)
    seen = opening(found.effective_f_number, 0.5)
    assert depth_mm(0.06, seen, GREEN) == pytest.approx(found.depth_mm, rel=1e-4)
    assert depth_mm(0.06, 0.9 * seen, GREEN) < found.depth_mm > depth_mm(0.06, 1.1 * seen, GREEN)


def test_nothing_is_sharp_where_diffraction_alone_is_larger():
    assert depth_mm(0.01, opening(32, 0.5), GREEN) == 0
