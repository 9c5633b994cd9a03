"""Where the picture became sharper: a place in words, and a tile that was sharpened on purpose."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.checks.focus.map import place_text, sharpest_place
from session.checks.material.checked_picture import Material, pair
from tests.support.made_pictures import blurred, coded, photograph

SIZE = (900, 600)


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((0.5, 0.5), "in the middle"),
        ((0.1, 0.1), "at the upper left"),
        ((0.9, 0.1), "at the upper right"),
        ((0.1, 0.9), "at the lower left"),
        ((0.9, 0.9), "at the lower right"),
        ((0.5, 0.1), "at the top"),
        ((0.5, 0.9), "at the bottom"),
        ((0.1, 0.5), "at the left"),
        ((0.9, 0.5), "at the right"),
        ((0.0, 0.0), "at the upper left"),
        ((1.0, 1.0), "at the lower right"),
        ((1 / 3, 0.5), "in the middle"),
        ((0.3333, 0.5), "at the left"),
    ],
)
def test_a_place_is_said_in_words(place: tuple[float, float], words: str) -> None:
    assert place_text(place) == words


@settings(max_examples=30)
@given(st.floats(0, 1), st.floats(0, 1))
def test_every_place_has_words_and_mirrored_it_has_the_mirrored_ones(x: float, y: float) -> None:
    words = place_text((x, y))
    assert words.startswith(("in the middle", "at the "))
    if abs(x - 1 / 3) > 1e-6 and abs(x - 2 / 3) > 1e-6:
        turned = {"left": "right", "right": "left"}
        assert place_text((1 - x, y)) == " ".join(turned.get(word, word) for word in words.split())


def test_the_tile_that_gained_most_is_where_the_focus_went(material: Callable[..., Material]) -> None:
    """All of the reference is a little soft; in the frame the upper left is sharp and the rest softer still."""
    sharp = photograph("coffee.png", SIZE) * 0.5
    frame = blurred(sharp, 4.0)
    frame[:200, :300] = sharp[:200, :300]
    both = pair(material(coded(frame), "frame.jpg"), material(coded(blurred(sharp, 2.0), seed=1), "reference.jpg"))
    place = sharpest_place(both)
    assert place is not None
    assert place[0] < 300 / 900 and place[1] < 200 / 600
    assert place_text(place) == "at the upper left"


def test_where_nothing_became_sharper_no_place_is_told(material: Callable[..., Material]) -> None:
    sharp = photograph("coffee.png", SIZE) * 0.5
    reference = material(coded(sharp), "reference.jpg")
    assert sharpest_place(pair(material(coded(sharp, seed=3), "again.jpg"), reference)) is None
    assert sharpest_place(pair(material(coded(blurred(sharp, 3.0)), "soft.jpg"), reference)) is None


def test_pictures_of_two_sizes_have_no_tiles_in_common(material: Callable[..., Material]) -> None:
    one, other = (photograph("brick.png", size) * 0.5 for size in (SIZE, (600, 900)))
    assert sharpest_place(pair(material(coded(one), "one.jpg"), material(coded(other), "other.jpg"))) is None
    assert np.array(SIZE).prod() == one.size
