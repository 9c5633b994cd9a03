"""What is to correct against the reference, in words for the hands, and the reference laid over the live picture."""

from __future__ import annotations

import numpy as np
import pytest

from session.live.against import Correction
from session.live.decode import LiveGrey
from session.set.setup import Arrangement, Region
from tests.support.live_pictures import live_grey, scene
from tui.bench.live_reference import MATCHES_AGAIN_S, NOTHING_COMMON, LiveReference, ReferenceFacts, correction_words
from tui.screen.small_picture import SmallPicture
from tui.words.live_look import Hold

FACTS = ReferenceFacts("f-1", Region(0.3, 0.3, 0.4, 0.4), Arrangement(), None)


def grey(**how: float) -> LiveGrey:
    return live_grey(scene(), **how)


def reference(codes: np.ndarray) -> LiveReference:
    return LiveReference(FACTS, SmallPicture(np.repeat(codes[..., None], 3, axis=2), 6000, 4000))


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (
            Correction(12.0, 3.1, -0.4, 0.1, None, 1.2, 1.004, False, "Camera to the left."),
            "Camera to the left. Lies 12.0 px (0.4 mm) right, 3.1 px (0.1 mm) low, turned 1.2° anticlockwise, × 1.004.",
        ),
        (
            Correction(-12.0, -3.1, None, None, None, -0.5, 0.998, False, "Turn it."),
            "Turn it. Lies 12.0 px left, 3.1 px high, turned 0.5° clockwise, × 0.998.",
        ),
        (Correction(0.1, 0.1, 0.0, 0.0, 0.0, 0.0, 1.0, True, "It lies as the reference."), "It lies as the reference."),
    ],
)
def test_what_is_to_correct_is_said_with_its_amounts(found: Correction, words: str) -> None:
    assert correction_words(found) == words


def test_a_picture_that_lies_as_the_reference_needs_no_correction_and_a_moved_one_does() -> None:
    held = reference(grey().codes)
    assert held.words(grey(seed=2), 0.0) == correction_words(held._against.follow(grey(seed=2)))  # type: ignore[arg-type]
    moved = held.words(grey(right_px=30.0, seed=3), 0.1)
    assert "right" in moved and "Lies" in moved


def test_a_picture_of_something_else_is_tried_again_only_after_a_while() -> None:
    chance = np.random.default_rng(1)
    other = LiveGrey(
        chance.integers(0, 255, grey().codes.shape, dtype=np.uint8), grey().small[::-1].copy(), grey().times
    )
    held = reference(grey().codes)
    assert held.words(other, 10.0) == NOTHING_COMMON
    assert held._match_at_s == 10.0 + MATCHES_AGAIN_S
    held.words(other, 10.0 + MATCHES_AGAIN_S / 2)
    assert held._match_at_s == 10.0 + MATCHES_AGAIN_S, "a match costs a good part of a second"


@pytest.mark.parametrize("hold", [Hold.BLENDED, Hold.DIFFERENCE])
def test_laid_over_each_other_a_picture_and_itself_show_it_or_nothing(hold: Hold) -> None:
    live = grey()
    laid = reference(live.codes).laid_over(live, hold)
    assert laid.shape == live.codes.shape and laid.dtype == np.uint8
    other = reference(live.codes).laid_over(grey(right_px=60.0), hold)
    if hold is Hold.BLENDED:
        assert np.abs(laid.astype(int) - live.codes).mean() < 3
    else:
        assert laid.std() < other.std(), "what differs stands out"
