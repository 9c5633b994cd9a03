"""Which frames' files the camera may still bring, as one run knows it."""

from __future__ import annotations

import pytest

from session.frame.states import AwaitingEvent, ImpossibleTransitionError
from session.shoot.late_files import LateFiles
from tests.support.left_frames import on_card


def test_a_frame_is_waited_for_then_given_up_and_settled_when_its_file_comes_all_the_same() -> None:
    late = LateFiles()
    late.wait("f1", 15.0)
    assert (late.waited_for, late.in_vain, late.due_s) == ({"f1"}, frozenset(), (15.0,))
    late.file_came("f1")
    assert late.waited_for == {"f1"}, "until the card was read once more"
    late.give_up("f1")
    assert (late.waited_for, late.in_vain, late.due_s) == (frozenset(), {"f1"}, ())
    late.file_came("f1")
    assert not late.waited_for and not late.in_vain


def test_a_later_frames_file_is_known_of_frames_in_vain_until_they_are_given_up_again() -> None:
    late = LateFiles()
    late.wait("f1", 15.0)
    late.give_up("f1")
    assert late.newer_files == (None,)
    late.later_frame_has(on_card(7))
    assert late.newer_files == (on_card(7),)
    late.give_up("f1")
    assert late.newer_files == (None,)


def test_frames_that_are_waited_for_no_more_are_settled_and_those_in_vain_stay_so() -> None:
    late = LateFiles()
    for key in ("f1", "f2", "f3"):
        late.wait(key, 15.0)
    late.give_up("f3")
    late.wait_only({"f2": 20.0})
    assert (late.waited_for, late.in_vain, late.due_s) == ({"f2"}, {"f3"}, (20.0,))


def test_only_a_frame_that_was_waited_for_or_made_no_file_may_be_given_up() -> None:
    late = LateFiles()
    late.wait("f1", 15.0)
    late.wait_only({})
    assert not late.may_give_up("f1") and not late.may_give_up("f2")
    late.made_no_file.add("f1")
    assert late.may_give_up("f1")


def test_a_settled_frame_is_not_settled_twice() -> None:
    late = LateFiles()
    late.wait("f1", 15.0)
    late.wait_only({})
    with pytest.raises(ImpossibleTransitionError, match="can't take 'settled'"):
        late._move("f1", AwaitingEvent.SETTLED)
