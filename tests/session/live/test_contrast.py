"""Fine contrast against closed forms of blurred edges, noise and light; and that blur always lowers it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from session.live.contrast import (
    LEAST_CONTRAST,
    SRGB_OFFSET_CODES,
    change_in_view,
    detail,
    fine_contrast,
    region_pixels,
)
from session.set.setup import Region
from tests.support.live_pictures import live_grey, scene, with_hand
from tests.support.made_pictures import coded, photograph, through_jpeg

EDGE_PX, ROWS = 161, 64

# Sum of squared differences two apart over a unit edge blurred by a Gaussian of deviation s, A = 100, per row:
# A²·D(2, s), D(h, s) = h·erf(h/2s) − (2s/√π)(1 − exp(−h²/4s²)). Derived (energy distance of two normals).
BRENNER_OF_EDGE = {1.5: 7011.16, 2.0: 5418.07, 3.0: 3693.13, 5.0: 2241.83}


def expected(sum_of_squares: float, mean: float, width: int) -> float:
    """Percent, for a vertical edge: only the differences across it count, each equal to the one a row below."""
    return 100 * math.sqrt(sum_of_squares / (width - 2) / 2) / (mean + SRGB_OFFSET_CODES)


@pytest.mark.parametrize("s", BRENNER_OF_EDGE)
def test_blurred_edge_has_the_contrast_of_the_closed_form(s: float) -> None:
    profile = 60 + 100 * ndtr((np.arange(EDGE_PX) - EDGE_PX / 2 + 0.37) / s)
    codes = np.rint(np.tile(profile, (ROWS, 1))).astype(np.uint8)
    assert fine_contrast(codes) == pytest.approx(expected(BRENNER_OF_EDGE[s], codes.mean(), EDGE_PX), rel=0.01)


def test_closed_form_agrees_with_its_formula() -> None:
    for s, value in BRENNER_OF_EDGE.items():
        d = 2 * math.erf(1 / s) - 2 * s / math.sqrt(math.pi) * (1 - math.exp(-1 / s**2))
        assert 1e4 * d == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize("sigma", [2.0, 5.0, 10.0])
def test_white_noise_adds_nothing_where_squares_would_add_twice_its_variance(sigma: float) -> None:
    """Brenner's measure of white noise is 2σ² (derived); products of differences without a common pixel have none."""
    chance = np.random.default_rng(5)
    codes = np.clip(np.rint(120 + sigma * chance.standard_normal((256, 256))), 0, 255).astype(np.uint8)
    by_squares = 100 * math.sqrt(2 * sigma**2) / (120 + SRGB_OFFSET_CODES)
    assert fine_contrast(codes) < 0.2 * by_squares


@pytest.mark.parametrize("ev", [-1.0, -0.3, 0.3, 0.7])
def test_light_and_flicker_leave_it_alone(ev: float) -> None:
    """sRGB code + 14.025 goes with light to the power 1/2.4 (IEC 61966-2-1)."""
    light = np.clip(scene() * 0.5, 0.01, 0.55)
    usual = fine_contrast(coded(light, noise_codes=0.0))
    assert fine_contrast(coded(light * 2.0**ev, noise_codes=0.0)) == pytest.approx(usual, rel=0.015)


@pytest.mark.parametrize("name", ["coffee.png", "camera.png", "coins.png"])
def test_more_blur_always_means_less(name: str) -> None:
    light = scene(name)
    region = Region(0.3, 0.3, 0.4, 0.4)
    radii = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0)
    values = [
        fine_contrast(region_pixels(live_grey(light, blur_px=r, seed=n).codes, region)) for n, r in enumerate(radii)
    ]
    assert all(sharper > softer * 1.005 for sharper, softer in pairwise(values))


def test_noise_of_a_dim_set_after_jpeg_changes_it_by_a_few_percent_only() -> None:
    light = scene("coffee.png")
    clean, noisy = (
        fine_contrast(through_jpeg(coded(light, noise_codes=noise, seed=3), quality=82)) for noise in (0.5, 6.0)
    )
    assert noisy == pytest.approx(clean, rel=0.05)


def test_even_surface_has_none() -> None:
    assert fine_contrast(np.full((60, 80), 130, np.uint8)) == LEAST_CONTRAST


def test_large_region_is_measured_in_bands_that_say_the_same() -> None:
    """Against the root mean square of its parts, each small enough to be measured whole."""
    codes = coded(photograph("coffee.png", (1080, 720)), noise_codes=0.0)
    parts = [codes[i : i + 360, j : j + 360] for i in (0, 360) for j in (0, 360, 720)]
    squares = np.mean([(fine_contrast(part) * (part.mean() + SRGB_OFFSET_CODES)) ** 2 for part in parts])
    assert fine_contrast(codes) == pytest.approx(math.sqrt(squares) / (codes.mean() + SRGB_OFFSET_CODES), rel=0.07)


@given(
    st.floats(0, 0.99),
    st.floats(0, 0.99),
    st.floats(0.001, 1.0),
    st.floats(0.001, 1.0),
    st.sampled_from([(340, 512), (96, 144), (680, 1024)]),
)
def test_every_region_gives_pixels_enough_to_measure(
    left: float, top: float, width: float, height: float, shape: tuple[int, int]
) -> None:
    region = Region(left, top, min(width, 1 - left), min(height, 1 - top))
    pixels = region_pixels(np.zeros(shape, np.uint8), region)
    assert min(pixels.shape) >= 32
    assert fine_contrast(pixels) == LEAST_CONTRAST


WHOLE = Region(0.2, 0.2, 0.6, 0.6)


@pytest.mark.parametrize("blur_px", [0.8, 1.5, 4.0])
def test_defocus_changes_what_can_be_seen_as_it_changes_the_whole(blur_px: float) -> None:
    light = scene()
    before, now = (region_pixels(live_grey(light, blur_px=r, seed=n).codes, WHOLE) for n, r in enumerate((0, blur_px)))
    whole = math.log(fine_contrast(now) / fine_contrast(before))
    assert whole < -0.05
    assert change_in_view(detail(before), detail(now)) == pytest.approx(whole, rel=0.2)


@pytest.mark.parametrize("share", [0.3, 0.4, 0.5])
def test_hand_of_the_piece_s_tone_takes_little_of_what_can_be_seen(share: float) -> None:
    light = scene()
    before, now = (
        region_pixels(codes, WHOLE)
        for codes in (live_grey(light).codes, with_hand(live_grey(light, seed=1).codes, share))
    )
    whole = math.log(fine_contrast(now) / fine_contrast(before))
    assert whole < -0.1
    assert abs(change_in_view(detail(before), detail(now))) < -whole / 3


def test_swing_of_the_stand_hides_nothing() -> None:
    light = scene()
    before, now = (
        region_pixels(live_grey(light, right_px=x, down_px=-x, seed=int(x)).codes, WHOLE) for x in (0.0, 4.0)
    )
    whole = math.log(fine_contrast(now) / fine_contrast(before))
    assert change_in_view(detail(before), detail(now)) == pytest.approx(whole, abs=0.02)


def test_region_without_detail_has_not_changed_in_view() -> None:
    flat = np.full((40, 40), 120, np.uint8)
    assert change_in_view(detail(flat), detail(flat)) == 0
