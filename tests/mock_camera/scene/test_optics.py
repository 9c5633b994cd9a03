"""The mock camera's lens against handbook values, ray traces and an independent optics library."""

import math

import numpy as np
import pytest
from prysm.otf import diffraction_limited_mtf
from scipy import special

from mock_camera.scene.optics import FocusedLens, focus_at, transfer


@pytest.mark.parametrize(
    ("magnification", "pupil_magnification", "effective"),
    # N (1 + m/P); prysm.thinlens.mag_to_fno gives the same three values
    [(1.0, 1.0, 22.0), (1.0, 0.6, 29.3333), (0.5, 1.6, 14.4375)],
)
def test_effective_f_number_at_f11_is_the_handbooks(
    magnification: float, pupil_magnification: float, effective: float
) -> None:
    lens = FocusedLens(magnification, 100.0, pupil_magnification)
    assert focus_at(lens, 11, 0).effective_f_number == pytest.approx(effective, rel=1e-4)


@pytest.mark.parametrize(
    ("focal_length_mm", "f_number", "magnification", "pupil_magnification", "near_mm", "far_mm"),
    # derived, exact depth limits for a blur circle of 0.030 mm; two of them confirmed by marginal rays
    [
        (100, 11, 1.0, 1.0, 0.65783, 0.66219),
        (100, 11, 0.5, 1.0, 1.96702, 1.99315),
        (100, 11, 0.1, 1.0, 35.1404, 37.5388),
        (100, 11, 1.0, 0.6, 0.87711, 0.88291),
        (100, 8, 2.0, 1.0, 0.17978, 0.18022),
    ],
)
def test_blur_circle_at_the_depth_limits_is_the_one_they_are_for(
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    pupil_magnification: float,
    near_mm: float,
    far_mm: float,
) -> None:
    lens = focus_at(FocusedLens(magnification, focal_length_mm, pupil_magnification), f_number, 0)
    assert lens.blur_circle_mm(-near_mm) == pytest.approx(0.030, rel=1e-4)
    assert lens.blur_circle_mm(far_mm) == pytest.approx(0.030, rel=1e-4)


@pytest.mark.parametrize("focus_mm", [-8.0, -1.0, 0.5, 12.0])
def test_blur_circle_away_from_the_focus_is_that_of_marginal_rays(focus_mm: float) -> None:
    # another route: thin lens f=100 at m=0.5 (pupil at the lens), image distances from 1/f = 1/u + 1/v
    f, m, n = 100.0, 0.5, 5.6
    u = f * (1 + 1 / m)
    lens = focus_at(FocusedLens(m, f, 1.0), n, focus_mm)
    sensor = 1 / (1 / f - 1 / (u + focus_mm))
    for away in (-5.0, 0.0, 3.0):
        image = 1 / (1 / f - 1 / (u + away))
        assert lens.blur_circle_mm(away) == pytest.approx(f / n * abs(sensor - image) / image, rel=1e-9)


def test_focusing_ten_millimetres_farther_gives_the_thin_lens_magnification() -> None:
    # f = 100, m = 1, 10 mm farther: m = 0.90909; the image of a still subject scales with v: 190.909 / 200
    lens = focus_at(FocusedLens(1.0, 100.0, 1.0), 11, 10.0)
    assert lens.magnification == pytest.approx(0.90909, abs=1e-5)
    assert lens.scale == pytest.approx(190.909 / 200, rel=1e-5)


def test_airy_disc_is_the_first_zero_of_the_bessel_function() -> None:
    # diameter 29.516 um at N_e 22 and 0.55 um, from the first zero of J1
    lens = focus_at(FocusedLens(), 11, 0)
    assert 2000 * lens.airy_radius_mm == pytest.approx(29.516, rel=1e-4)
    assert lens.airy_radius_mm / (0.55e-3 * 22) == pytest.approx(special.jn_zeros(1, 1)[0] / math.pi, rel=1e-6)


def test_in_focus_transfer_is_the_diffraction_limit_of_prysm() -> None:
    frequency = np.linspace(0, 95, 60)
    expected = diffraction_limited_mtf(22, 0.55, frequencies=frequency)
    assert transfer(frequency, 0.0, 22.0) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(
    ("waves", "values"),
    # Hopkins' overlap integral at s = 0.1, 0.2, 0.3, 0.5, 0.7; derived by quadrature, a pupil FFT agrees
    [
        (0.25, (0.83886, 0.65858, 0.50157, 0.28747, 0.15249)),
        (0.5, (0.74209, 0.43482, 0.22926, 0.08461, 0.07281)),
        (1.0, (0.42665, -0.01441, -0.06952, -0.02007, -0.01730)),
    ],
)
def test_defocused_transfer_is_the_overlap_integral(waves: float, values: tuple[float, ...]) -> None:
    wave_mm = 0.55e-3 * 22
    blur_mm = 8 * waves * wave_mm
    got = transfer(np.array([0.1, 0.2, 0.3, 0.5, 0.7]) / wave_mm, blur_mm, 22.0)
    assert got == pytest.approx(values, abs=1e-4)


def test_far_out_of_focus_the_transfer_is_that_of_a_disc() -> None:
    # 2 J1(x)/x, x = pi c nu; half at c nu = 0.705085
    blur_mm = 0.5
    frequency = np.array([0.2, 0.705085, 1.1, 1.7]) / blur_mm
    x = math.pi * blur_mm * frequency
    assert transfer(frequency, blur_mm, 8.0) == pytest.approx(2 * special.j1(x) / x, abs=0.01)
