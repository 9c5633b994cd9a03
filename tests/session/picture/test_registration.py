"""Shifts against scikit-image, and under what a frame of a shoot may have changed besides."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage
from skimage.registration import phase_cross_correlation

from session.picture.linear_light import LINEAR
from session.picture.registration import shift_between
from tests.support.made_pictures import blurred, coded, moved, photograph, relit, through_jpeg


def light(picture: np.ndarray, seed: int = 0, noise: float = 2.0) -> np.ndarray:
    return LINEAR[through_jpeg(coded(picture, noise_codes=noise, seed=seed))]


def test_whole_pixel_shift_has_the_sign_of_the_content() -> None:
    """scikit-image gives the shift that brings the second picture back, in (row, column): the opposite."""
    picture = np.random.default_rng(5).random((128, 128)).astype(np.float32)
    picture = ndimage.gaussian_filter(picture, 2).astype(np.float32)
    shifted = np.roll(picture, (7, -13), (0, 1))
    found = shift_between(picture, shifted)
    back, _, _ = phase_cross_correlation(picture, shifted, upsample_factor=10)
    assert tuple(back) == (-7, 13)
    assert (found.down_px, found.right_px) == pytest.approx((7, -13), abs=0.2)  # the roll brings in other content


@pytest.mark.parametrize("shift", [(3.25, -1.75), (-0.5, 0.3), (11.4, 6.6)])
@pytest.mark.parametrize("name", ["camera.png", "coffee.png", "coins.png"])
def test_sub_pixel_shift_is_found_to_a_tenth_of_a_pixel(name: str, shift: tuple[float, float]) -> None:
    """Content moved by a Fourier phase ramp (scipy), then noise and JPEG."""
    picture = photograph(name)[:280, :360]
    right, down = shift
    ramp = ndimage.fourier_shift(np.fft.fft2(picture), (down, right))
    other = np.fft.ifft2(ramp).real
    found = shift_between(light(picture), light(other, seed=1))
    assert (found.right_px, found.down_px) == pytest.approx((right, down), abs=0.1)


@pytest.mark.parametrize("change", ["brighter", "gradient", "soft", "turned", "noisy"])
def test_shift_is_found_whatever_else_changed(change: str) -> None:
    picture = photograph("coffee.png")[:360, :520]
    other = moved(picture, 9.0, -6.0, turn_deg=1.0 if change == "turned" else 0.0)
    noise = 8.0 if change == "noisy" else 2.0
    if change == "brighter":
        other = relit(other, ev=0.8)
    if change == "gradient":
        other = relit(other, ev=-0.5, across_ev=2.0, down_ev=-1.0)
    if change == "soft":
        other = blurred(other, 2.0)
    found = shift_between(light(picture), light(other, seed=1, noise=noise))
    assert found.found
    # turned by a degree about the middle, content elsewhere moves by pixels of its own
    assert (found.right_px, found.down_px) == pytest.approx((9.0, -6.0), abs=1.0 if change == "turned" else 0.35)


def test_large_blur_leaves_the_shift_within_its_radius() -> None:
    picture = photograph("coffee.png")[:360, :520]
    found = shift_between(light(picture), light(blurred(moved(picture, 9.0, -6.0), 5.0), seed=1))
    assert found.found
    assert np.hypot(found.right_px - 9.0, found.down_px + 6.0) < 5.0


def test_another_picture_is_not_found() -> None:
    one, other = photograph("coffee.png", (400, 300)), photograph("astronaut.png", (400, 300))
    assert not shift_between(light(one), light(other)).found


def test_nothing_but_noise_is_not_found() -> None:
    flat = np.full((200, 300), 0.3)
    assert not shift_between(light(flat), light(flat, seed=1)).found


def test_repeating_texture_is_taken_at_the_smallest_shift() -> None:
    """Stripes 12 px apart, moved by 2: ten the other way would fit as well; a tripod moves little."""
    stripes = 0.3 + 0.2 * np.sin(2 * np.pi * np.arange(360) / 12)[None] * np.ones((240, 1))
    found = shift_between(light(stripes), light(np.roll(stripes, 2, 1), seed=1))
    assert abs(found.right_px - 2) < 0.5


def test_shapes_must_agree() -> None:
    with pytest.raises(ValueError, match="shapes differ"):
        shift_between(np.ones((4, 5), np.float32), np.ones((5, 4), np.float32))
