"""A frame that was left in the middle is taken up with the place and set-up it was released for."""

from __future__ import annotations

import pytest

from session.frame.ports import LogError, Origin, Place
from storage.writing.log import SqlLog
from tests.support.log_samples import MISS, MISSED, intent, revision


def test_a_frame_left_in_the_middle_knows_its_place_set_up_and_whether_it_was_judged(log: SqlLog, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    wish = intent(1, revision_id, overrulings={"depth": "the edge may go soft"})
    log.begin_frame(wish, place)
    log.open_place("Movement", "another piece", "flat")
    assert log.origin(wish.frame_id) == Origin(wish, place, revision(), judged=False)
    log.frame_judged(wish.frame_id, [MISS], MISSED)
    assert log.origin(wish.frame_id).judged


def test_a_frame_with_the_lights_off_is_still_one_after_a_crash(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()), ambient=True)
    log.begin_frame(wish, place)
    assert log.origin(wish.frame_id).intent.ambient


def test_the_origin_of_a_frame_that_nobody_knows_is_refused(log: SqlLog) -> None:
    with pytest.raises(LogError, match="knows no frame"):
        log.origin("none")
