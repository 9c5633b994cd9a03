"""The frames of a series as rows: what an earlier judgement found doesn't count any more."""

from __future__ import annotations

from dataclasses import replace

from session.frame.ports import Place
from session.frame.states import FrameEvent
from session.set.setup import Region
from storage.writing.log import SqlLog
from tests.support.log_samples import MISSED, PLANE, SYNC, intent, revision


def test_a_flaw_that_was_not_found_again_spoils_no_frame(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()), series=PLANE)
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED)
    log.move_frame(wish.frame_id, FrameEvent.ALL_SAVED)
    log.frame_judged(wish.frame_id, (replace(SYNC, id="flash"),), MISSED)
    assert [shot.spoilt for shot in log.shot_planes(PLANE.series_id)] == [True]
    log.frame_judged_anew(wish.frame_id, (), MISSED, Region(0.1, 0.1, 0.2, 0.2), None, "judged anew")
    assert [shot.spoilt for shot in log.shot_planes(PLANE.series_id)] == [False]
