"""The rule about stillness: by the live picture where it is wanted and there, by the timer else."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from session.frame.finding import Finding, Level, RemedyKind
from session.frame.moves import Moves
from session.rules import Situation
from session.rules.stillness_rules import LONGEST_WAIT_S, hold_off, still_limit_px
from session.set.kit import Kit
from session.set.setup import Confirmation, Revision
from tests.support.scripted import reading

NOW_S = 100.0
WATCHED = Revision(confirmed=(Confirmation.BY_STILLNESS,), hold_off_s=2.0, blur_limit_px=1.5)
RESTING = Moves(seen_s=NOW_S, moving_px=0.1, could_move_px=0.2, still_since_s=NOW_S - 5, moved_s=NOW_S - 6)
SWINGING = Moves(seen_s=NOW_S, moving_px=1.4, could_move_px=3.0, still_since_s=None, moved_s=NOW_S)


def found(moves: Moves | None, revision: Revision = WATCHED, **more: Any) -> Finding | None:
    situation = Situation(revision=revision, kit=Kit(), reading=reading(), now_s=NOW_S, moves=moves, **more)
    return next(iter(hold_off(situation)), None)


def wait_s(finding: Finding | None) -> float:
    assert finding is not None
    assert finding.remedy is not None
    assert finding.remedy.kind is RemedyKind.WAIT
    return finding.remedy.wait_s


def test_what_counts_as_still_leaves_nearly_all_of_the_blur_limit_to_the_focus() -> None:
    """By the variances of a disc, r²/4 each way, and of a swing exposed throughout, half its square along its line."""
    revision = replace(WATCHED, blur_limit_px=3.0)
    swing = still_limit_px(revision) * np.sin(np.linspace(0, 2 * np.pi, 1001)[:-1])
    left_px = 2 * math.sqrt(3.0**2 / 4 - swing.var() / 2)
    assert left_px == pytest.approx(0.943 * 3.0, rel=1e-3)
    assert still_limit_px(Revision()) == pytest.approx(1 / 3)


def test_just_under_the_limit_goes_and_just_over_waits_for_the_timer() -> None:
    assert found(replace(RESTING, could_move_px=0.4999, moved_s=NOW_S - 1.2)) is None
    assert wait_s(found(replace(RESTING, could_move_px=0.5001, moved_s=NOW_S - 1.2))) == pytest.approx(0.8)


def test_resting_picture_lets_the_release_go_before_the_timer_would() -> None:
    assert found(RESTING, touched_s=NOW_S - 1.0) is None


def test_swinging_picture_holds_off_with_both_numbers() -> None:
    finding = found(SWINGING)
    assert wait_s(finding) == pytest.approx(0.7)
    assert finding is not None
    assert finding.id == "hold-off"
    assert (finding.value, finding.limit, finding.unit) == (1.4, 0.5, "px")
    assert "±1.4 px, limit ±0.5 px" in finding.text


def test_rest_must_last_seven_tenths_of_a_second() -> None:
    finding = found(replace(RESTING, still_since_s=NOW_S - 0.3))
    assert wait_s(finding) == pytest.approx(0.4)
    assert finding is not None
    assert "still for 0.3 of 0.7 s" in finding.text


def test_rest_counts_from_the_touch_that_was_told() -> None:
    """The camera's own settings, or a key, say of a touch that the picture may not show yet."""
    assert wait_s(found(RESTING, touched_s=NOW_S - 0.1)) == pytest.approx(0.6)


def test_frames_too_even_to_exclude_a_swing_wait_for_the_timer_as_well() -> None:
    unsure = replace(RESTING, could_move_px=None, moved_s=NOW_S - 1.2)
    assert wait_s(found(unsure)) == pytest.approx(0.8)
    assert wait_s(found(replace(unsure, could_move_px=0.6))) == pytest.approx(0.8)
    assert found(replace(unsure, moved_s=NOW_S - 2.1)) is None


@pytest.mark.parametrize("waited_s", [0.0, 5.0, LONGEST_WAIT_S - 0.1])
def test_until_the_longest_wait_it_only_waits(waited_s: float) -> None:
    finding = found(SWINGING, asked_s=NOW_S - waited_s)
    assert finding is not None
    assert finding.level is Level.NOTE


def test_after_the_longest_wait_it_is_given_up_in_words() -> None:
    finding = found(SWINGING, asked_s=NOW_S - LONGEST_WAIT_S)
    assert finding is not None
    assert finding.level is Level.STOP
    assert finding.text == "The picture still moves ±1.4 px after 15 s, limit ±0.5 px."


def test_after_the_longest_wait_a_rest_that_has_begun_may_end_well() -> None:
    assert wait_s(found(replace(RESTING, still_since_s=NOW_S - 0.3), asked_s=NOW_S - 60)) == pytest.approx(0.4)


@pytest.mark.parametrize("moves", [None, replace(RESTING, seen_s=NOW_S - 1)], ids=["no live view", "old picture"])
def test_without_a_fresh_picture_the_timer_holds_off_and_says_why(moves: Moves | None) -> None:
    finding = found(moves, touched_s=NOW_S - 0.5)
    assert wait_s(finding) == pytest.approx(1.5)
    assert finding is not None
    assert "no live picture" in finding.text
    rested = found(moves, touched_s=NOW_S - 3)
    assert rested is not None
    assert rested.remedy is None
    assert rested.level is Level.NOTE


def test_without_the_confirmation_a_swinging_picture_counts_for_nothing() -> None:
    assert found(SWINGING, revision=Revision(), touched_s=NOW_S - 3) is None
    assert wait_s(found(SWINGING, revision=Revision(), touched_s=NOW_S - 0.5)) == pytest.approx(1.5)


@pytest.mark.parametrize("still_for_s", [0.71, 1.0, 33.3, 66.7, 99.0])
def test_however_long_the_picture_has_been_at_rest_it_isnt_waited_for(still_for_s: float) -> None:
    assert found(replace(RESTING, still_since_s=NOW_S - still_for_s)) is None


def test_a_wait_tells_how_much_of_it_is_over() -> None:
    by_timer = found(None, Revision(hold_off_s=2.0), touched_s=NOW_S - 0.5)
    by_picture = found(replace(RESTING, still_since_s=NOW_S - 0.3))
    for finding, over_s, limit_s in ((by_timer, 0.5, 2.0), (by_picture, 0.3, 0.7)):
        assert finding is not None
        assert (finding.value, finding.limit, finding.unit) == (pytest.approx(over_s), limit_s, "s")


def test_the_wait_is_over_to_the_moment() -> None:
    assert found(None, Revision(hold_off_s=2.0), touched_s=NOW_S - 2.0) is None
    assert wait_s(found(None, Revision(hold_off_s=2.0), touched_s=NOW_S - 1.875)) == 0.125
