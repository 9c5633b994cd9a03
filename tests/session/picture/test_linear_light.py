"""sRGB taken back to light, against the standard's values and an independent library."""

from __future__ import annotations

import colour
import numpy as np
import pytest

from session.picture.linear_light import (
    LINEAR,
    block_means,
    codes_of,
    ev_between,
    linear_channels,
    luminance,
    srgb_to_linear,
)


@pytest.mark.parametrize(
    ("code", "linear"),
    [(10, 0.00303527), (11, 0.00334654), (64, 0.05126946), (118, 0.18116424), (128, 0.21586050), (255, 1.0)],
)
def test_code_values_give_the_standards_light(code: int, linear: float) -> None:
    """IEC 61966-2-1, worked out from its formula; 10 and 11 lie on either side of its bend."""
    assert float(srgb_to_linear(code)) == pytest.approx(linear, abs=1e-7)


def test_all_codes_agree_with_an_independent_library() -> None:
    wanted = colour.models.eotf_sRGB(np.arange(256) / 255)
    assert np.abs(LINEAR - wanted).max() < 1e-6


@pytest.mark.parametrize(("one", "other", "ev"), [(188, 128, 1.2201), (255, 188, 0.9917), (128, 64, 2.0739)])
def test_exposure_difference_is_that_of_light_not_of_codes(one: int, other: int, ev: float) -> None:
    """log2 of linear values; 128 against 64 is 2.07 EV, not 1. Worked out from IEC 61966-2-1."""
    assert ev_between(float(LINEAR[one]), float(LINEAR[other])) == pytest.approx(ev, abs=1e-4)


def test_luminance_weighs_colours_as_the_standards_matrix_does() -> None:
    """Independent route: the RGB to XYZ matrix of colour-science, its middle row."""
    rgb = np.random.default_rng(1).integers(0, 256, (8, 9, 3), dtype=np.uint8)
    wanted = colour.models.eotf_sRGB(rgb / 255) @ colour.models.RGB_COLOURSPACE_sRGB.matrix_RGB_to_XYZ[1]
    assert np.abs(luminance(rgb) - wanted).max() < 1e-4


def test_black_has_a_floor_so_that_ratios_stay_finite() -> None:
    assert -20 < ev_between(0.0, 1.0) < -10


def test_block_means_drop_what_is_left_over() -> None:
    values = np.arange(35, dtype=np.float32).reshape(5, 7)
    assert np.array_equal(block_means(values, 2, 3), [[4.5, 7.5], [18.5, 21.5]])


def test_each_code_comes_back_from_its_light_and_what_is_brighter_than_white_clips() -> None:
    codes = np.arange(256, dtype=np.uint8).reshape(16, 16, 1).repeat(3, axis=2)
    assert (codes_of(linear_channels(codes)) == codes).all()
    assert codes_of(np.full((3, 1, 1), 1.7, np.float32)).tolist() == [[[255, 255, 255]]]
