"""A hand in the picture: it comes from its side, as far as it reaches, and hides more the farther it reaches."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.table.hand import SIDES, veil


@pytest.mark.parametrize("side", SIDES)
def test_a_hand_comes_from_its_side(side: str) -> None:
    cover = veil(120, 80, 0.4, side)
    assert cover.shape == (80, 120)
    edges = {"left": cover[:, 0], "right": cover[:, -1], "top": cover[0], "bottom": cover[-1]}
    opposite = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}[side]
    assert edges[side].max() > 0.99 and edges[opposite].max() < 0.01


@settings(max_examples=25)
@given(st.floats(0, 1), st.floats(0, 1), st.sampled_from(SIDES))
def test_a_hand_that_reaches_farther_hides_more(one: float, other: float, side: str) -> None:
    near, far = sorted((one, other))
    less, more = veil(60, 40, near, side), veil(60, 40, far, side)
    assert np.all(more >= less - 1e-6) and less.min() >= 0 and more.max() <= 1


def test_it_is_a_hand_and_no_wall() -> None:
    cover = veil(120, 80, 0.5, "left")
    assert cover[0, 30] < 0.5 < cover[44, 30], "half as broad as the side"
    assert ((cover > 0.05) & (cover < 0.95)).any(), "and blurred"
