"""A grey card by itself: how far from a right exposure, and what is no plain card."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from session.checks.light import grey_patch
from session.checks.material.checked_picture import Material
from session.set.setup import Region
from tests.support.made_pictures import coded

Make = Callable[..., Material]
PATCH = Region(0.25, 0.25, 0.5, 0.5)


def light(value: float, around: float = 0.4) -> np.ndarray:
    """A card of this linear light in the middle of a picture."""
    picture = np.full((240, 320), around, np.float32)
    picture[50:190, 70:250] = value
    return picture


# sRGB code 118 is linear 0.181 (IEC 61966-2-1): a card of 18 % rightly exposed
@pytest.mark.parametrize("ev", [-3.0, -1.0, -0.3, 0.0, 0.5, 1.0, 1.9])
def test_a_card_is_told_in_stops_against_a_right_exposure(material: Make, ev: float) -> None:
    told = grey_patch.measure(material(coded(light(0.18 * 2**ev), seed=1)), PATCH)
    assert told == pytest.approx(ev, abs=0.05)


@pytest.mark.parametrize("value", [0.003, 0.86, 1.0])
def test_what_is_nearly_black_or_white_tells_nothing(material: Make, value: float) -> None:
    assert grey_patch.measure(material(coded(light(value))), PATCH) is None


@pytest.mark.parametrize(("across_ev", "plain"), [(0.0, True), (0.5, True), (0.9, False), (2.0, False)])
def test_a_patch_that_isn_t_even_is_no_card(material: Make, across_ev: float, plain: bool) -> None:
    """Light that grows evenly across has half of its stops between its quartiles; the limit is 0.35."""
    grown = light(0.18) * np.exp2(np.linspace(-across_ev, across_ev, 320, dtype=np.float32))[None]
    assert (grey_patch.measure(material(coded(grown)), PATCH) is not None) is plain


def test_without_a_patch_nothing_is_told(material: Make) -> None:
    assert grey_patch.measure(material(coded(light(0.18))), None) is None
