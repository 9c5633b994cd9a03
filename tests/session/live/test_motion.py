"""Displacements against Fourier shifts and scikit-image, under changed light, noise and blur."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage
from skimage.registration import phase_cross_correlation

from session.live.decode import grey
from session.live.motion import KeyPicture
from tests.support.live_pictures import live_grey, scene
from tests.support.made_pictures import coded, jpeg_bytes

SCENES = {name: scene(name) for name in ("coffee.png", "camera.png", "coins.png")}
KEYS = {name: KeyPicture(live_grey(light)) for name, light in SCENES.items()}


@settings(max_examples=25)
@given(st.sampled_from(sorted(SCENES)), st.floats(-6, 6), st.floats(-6, 6), st.integers(1, 10**6))
def test_shift_is_found_to_a_few_hundredths_and_a_hundredth_of_itself(
    name: str, right_px: float, down_px: float, seed: int
) -> None:
    found = KEYS[name].displacement(live_grey(SCENES[name], right_px=right_px, down_px=down_px, seed=seed))
    allowed = 0.03 + 0.01 * max(abs(right_px), abs(down_px))
    assert found.found
    assert abs(found.right_px - right_px) < allowed
    assert abs(found.down_px - down_px) < allowed


def test_sign_and_amount_agree_with_scikit_image() -> None:
    """scikit-image gives the shift that brings the second picture back, as (row, column)."""
    first, second = live_grey(SCENES["coffee.png"]), live_grey(SCENES["coffee.png"], right_px=3.3, down_px=-1.6, seed=1)
    back, _, _ = phase_cross_correlation(first.codes, second.codes, upsample_factor=50)
    found = KeyPicture(first).displacement(second)
    assert (found.down_px, found.right_px) == pytest.approx(tuple(-back), abs=0.2)


@pytest.mark.parametrize("name", SCENES)
def test_still_picture_stands_still_to_a_hundredth_of_a_pixel(name: str) -> None:
    places = [KEYS[name].displacement(live_grey(SCENES[name], seed=seed, noise_codes=3.0)) for seed in range(1, 9)]
    assert max(abs(p.right_px) for p in places) < 0.02
    assert max(abs(p.down_px) for p in places) < 0.02


@pytest.mark.parametrize("how", [{"ev": 0.3}, {"ev": -0.38}, {"noise_codes": 8.0}, {"blur_px": 1.0}])
def test_flicker_noise_and_focus_hardly_disturb_it(how: dict[str, float]) -> None:
    found = KEYS["coffee.png"].displacement(live_grey(SCENES["coffee.png"], right_px=0.4, down_px=0.2, seed=5, **how))
    assert (found.right_px, found.down_px) == pytest.approx((0.4, 0.2), abs=0.06)


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize("far_px", [10.0, 15.0, 20.0, 35.0, 60.0])
def test_far_shift_is_followed_or_not_found_and_never_taken_for_a_small_one(name: str, far_px: float) -> None:
    large = np.pad(SCENES[name], 60, mode="reflect")
    views = [ndimage.shift(large, (0, far), order=1)[60:-60, 60:-60] for far in (0.0, far_px)]
    first, second = (grey(jpeg_bytes(coded(view, seed=n))) for n, view in enumerate(views))
    found = KeyPicture(first).displacement(second)
    if far_px <= 15:
        assert found.found
        assert found.right_px == pytest.approx(far_px, abs=0.05)
    else:
        assert not found.found or found.right_px > 10


def test_another_picture_is_not_found() -> None:
    assert not KEYS["coffee.png"].displacement(live_grey(SCENES["camera.png"])).found


def test_noise_alone_is_not_found() -> None:
    flat = np.full(SCENES["coffee.png"].shape, 0.2)
    assert not KeyPicture(live_grey(flat, noise_codes=6.0)).displacement(live_grey(flat, noise_codes=6.0, seed=9)).found


def test_stripes_give_the_shift_across_and_none_along() -> None:
    """One direction has no detail; what isn't seen is no motion."""
    stripes = 0.2 + 0.1 * np.sin(np.arange(SCENES["coffee.png"].shape[1]) / 9)[None] * np.ones((380, 1))
    found = KeyPicture(live_grey(stripes)).displacement(live_grey(stripes, right_px=1.5, seed=2))
    assert found.right_px == pytest.approx(1.5, abs=0.15)
    assert abs(found.down_px) < 0.3


def test_shapes_must_agree() -> None:
    other = grey(jpeg_bytes(np.full((240, 320), 90, np.uint8)))
    with pytest.raises(ValueError, match="shapes differ"):
        KEYS["coffee.png"].displacement(other)


@pytest.mark.parametrize("size", [(144, 96), (160, 120), (320, 240), (1600, 1064)])
def test_live_pictures_of_any_size_serve(size: tuple[int, int]) -> None:
    light = ndimage.zoom(SCENES["coffee.png"], (size[1] / 380, size[0] / 552), order=1)
    moved = ndimage.shift(light, (0, 1.0), order=3, mode="nearest")
    first, second = (grey(jpeg_bytes(coded(view, seed=n))) for n, view in enumerate((light, moved)))
    assert KeyPicture(first).displacement(second).right_px == pytest.approx(1.0, abs=0.12)
