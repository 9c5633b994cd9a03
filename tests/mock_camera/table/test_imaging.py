"""Numbers of a file from light: the sRGB curve of the standard, noise of the right size, what processing leaves."""

import numpy as np
import pytest

from mock_camera.table.imaging import (
    BLACK_LEVEL,
    FULL_WELL,
    READ_NOISE,
    SENSOR_BITS,
    ReleasedPicture,
    develop,
    process,
    srgb,
)
from mock_camera.table.luma import Luma


def flat(level: float, side: int = 200) -> Luma:
    light = Luma.dark(side, side)
    light.luma[...] = level
    return light


@pytest.mark.parametrize(
    ("linear", "code"), [(0.0, 0), (1.0, 255), (2.0, 255), (-1.0, 0), (0.18, 118), (0.5, 188), (0.0031308, 10)]
)
def test_the_curve_is_that_of_the_standard(linear: float, code: int) -> None:
    """IEC 61966-2-1: 0.18 lies at code 118, 0.5 at 188."""
    assert srgb(np.array([linear], np.float32))[0] == code


@pytest.mark.parametrize(("level", "iso"), [(0.5, 100), (0.18, 100), (0.18, 1600)])
def test_noise_is_that_of_photons_and_of_reading(level: float, iso: int) -> None:
    """Standard deviation √(n + read²) electrons, n of them at that level; full scale holds fewer at a higher ISO."""
    electrons = FULL_WELL * 100 / iso
    _, mosaic = develop(flat(level), iso, np.random.default_rng(1))
    span = (1 << SENSOR_BITS) - 1 - BLACK_LEVEL
    linear = (mosaic.astype(float) - BLACK_LEVEL) / span
    assert linear.mean() == pytest.approx(level, rel=0.01)
    expected = np.sqrt(level * electrons + READ_NOISE**2) / electrons
    assert linear.std() == pytest.approx(expected, rel=0.03)


def test_black_stands_at_the_black_level_and_white_at_the_top() -> None:
    _, black = develop(flat(0.0), 100, np.random.default_rng(1))
    _, white = develop(flat(3.0), 100, np.random.default_rng(1))
    assert black.mean() == pytest.approx(BLACK_LEVEL, abs=2)
    assert white.min() == white.max() == (1 << SENSOR_BITS) - 1


def test_the_same_chance_gives_the_same_picture_and_another_another() -> None:
    first, again, other = (develop(flat(0.3, 64), 100, np.random.default_rng(seed))[0] for seed in (1, 1, 2))
    assert np.array_equal(first, again) and not np.array_equal(first, other)


def test_processing_smooths_or_sharpens_or_leaves_alone() -> None:
    rgb, _ = develop(flat(0.3), 1600, np.random.default_rng(1))
    assert process(rgb, 0, 0) is rgb
    smooth, sharp = process(rgb, 0, 1.0), process(rgb, 1.0, 0)
    assert smooth.std() < rgb.std() < sharp.std()
    assert smooth.mean() == pytest.approx(rgb.mean(), abs=1)


@pytest.mark.parametrize("value", ["0.5", None, [1.0]])
def test_a_truth_that_is_no_number_is_not_measured(value: object) -> None:
    picture = ReleasedPicture(np.zeros((2, 2, 3), np.uint8), np.zeros((2, 2), np.uint16), {"n": value, "m": 3})
    with pytest.raises(TypeError, match=r"^n is .*, not a number$"):
        picture.measure("n")
    assert picture.measure("m") == 3
