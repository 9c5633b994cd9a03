"""Motions as a group, tiles that agree on one, and pictures moved back by it; true motions are the test's own."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from session.picture.displacement import (
    AGREES_PX,
    FEWEST_TILES,
    TILES_ACROSS,
    Motion,
    before_of,
    fit_motion,
    motion_between,
    moved_back,
)
from session.picture.registration import Shift
from tests.support.made_pictures import photograph

MIDDLE = np.array([350.0, 235.0])
MOTIONS = st.builds(Motion, st.floats(-30, 30), st.floats(-30, 30), st.floats(-5, 5), st.floats(0.95, 1.05))
PLACES = np.array([(x, y) for x in range(50, 700, 100) for y in range(35, 470, 80)], np.float64)
WIDE = photograph("coffee.png", (560, 400))
NOWHERE = Shift(right_px=0.0, down_px=0.0, likeness=1.0)


def apart_px(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    return float(np.hypot(*(one - other).T).max())


@settings(max_examples=30)
@given(MOTIONS, MOTIONS)
def test_one_motion_after_another_is_one_motion(first: Motion, second: Motion) -> None:
    at_once = second.after(first).move(PLACES, MIDDLE)
    assert apart_px(at_once, second.move(first.move(PLACES, MIDDLE), MIDDLE)) < 1e-9


@settings(max_examples=30)
@given(MOTIONS)
def test_no_motion_before_or_after_changes_nothing(motion: Motion) -> None:
    for both in (motion.after(Motion()), Motion().after(motion)):
        assert apart_px(both.move(PLACES, MIDDLE), motion.move(PLACES, MIDDLE)) < 1e-9


@settings(max_examples=30)
@given(MOTIONS, st.floats(0.1, 8))
def test_on_a_larger_picture_all_goes_as_much_farther(motion: Motion, factor: float) -> None:
    larger = motion.times(factor).move(PLACES * factor, MIDDLE * factor)
    assert apart_px(larger, motion.move(PLACES, MIDDLE) * factor) < 1e-6


def test_a_turn_is_clockwise_as_seen_and_the_middle_stays() -> None:
    right_of_it = MIDDLE + np.array([[10.0, 0.0]])
    assert Motion(turn_deg=90).move(right_of_it, MIDDLE) == pytest.approx(MIDDLE + np.array([[0.0, 10.0]]))  # down
    assert Motion(turn_deg=17, scale=1.3).move(MIDDLE[None], MIDDLE) == pytest.approx(MIDDLE[None])
    assert Motion(scale=2).move(right_of_it, MIDDLE) == pytest.approx(MIDDLE + np.array([[20.0, 0.0]]))


@settings(max_examples=30)
@given(MOTIONS, st.sets(st.integers(0, len(PLACES) - 1), max_size=len(PLACES) // 3), st.integers(0, 2**31))
def test_the_motion_that_most_tiles_agree_on_is_found_whatever_the_others_say(
    motion: Motion, wild: set[int], seed: int
) -> None:
    shifts = motion.move(PLACES, MIDDLE) - PLACES
    chance = np.random.default_rng(seed)
    shifts[sorted(wild)] += chance.uniform(-40, 40, (len(wild), 2))
    found = fit_motion(PLACES, shifts, MIDDLE)
    assert apart_px(found.move(PLACES, MIDDLE), motion.move(PLACES, MIDDLE)) < 0.05


def test_a_motion_is_fitted_to_the_noise_of_tiles_as_the_square_root_law_has_it() -> None:
    chance = np.random.default_rng(4)
    motion = Motion(3, -2, 1.0, 1.01)
    noise_px = 0.1
    shifts = motion.move(PLACES, MIDDLE) - PLACES + chance.normal(0, noise_px, PLACES.shape)
    found = fit_motion(PLACES, shifts, MIDDLE)
    off = found.move(MIDDLE[None], MIDDLE) - motion.move(MIDDLE[None], MIDDLE)
    assert np.abs(off).max() < 4 * noise_px / math.sqrt(len(PLACES))


@pytest.mark.parametrize("shape", [(400, 560), (560, 400), (150, 900)])
def test_tiles_are_about_square_and_lie_within_the_picture(shape: tuple[int, int]) -> None:
    height, width = shape
    before = before_of(np.full(shape, 0.2, np.float32))
    across, down = before.size_px
    assert len(before.corners) == len(before.contrasts) == len(before.textured)
    assert {x for x, _ in before.corners} == {column * across for column in range(TILES_ACROSS)}
    assert max(x for x, _ in before.corners) + across <= width
    assert max(y for _, y in before.corners) + down <= height
    assert 0.6 < across / down < 1.7
    assert not before.textured.any()  # a grey card has nothing to register by


def cut(right: int, down: int) -> NDArray[np.float32]:
    """A picture of 420 × 280 px whose content has gone right and down."""
    return np.ascontiguousarray(WIDE[60 - down : 340 - down, 70 - right : 490 - right], np.float32)


@pytest.mark.parametrize(("right", "down"), [(0, 0), (1, 0), (9, -6), (-17, 12)])
def test_a_picture_that_was_shifted_is_found_there_and_every_tile_agrees(right: int, down: int) -> None:
    found = motion_between(cut(0, 0), cut(right, down), Shift(right, down, 1.0))
    assert found is not None
    motion, tiles = found
    assert (motion.right_px, motion.down_px) == (pytest.approx(right, abs=0.1), pytest.approx(down, abs=0.1))
    assert abs(motion.turn_deg) < 0.02
    assert motion.scale == pytest.approx(1, abs=5e-4)
    assert tiles.agreeing[tiles.alike].mean() > 0.9


def test_a_part_that_moved_by_itself_does_not_agree() -> None:
    frame = cut(0, 0).copy()
    frame[80:200, :120] = cut(4, 3)[80:200, :120]
    found = motion_between(cut(0, 0), frame, NOWHERE)
    assert found is not None
    motion, tiles = found
    assert math.hypot(motion.right_px, motion.down_px) < 0.2
    apart = tiles.alike & ~tiles.agreeing
    assert apart.any()
    assert tiles.centres[apart][:, 0].max() < 180
    assert np.hypot(*tiles.left[apart].T).min() >= AGREES_PX


@pytest.mark.parametrize("frame", ["grey", "noise"])
def test_of_a_picture_of_something_else_no_motion_is_told(frame: str) -> None:
    chance = np.random.default_rng(1)
    other = np.full((280, 420), 0.2) if frame == "grey" else chance.uniform(0, 1, (280, 420))
    assert motion_between(cut(0, 0), other.astype(np.float32), NOWHERE) is None


def test_fewer_tiles_than_can_contradict_each_other_tell_nothing() -> None:
    flat = np.full((280, 420), 0.2, np.float32)
    flat[:100, :100] = cut(0, 0)[:100, :100]  # detail in four tiles at most
    assert before_of(flat).textured.sum() < FEWEST_TILES
    assert motion_between(flat, flat, NOWHERE) is None


@settings(max_examples=15)
@given(st.integers(-20, 20), st.integers(-20, 20))
def test_moved_back_by_whole_pixels_a_picture_is_the_old_one_but_for_its_rim(right: int, down: int) -> None:
    assume((right, down) != (0, 0))
    back = moved_back(cut(right, down), Motion(right, down))
    inner = slice(21, -21), slice(21, -21)
    assert np.abs(back[inner] - cut(0, 0)[inner]).max() < 1e-5
    assert back.min() >= 0


def test_what_the_frame_does_not_show_is_black() -> None:
    back = moved_back(np.ones((40, 60), np.float32), Motion(right_px=15))
    assert back[:, -14:].max() == 0
    assert back[:, :44].min() == 1
