"""CIEDE2000 and L*a*b* against published pairs and two independent libraries."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000, rgb2lab

from session.checks.light.colour_difference import ciede2000, lab_of_linear
from session.picture.linear_light import srgb_to_linear

# Sharma, Wu, Dalal, Color Research and Application 30 (2005) 21, table 1; numbers from memory, each confirmed below
# by two libraries.
PAIRS = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.49, -0.001), (50, -2.49, 0.0009), 7.1792),
    ((50, 2.49, -0.001), (50, -2.49, 0.0011), 7.2195),
    ((50, -0.001, 2.49), (50, 0.0009, -2.49), 4.8045),
    ((50, -0.001, 2.49), (50, 0.0011, -2.49), 4.7461),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (50, 3.2592, 0.3350), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.parametrize(("one", "other", "difference"), PAIRS)
def test_published_pairs_come_out_to_the_last_digit_both_ways(one, other, difference) -> None:
    assert ciede2000(one, other) == pytest.approx(difference, abs=5e-5)
    assert ciede2000(other, one) == pytest.approx(difference, abs=5e-5)
    assert deltaE_ciede2000(np.array(one), np.array(other)) == pytest.approx(difference, abs=5e-5)


def test_random_pairs_agree_with_two_libraries() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library tells of plotting it doesn't find
        import colour
    chance = np.random.default_rng(8)
    ones, others = (chance.uniform((0, -90, -90), (100, 90, 90), (400, 3)) for _ in range(2))
    others[200:] = ones[200:] + chance.normal(0, 2, (200, 3))
    ours = [ciede2000(tuple(one), tuple(other)) for one, other in zip(ones, others, strict=True)]
    assert ours == pytest.approx(list(deltaE_ciede2000(ones, others)), abs=1e-9)
    assert ours == pytest.approx(list(colour.difference.delta_E_CIE2000(ones, others)), abs=1e-9)


def test_lab_of_srgb_agrees_with_a_library() -> None:
    codes = np.random.default_rng(9).integers(0, 256, (200, 3))
    ours = [lab_of_linear(srgb_to_linear(one)) for one in codes]
    assert np.array(ours) == pytest.approx(rgb2lab(codes[None] / 255.0)[0], abs=0.02)


def test_equal_codes_are_without_colour() -> None:
    """R = G = B is grey by definition of sRGB's white, IEC 61966-2-1."""
    for code in (0, 1, 10, 118, 255):
        assert lab_of_linear(srgb_to_linear([code] * 3))[1:] == pytest.approx((0, 0), abs=1e-9)
