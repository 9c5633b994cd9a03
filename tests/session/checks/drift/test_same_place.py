"""The region of one picture in another: crops of one photograph taken at known places, so that the shift is known."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from session.checks.drift.same_place import SamePlace, same_place
from session.set.setup import Region
from tests.support.made_pictures import blurred, coded, photograph

WIDTH, HEIGHT = 900, 600
REGION = Region(0.4, 0.4, 0.2, 0.2)
Save = Callable[..., Path]


def crop(photo: np.ndarray, left: int, top: int) -> np.ndarray:
    return photo[top : top + HEIGHT, left : left + WIDTH]


def placed(saved: Save, one: np.ndarray, other: np.ndarray, region: Region = REGION) -> SamePlace:
    paths = [saved(coded(light, noise_codes=2.0, seed=i), f"{i}.jpg") for i, light in enumerate((one, other))]
    return same_place(str(paths[0]), str(paths[1]), region)


@pytest.mark.parametrize("name", ["motorcycle_left.png", "coffee.png", "chelsea.png"])
@pytest.mark.parametrize(("right", "down"), [(0, 0), (37, -22), (-5, 3)])
@pytest.mark.parametrize("radius_px", [0.0, 4.0])
def test_the_same_content_is_found_to_the_pixel(
    saved: Save, name: str, right: int, down: int, radius_px: float
) -> None:
    """A crop that begins farther left shows its content farther right."""
    photo = photograph(name, (1200, 800))
    found = placed(saved, crop(photo, 100, 100), 0.7 * blurred(crop(photo, 100 - right, 100 - down), radius_px))
    assert found.registered
    assert found.moved_px == pytest.approx((right, down), abs=1)
    assert (found.one.width, found.one.height) == (found.other.width, found.other.height)


def test_a_region_at_the_edge_is_cut_to_what_both_show(saved: Save) -> None:
    photo = photograph("coffee.png", (1200, 800))
    found = placed(saved, crop(photo, 100, 100), crop(photo, 150, 100), Region(0.0, 0.3, 0.2, 0.3))
    assert found.registered
    assert (found.one.left, found.other.left) == pytest.approx((50, 0), abs=1)
    assert found.one.width == found.other.width == pytest.approx(130, abs=1)


def test_pictures_of_different_things_keep_the_same_part_of_each_frame(saved: Save) -> None:
    coffee, motorcycle = (photograph(name, (WIDTH, HEIGHT)) for name in ("coffee.png", "motorcycle_left.png"))
    found = placed(saved, coffee, motorcycle)
    assert not found.registered
    assert found.one == found.other


def test_pictures_of_different_size_are_not_laid_on_each_other(saved: Save) -> None:
    found = placed(saved, photograph("coffee.png", (WIDTH, HEIGHT)), photograph("coffee.png", (600, 400)))
    assert not found.registered
    assert (found.one.width, found.other.width) == (180, 120)
