"""Diffraction, combined blur and the best aperture against prysm, scipy and an FFT. Sources: SOURCES.md."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from prysm import otf, psf, thinlens
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar
from scipy.special import j1, jn_zeros

from session.optics import aperture, closeup, diffraction

AIRY_MM = 2 * float(jn_zeros(1, 1)[0]) / math.pi * 0.55e-3


def overlap_transfer(s: float, waves: float) -> float:
    """Defocused transfer as the area integral of the overlap of two pupils, by scipy."""
    value, _ = quad(lambda x: math.sqrt(1 - (x + s) ** 2) * math.cos(8 * math.pi * waves * s * x), 0, 1 - s, limit=200)
    return 4 / math.pi * float(value)


def fft_transfer(waves: float, radius: int = 128) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(s, transfer) along one axis from the autocorrelation of a sampled pupil."""
    size = 8 * radius
    y, x = np.mgrid[-size // 2 : size // 2, -size // 2 : size // 2] / radius
    square = x**2 + y**2
    pupil = np.where(square <= 1, np.exp(2j * np.pi * waves * square), 0)
    spread = np.abs(np.fft.fft2(np.fft.ifftshift(pupil))) ** 2
    transfer = np.fft.ifft2(spread).real
    row = transfer[0, : 2 * radius] / transfer[0, 0]
    return np.arange(2 * radius) / (2 * radius), row


@pytest.mark.parametrize(
    ("n_e", "expected"), [(16.5, 22.137), (22, 29.516), (32, 42.932), (33, 44.274)], ids=lambda v: f"X1-{v}"
)
def test_airy_diameter_is_the_first_zero_of_j1(n_e: float, expected: float) -> None:
    # X1. First zero of J1 by scipy; prysm's Airy pattern is dark there.
    assert diffraction.airy_diameter_um(n_e) == pytest.approx(expected, abs=5e-4)
    assert diffraction.airy_diameter_um(n_e) == pytest.approx(1000 * AIRY_MM * n_e, rel=1e-11)
    radius = np.array([diffraction.airy_diameter_um(n_e) / 2])
    assert float(psf.airydisk(radius, n_e, 0.55)[0]) == pytest.approx(0, abs=1e-15)


@pytest.mark.parametrize(
    ("m", "n", "expected"), [(0.5, 11, 44.27), (2, 11, 22.14), (5, 5.6, 9.016)], ids=["X2a", "X2b", "X2c"]
)
def test_airy_diameter_on_the_piece(m: float, n: float, expected: float) -> None:
    # X2. X1 over m.
    effective = closeup.effective_f_number(n, m)
    assert diffraction.airy_diameter_on_piece_um(effective, m) == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize(
    ("s", "expected"),
    [(0.1, 0.87289), (0.2, 0.74706), (0.25, 0.68504), (0.3, 0.62384), (0.5, 0.39100), (0.7, 0.18812)],
    ids=lambda v: f"X4-{v}",
)
def test_in_focus_transfer_at_printed_points(s: float, expected: float) -> None:
    # X4. Goodman, Introduction to Fourier Optics, from memory.
    assert float(diffraction.transfer_defocused(s, 0.0)) == pytest.approx(expected, abs=5.1e-6)
    assert float(diffraction.transfer_defocused(s, 0.0)) == pytest.approx(expected, abs=5.1e-6)


def test_x4_in_focus_transfer_agrees_with_prysm_over_the_whole_band() -> None:
    cut_off = diffraction.cut_off_cycles_per_mm(22)
    assert cut_off == pytest.approx(82.645, abs=5e-4)
    frequencies = np.linspace(0.01, 0.999, 200) * cut_off
    want = otf.diffraction_limited_mtf(22, 0.55, frequencies=frequencies)
    assert diffraction.transfer_defocused(frequencies / cut_off, 0.0) == pytest.approx(want, abs=1e-5)


def test_x4_half_and_tenth_contrast() -> None:
    # X4. Roots by scipy.
    tenth = brentq(lambda s: float(diffraction.transfer_defocused(s, 0.0)) - 0.1, 0.5, 1)
    assert tenth == pytest.approx(0.805384, abs=5e-7)
    assert diffraction.mtf50(0.0) == pytest.approx(0.403973, abs=5e-7)
    assert aperture.half_contrast_cycles_per_mm(0.0, 22) == pytest.approx(33.386, abs=1e-3)


def test_x5_defocus_in_waves_is_image_shift_and_blur_in_other_units() -> None:
    # X5. [9] prysm. A shift of the sensor spreads a point by itself over the effective f-number.
    shift_um = thinlens.defocus_to_image_displacement(0.25, 22, 0.55)
    assert shift_um == pytest.approx(532.4, abs=5e-2)
    waves = diffraction.defocus_waves(shift_um / 22 / 1000, 22)
    assert waves == pytest.approx(0.25, rel=1e-9)
    assert waves == pytest.approx(thinlens.image_displacement_to_defocus(shift_um, 22, 0.55), rel=1e-9)


DEFOCUSED = {
    0.25: [0.83886, 0.65858, 0.50157, 0.28747, 0.15249],
    0.5: [0.74209, 0.43482, 0.22926, 0.08461, 0.07281],
    1.0: [0.42665, -0.01441, -0.06952, -0.02007, -0.01730],
}


@pytest.mark.parametrize("waves", DEFOCUSED, ids=lambda v: f"X6-{v}")
def test_defocused_transfer_at_printed_points(waves: float) -> None:
    # X6. Hopkins 1955, from memory; two methods.
    got = diffraction.transfer_defocused([0.1, 0.2, 0.3, 0.5, 0.7], waves)
    assert got == pytest.approx(DEFOCUSED[waves], abs=1e-5)


@settings(max_examples=60)
@given(s=st.floats(0, 0.999), waves=st.floats(0, 6))
def test_x6_defocused_transfer_agrees_with_an_area_integral(s: float, waves: float) -> None:
    assert float(diffraction.transfer_defocused(s, waves)) == pytest.approx(overlap_transfer(s, waves), abs=1e-7)


@pytest.mark.parametrize("waves", [0.0, 0.25, 0.5, 1.0], ids=lambda v: f"X6-fft-{v}")
def test_defocused_transfer_agrees_with_the_fft_of_a_pupil(waves: float) -> None:
    s, want = fft_transfer(waves)
    assert diffraction.transfer_defocused(s, waves) == pytest.approx(want, abs=2e-3)


def test_x6_far_defocus_meets_the_geometric_disc() -> None:
    # At 40 waves and frequencies far below the cut-off the overlap integral is 2·J1(x)/x.
    x = np.linspace(0.1, 3, 30)
    s = x / (8 * 40)
    assert diffraction.transfer_defocused(s, 40.0) == pytest.approx(diffraction.transfer_of_disc(x), abs=6e-3)


@pytest.mark.parametrize(
    ("waves", "expected"),
    [(0, 0.40397), (0.25, 0.30113), (0.5, 0.17652), (1, 0.08948), (2, 0.04451)],
    ids=lambda v: f"X7-{v}",
)
def test_half_contrast_against_defocus(waves: float, expected: float) -> None:
    # X7. From X6; the root again by scipy on the area integral.
    assert diffraction.mtf50(waves) == pytest.approx(expected, abs=5.1e-6)
    root = brentq(lambda s: overlap_transfer(s, waves) - 0.5, 1e-6, 1.1 * expected)
    assert diffraction.mtf50(waves) == pytest.approx(root, rel=1e-7)


def test_x9_disc_transfer_agrees_with_the_bessel_function() -> None:
    # X9. scipy.special.j1.
    x = np.concatenate([np.linspace(1e-6, 5, 200), [20.0, 80.0]])
    want = 2 * j1(np.pi * x) / (np.pi * x)
    assert diffraction.transfer_of_disc(x) == pytest.approx(want, abs=1e-9)
    root = brentq(lambda v: 2 * j1(math.pi * v) / (math.pi * v) - 0.5, 0.5, 1.0, xtol=1e-13)
    assert root == pytest.approx(0.705085, abs=5e-7)
    assert pytest.approx(root, rel=1e-10) == diffraction.DISC_MTF50


def test_x9_disc_has_a_standard_deviation_of_a_quarter_of_its_diameter() -> None:
    # Near zero a transfer function falls as 1 − 2π²σ²ν².
    tiny = 1e-3
    fall = 1 - float(diffraction.transfer_of_disc(tiny))
    assert math.sqrt(fall / (2 * math.pi**2)) / tiny == pytest.approx(0.25, rel=1e-5)


def test_x10_root_sum_square_is_pessimistic() -> None:
    # X10. Objection to root-sum-square in [10].
    assert 1000 * aperture.combined_blur_mm(0.030, 16.5, rule="rss") == pytest.approx(37.28, abs=5e-3)
    predicted = {0: 0.2890, 0.25: 0.2235, 0.5: 0.1505, 1: 0.0843}
    true = {0: 0.4040, 0.25: 0.3011, 0.5: 0.1765, 1: 0.0895}
    unit_mm = 0.55e-3 * 22
    for waves, expected in predicted.items():
        defocus = 8 * waves * unit_mm
        by_rss = diffraction.DISC_MTF50 * unit_mm / aperture.combined_blur_mm(defocus, 22, rule="rss")
        by_waves = diffraction.DISC_MTF50 * unit_mm / aperture.combined_blur_mm(defocus, 22)
        assert by_rss == pytest.approx(expected, abs=5.1e-5)
        assert by_waves == pytest.approx(true[waves], abs=5.1e-5)
    product = brentq(
        lambda s: float(diffraction.transfer_defocused(s, 0.0) * diffraction.transfer_of_disc(8 * 0.25 * s)) - 0.5,
        0.1,
        0.4,
    )
    assert product == pytest.approx(0.2475, abs=5.1e-5)


@pytest.mark.parametrize(
    ("t", "m", "n_e", "n", "blur"),
    [
        (5, 0.5, 21.58, 14.39, 0.0410),
        (2, 1, 27.30, 13.65, 0.0518),
        (1, 1, 19.30, 9.65, 0.0366),
        (10, 0.25, 15.26, 12.21, 0.0290),
    ],
    ids=["X11a", "X11b", "X11c", "X11d"],
)
def test_best_aperture_for_a_depth_by_root_sum_square(t: float, m: float, n_e: float, n: float, blur: float) -> None:
    # X11. Hansma 1996, from memory; the minimum again by scipy.
    best = aperture.best_aperture(t, m, rule="rss")
    assert best.effective_f_number == pytest.approx(n_e, abs=5.1e-3)
    assert best.blur_mm == pytest.approx(blur, abs=5.1e-5)
    shift = t * m * m / 2
    found = minimize_scalar(
        lambda k: math.hypot(shift / k, AIRY_MM * k), bounds=(1, 100), method="bounded", options={"xatol": 1e-8}
    )
    assert best.effective_f_number == pytest.approx(float(found.x), rel=1e-5)
    assert best.blur_mm == pytest.approx(float(found.fun), rel=1e-9)


def test_x11_the_published_constant_of_the_square_root_rule() -> None:
    # X11. Hansma 1996, value from memory: N_e = √(375·ΔV), ΔV at the sensor, at 1/750 mm of diffraction per f-number.
    assert math.sqrt(375 * 1) == pytest.approx(19.36, abs=5e-3)
    wavelength_um = 1000 / 750 / diffraction.AIRY_FACTOR
    best = aperture.best_aperture(1, 1, wavelength_um, rule="rss")
    assert best.effective_f_number == pytest.approx(19.36, abs=5e-3)


@pytest.mark.parametrize(
    ("t", "m", "n_e"), [(1, 1, 21.90), (2, 1, 30.98), (5, 0.5, 24.49)], ids=["X12a", "X12b", "X12c"]
)
def test_best_aperture_for_a_depth_by_wave_optics(t: float, m: float, n_e: float) -> None:
    # X12. The maximum of half contrast at the ends of the depth, again by scipy on the area integral.
    best = aperture.best_aperture(t, m)
    assert best.effective_f_number == pytest.approx(n_e, rel=1e-3)
    shift = t * m * m / 2

    def half_contrast(k: float) -> float:
        waves = shift / (8 * k * k * 0.55e-3)
        return float(brentq(lambda s: overlap_transfer(s, waves) - 0.5, 1e-5, 0.42, xtol=1e-12)) / (0.55e-3 * k)

    found = minimize_scalar(
        lambda k: -half_contrast(k), bounds=(0.6 * n_e, 1.6 * n_e), method="bounded", options={"xatol": 1e-4}
    )
    assert best.effective_f_number == pytest.approx(float(found.x), rel=1e-3)
    got = aperture.half_contrast_cycles_per_mm(shift / best.effective_f_number, best.effective_f_number)
    assert got == pytest.approx(-float(found.fun), rel=1e-6)


def test_x12_the_wave_optimum_against_root_sum_square() -> None:
    # X12. 0.365 stop smaller opening, 2.5 % more half contrast.
    wave = aperture.best_aperture(1, 1)
    rss = aperture.best_aperture(1, 1, rule="rss")
    assert wave.effective_f_number / rss.effective_f_number == pytest.approx(1.1348, rel=1e-3)
    assert 2 * math.log2(wave.effective_f_number / rss.effective_f_number) == pytest.approx(0.365, abs=1e-3)
    waves = diffraction.defocus_waves(0.5 / wave.effective_f_number, wave.effective_f_number)
    assert waves == pytest.approx(0.2368, rel=1e-3)
    assert diffraction.mtf50(waves) == pytest.approx(0.30972, rel=1e-3)
    rss_waves = diffraction.defocus_waves(0.5 / rss.effective_f_number, rss.effective_f_number)
    assert rss_waves == pytest.approx(0.3050, abs=1e-4)
    at_wave = aperture.half_contrast_cycles_per_mm(0.5 / wave.effective_f_number, wave.effective_f_number)
    at_rss = aperture.half_contrast_cycles_per_mm(0.5 / rss.effective_f_number, rss.effective_f_number)
    assert at_wave == pytest.approx(25.71, abs=1e-2)
    assert at_rss == pytest.approx(25.08, abs=1e-2)


@pytest.mark.parametrize(
    ("m", "n", "depth_mm"), [(0.5, 10.54, 2.683), (1, 7.904, 0.6706), (2, 5.269, 0.1677)], ids=["X13a", "X13b", "X13c"]
)
def test_most_depth_for_a_blur_by_root_sum_square(m: float, n: float, depth_mm: float) -> None:
    # X13. The maximum of 2·N_e·√(C² − (2.44·λ·N_e)²)/m², again by scipy. Printed with 2.44 for 2.43934.
    most = aperture.most_depth(0.030, m, rule="rss")
    assert most.effective_f_number == pytest.approx(15.807, rel=4e-4)
    assert most.depth_mm == pytest.approx(depth_mm, rel=4e-4)
    found = minimize_scalar(
        lambda k: -2 * k * math.sqrt(0.030**2 - (AIRY_MM * k) ** 2) / m**2, bounds=(1, 22), method="bounded"
    )
    assert most.depth_mm == pytest.approx(-float(found.fun), rel=1e-8)


def test_x14_blurs_added_linearly_leave_half_the_depth() -> None:
    # X14. Derived. Printed with 2.44 for 2.43934.
    linear = aperture.most_depth(0.030, 1, rule="linear")
    assert linear.effective_f_number == pytest.approx(11.177, rel=4e-4)
    assert linear.depth_mm == pytest.approx(0.3353, rel=4e-4)
    assert linear.depth_mm == pytest.approx(aperture.most_depth(0.030, 1, rule="rss").depth_mm / 2, rel=1e-9)
    assert aperture.combined_blur_mm(0.015, linear.effective_f_number, rule="linear") == pytest.approx(0.030, rel=1e-9)


@pytest.mark.parametrize("m", [0.25, 1.0, 2.5])
def test_most_depth_by_wave_optics_is_the_maximum_over_all_openings(m: float) -> None:
    # Derived with X12; the maximum again by scipy over the depth that keeps the total blur.
    most = aperture.most_depth(0.030, m)
    found = minimize_scalar(
        lambda k: -aperture.depth_with_diffraction_mm(k, m, 0.030), bounds=(5, 31), method="bounded"
    )
    assert most.depth_mm == pytest.approx(-float(found.fun), rel=1e-5)
    assert most.effective_f_number == pytest.approx(float(found.x), rel=2e-3)


def test_x15_quarter_wave_depth() -> None:
    # X15. Rayleigh's criterion, from memory; the same as the close-up form with c = 2·λ·N_e.
    assert aperture.quarter_wave_depth_mm(22, 1) == pytest.approx(1.0648, rel=1e-9)
