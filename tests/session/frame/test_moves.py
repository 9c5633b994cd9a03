"""How the live picture moves, as the hold-off sees it: fresh for half a second, ends included."""

from __future__ import annotations

import pytest

from session.frame.moves import FRESH_S, STILL_FOR_S, Moves


def seen(at_s: float) -> Moves:
    return Moves(at_s, 0.2, 0.3, at_s - 1, at_s - 1.5)


@pytest.mark.parametrize(
    ("later_s", "fresh"), [(0.0, True), (0.25, True), (FRESH_S, True), (0.501, False), (3600.0, False)]
)
def test_a_picture_says_something_about_now_for_half_a_second(later_s: float, fresh: bool) -> None:
    assert seen(100.0).is_fresh(100.0 + later_s) is fresh


def test_a_picture_of_a_clock_that_went_back_is_fresh() -> None:
    assert seen(100.0).is_fresh(99.0)


def test_still_is_longer_than_a_whole_swing_of_the_slowest_support() -> None:
    """2 Hz is the slowest that is judged: one swing takes half a second."""
    assert STILL_FOR_S > 1 / 2
