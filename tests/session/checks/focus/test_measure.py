"""Blur against a reference: discs of known radius, light, noise and coding, and closed forms.

Photographs are scikit-image's own; the discs are made with scipy's Bessel function.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage, special

from session.checks.focus.measure import PatchEnergies, detectability, patch_energies, relative_blur
from session.optics.diffraction import transfer_of_disc
from session.picture.noise import noise_of
from tests.support.made_pictures import blurred, coded, coding_steps, photograph, relit, shadowed, through_jpeg

MIDDLE = (slice(60, 252), slice(150, 342))
HELD_OUT = ("coffee.png", "motorcycle_left.png", "gravel.png")
"""Pictures on which no constant of the measure was chosen."""


def frame(light: np.ndarray, *, noise: float = 2.0, quality: int = 92, seed: int = 0) -> np.ndarray:
    return through_jpeg(coded(light, noise_codes=noise, seed=seed), quality)


def energies(picture: np.ndarray, quality: int = 92) -> PatchEnergies:
    steps = coding_steps(quality)
    return patch_energies(picture, [MIDDLE], noise_of(picture, steps), steps)


def radius(reference: np.ndarray, other: np.ndarray, quality: int = 92) -> float:
    return float(relative_blur(energies(reference), energies(other, quality)).radius_px[0])


@pytest.mark.parametrize("blur_px", [1.0, 2.0, 3.0, 4.0, 6.0])
@pytest.mark.parametrize("name", HELD_OUT)
def test_disc_is_measured_within_15_percent_or_04_px(name: str, blur_px: float) -> None:
    light = photograph(name)
    found = radius(frame(light), frame(blurred(light, blur_px), seed=1))
    assert abs(found - blur_px) <= max(0.4, 0.15 * blur_px)


@pytest.mark.parametrize("name", HELD_OUT)
@pytest.mark.parametrize(
    "change",
    [{"ev": 0.8}, {"ev": -1.0}, {"across_ev": 1.5, "down_ev": -1.0}, {"ev": -0.5, "across_ev": -2.0}],
)
def test_light_alone_is_no_blur_and_doesnt_hide_one(name: str, change: dict[str, float]) -> None:
    light = 0.5 * photograph(name)
    reference = frame(light)
    assert -0.8 <= radius(reference, frame(relit(light, **change), seed=1)) <= 0.5
    assert radius(reference, frame(relit(blurred(light, 2.0), **change), seed=1)) == pytest.approx(2.0, abs=0.4)


@pytest.mark.parametrize("noise", [0.0, 1.0, 4.0, 6.0])
@pytest.mark.parametrize("quality", [80, 95])
def test_noise_and_coding_are_no_blur_and_dont_hide_one(noise: float, quality: int) -> None:
    light = photograph("coffee.png")
    reference = frame(light, noise=2.0)
    # quality 80 takes fine detail itself: an eighth of the energy beyond 0.2 cycles/px, as 0.6 px would
    most_px = 0.65 if quality == 80 else 0.5
    assert abs(radius(reference, frame(light, noise=noise, quality=quality, seed=1), quality)) <= most_px
    soft = frame(blurred(light, 2.0), noise=noise, quality=quality, seed=1)
    assert radius(reference, soft, quality) == pytest.approx(2.0, abs=0.4)


def test_sharper_than_the_reference_counts_as_negative() -> None:
    light = photograph("coffee.png")
    found = radius(frame(blurred(light, 3.0)), frame(light, seed=1))
    assert found == pytest.approx(-3.0, abs=0.4)


def test_two_blurs_add_as_squares_of_radii() -> None:
    """To second order in frequency a disc acts by its variance r²/4: √(3² − 2²) = 2.24. Derived."""
    light = photograph("motorcycle_left.png")
    found = radius(frame(blurred(light, 2.0)), frame(blurred(light, 3.0), seed=1))
    assert found == pytest.approx(np.sqrt(5), abs=0.5)


def test_one_striped_patch_is_predicted_at_its_own_frequency() -> None:
    """Hard stripes 9 px apart: all energy at 1/9 and 3/9 cycles/px, where a mean over the band would miss it."""
    stripes = photograph("camera.png")[:320, :500] * np.where(np.arange(500) % 9 < 5, 1.0, 0.4)[None]
    found = radius(frame(stripes), frame(blurred(stripes, 2.0), seed=1))
    assert found == pytest.approx(2.0, abs=0.4)


@pytest.mark.parametrize("sigma_px", [0.6, 1.0, 1.5])
def test_energies_of_gaussian_blurred_texture_fall_as_the_closed_form(sigma_px: float) -> None:
    """MTF of a Gaussian is exp(−2π²σ²ν²) (Fourier pair); energy its square, for every bin with signal left."""
    light = 0.4 + 0.05 * np.random.default_rng(8).standard_normal((512, 512))
    sharp = coded(light, noise_codes=0)
    soft = coded(np.fft.ifft2(ndimage.fourier_gaussian(np.fft.fft2(light), sigma_px)).real, noise_codes=0)
    window = [(slice(128, 384), slice(128, 384))]
    before, after = (patch_energies(picture, window, 0.0) for picture in (sharp, soft))
    wanted = np.exp(-4 * np.pi**2 * sigma_px**2 * before.frequency**2)
    measured = after.energy[0] / before.energy[0]
    signal = wanted > 0.05
    signal &= before.modes > 30
    assert signal.sum() > 10
    assert np.abs(np.log(measured[signal] / wanted[signal])).mean() < 0.08


def test_energy_of_pure_noise_is_the_noise_that_the_model_expects() -> None:
    """White noise of variance σ² has energy σ² per mode in an orthonormal transform; here relative to the mean."""
    flat = coded(np.full((256, 256), 0.2), noise_codes=4.0, seed=3)
    found = patch_energies(flat, [(slice(0, 256), slice(0, 256))], 16 + 1 / 12)
    measured = (found.energy[0] * found.modes).sum() / found.modes.sum()
    assert measured == pytest.approx(float(found.noise[0]), rel=0.1)


def test_disc_of_the_model_is_the_bessel_function() -> None:
    """2·J1(x)/x by scipy; x = 2π·f·r, so r = 1.3, f = 0.21."""
    x = 2 * np.pi * 0.21 * 1.3
    assert float(transfer_of_disc(2 * 1.3 * 0.21)) == pytest.approx(2 * special.j1(x) / x, abs=1e-9)


def test_detail_decides_whether_a_blur_would_show() -> None:
    """A textured patch shows 2 px, a flat one doesn't, nor does a preview an eighth of the size."""
    textured = frame(photograph("coffee.png"))
    flat = frame(
        np.full((320, 500), 0.3) + 0.002 * ndimage.gaussian_filter(np.random.default_rng(0).random((320, 500)), 9)
    )
    known = []
    for picture, limit_px in ((textured, 2.0), (flat, 2.0), (textured, 0.25)):
        found = energies(picture)
        known.append(detectability(found, found, limit_px))
    assert known[0] > 4
    assert known[1] < 1
    assert known[2] < 1


def test_uncertainty_grows_with_noise_and_covers_the_error() -> None:
    """Noise of 8 codes leaves less to see than 1 code, and errors stay within three of what is claimed."""
    light = photograph("gravel.png")
    known = []
    for noise in (1.0, 8.0):
        reference = energies(frame(light, noise=noise))
        known.append(detectability(reference, reference, 1.0))
        found = relative_blur(reference, energies(frame(blurred(light, 1.5), noise=noise, seed=1)))
        assert abs(float(found.radius_px[0]) - 1.5) < max(3 * float(found.sd_px[0]), 0.3)
    assert known[1] < known[0] / 1.3


def test_shadow_over_part_of_the_patch_is_no_blur() -> None:
    light = photograph("coffee.png")
    assert abs(radius(frame(light), frame(shadowed(light, "bottom", 0.6, 2.0, 0.1), seed=1))) <= 0.6
