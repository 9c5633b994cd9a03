"""The noise of a picture, and what JPEG coding left of it."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from skimage.restoration import estimate_sigma

from session.picture.jpeg import luma_steps
from session.picture.noise import MEDIAN_TO_SD, noise_of
from tests.support.made_pictures import blurred, coded, coding_steps, jpeg_bytes, photograph, through_jpeg


@pytest.mark.parametrize("sigma", [1.0, 5.0, 12.0])
def test_noise_of_a_flat_field_is_that_put_in(sigma: float) -> None:
    """White noise of variance σ², and 1/12 for rounding (derived); scikit-image's wavelet estimate beside it."""
    flat = coded(np.full((512, 768), 0.25), noise_codes=sigma, seed=1)
    assert noise_of(flat) == pytest.approx(sigma**2 + 1 / 12, rel=0.12)
    assert noise_of(flat) == pytest.approx(float(estimate_sigma(flat.astype(float))) ** 2, rel=0.15)


@pytest.mark.parametrize("quality", [80, 88, 92, 95])
@pytest.mark.parametrize("sigma", [2.0, 4.0, 6.0])
@pytest.mark.parametrize("name", ["", "camera.png"])
def test_noise_before_coding_is_never_taken_for_less(quality: int, sigma: float, name: str) -> None:
    """Coding at quality 80 leaves a fortieth of it in flat places; the estimate stays over what went in, and
    comes near where some of it survives. Independent route: the coder itself."""
    light = photograph(name, (768, 512)) if name else np.full((512, 768), 0.25)
    left = through_jpeg(coded(blurred(light, 2.0) if name else light, noise_codes=sigma, seed=1), quality)
    found = noise_of(left, coding_steps(quality))
    assert found > 0.75 * sigma**2
    if quality >= 92 and sigma >= 4:
        assert found < 1.4 * sigma**2


def test_textured_picture_counts_as_noisier_never_as_cleaner() -> None:
    gravel = coded(photograph("gravel.png"), noise_codes=2.0)
    assert noise_of(gravel) > 4


@pytest.mark.parametrize("quality", [50, 80, 92, 100])
def test_quantisation_steps_are_read_as_another_decoder_reads_them(quality: int) -> None:
    data = jpeg_bytes(np.zeros((16, 16), np.uint8), quality=quality)
    assert luma_steps(data) == coding_steps(quality)


def test_steps_of_a_cut_header_are_unknown() -> None:
    data = jpeg_bytes(np.zeros((16, 16), np.uint8))
    assert luma_steps(data[:40]) == ()


def test_median_of_deviations_times_its_factor_is_the_standard_deviation() -> None:
    """By the normal distribution of the standard library, and by numbers drawn."""
    assert pytest.approx(1 / NormalDist().inv_cdf(0.75), abs=1e-4) == MEDIAN_TO_SD
    drawn = np.random.default_rng(5).normal(0, 2.0, 100_000)
    assert MEDIAN_TO_SD * np.median(np.abs(drawn)) == pytest.approx(2.0, rel=0.01)
