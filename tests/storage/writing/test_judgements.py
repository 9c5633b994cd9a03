"""What rules, checks and camera say of a frame is kept in the order in which it was said, whatever the numbers."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from session.frame.camera_messages import Reading, Setting
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Place
from session.frame.states import FrameEvent, FrameState
from session.set.setup import Region
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import (
    MISS,
    MISSED,
    NOON,
    SYNC,
    intent,
    revision,
    whole_frame,
)


@pytest.mark.parametrize("count", [0, 1, 2, 3, 40])
def test_frame_keeps_as_many_findings_as_there_are(log: SqlLog, reader: LogReader, place: Place, count: int) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    before = [replace(SYNC, text=f"before the release, {number}") for number in range(count)]
    after = [replace(MISS, text=f"after it, {number}") for number in range(count)]
    log.frame_findings(wish.frame_id, before)
    log.frame_judged(wish.frame_id, after, MISSED)
    frame = reader.frame(wish.frame_id)
    assert frame is not None and sorted(f.text for f in frame.findings) == sorted(f.text for f in [*before, *after])


def test_judgement_before_the_last_file_leaves_the_state(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=NOON)
    log.frame_judged(wish.frame_id, [MISS], MISSED)
    assert [left.state for left in log.unsettled_frames()] == [FrameState.RECEIVING]


def test_frame_judged_again_shows_the_last_judgement(log: SqlLog, reader: LogReader, place: Place) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    again = FocusJudgement(FocusVerdict.UNJUDGED, reason="no reference")
    log.frame_judged(frame_id, [], again)
    frame = reader.frame(frame_id)
    assert frame is not None
    assert (frame.focus, frame.findings, frame.focus_verdict) == (again, (), FocusVerdict.UNJUDGED)


def test_judgements_made_anew_stand_beside_the_first_with_what_they_looked_at(
    log: SqlLog, reader: LogReader, place: Place, path: Path
) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    before = reader.frame(frame_id)
    assert before is not None and before.region == before.revision.region
    here, patch = Region(0.1, 0.2, 0.3, 0.25), Region(0.0, 0.9, 0.1, 0.1)
    sharp = FocusJudgement(FocusVerdict.SHARP, 0.4)
    log.frame_judged_anew(frame_id, [], MISSED, here, None, "frame 1 judged anew: missed")
    log.frame_judged_anew(frame_id, [MISS], sharp, replace(here, left=0.5), patch, "frame 1 judged anew: sharp")
    frame = reader.frame(frame_id)
    assert frame is not None
    assert (frame.focus, frame.checks, frame.focus_verdict) == (sharp, (MISS,), FocusVerdict.SHARP)
    assert (frame.region, frame.revision.region) == (replace(here, left=0.5), before.revision.region)
    told = [event.text for event in reader.events("judged anew") if event.frame_id == frame_id]
    assert told == ["frame 1 judged anew: missed", "frame 1 judged anew: sharp"]
    with sqlite3.connect(path) as rows:
        found = rows.execute("SELECT verdict FROM judgement ORDER BY position").fetchall()
        (looked_at,) = rows.execute("SELECT payload FROM event WHERE text LIKE '%anew: sharp'").fetchone()
    assert found[-2:] == [("missed",), ("sharp",)] and len(found) == 3
    assert json.loads(looked_at)["grey_patch"] == asdict(patch)


def test_reading_that_makes_no_sense_is_kept_and_loses_no_frame(log: SqlLog, reader: LogReader, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    odd = {"exposure_s": float("nan"), "f_number": -1.0, "iso": 2**70, "focus_mode": None, "stabiliser": True}
    reading = Reading({name: Setting(name, value, f"shown {name}") for name, value in odd.items()})
    log.frame_reading(wish.frame_id, reading)
    frame = reader.frame(wish.frame_id)
    assert frame is not None
    assert frame.camera == odd | {"exposure_s": None}


def test_numbers_of_numpy_are_taken_as_numbers(log: SqlLog, reader: LogReader, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    remedy = (
        replace(SYNC.remedy, settings={"iso": np.int64(100), "exposure_s": np.float64(0.005)}) if SYNC.remedy else None
    )
    numpys: Any = {"value": np.float32(0.5), "limit": np.int64(2), "blur": np.float32(2.5), "at": np.float32(0.5)}
    finding = replace(SYNC, value=numpys["value"], limit=numpys["limit"], remedy=remedy)
    focus = FocusJudgement(FocusVerdict.SOFT, numpys["blur"], sharpest_at=(np.float64(0.25), numpys["at"]))
    log.frame_judged(wish.frame_id, [finding], focus)
    frame = reader.frame(wish.frame_id)
    assert frame is not None and frame.focus is not None
    assert (frame.findings[0].value, frame.findings[0].limit) == (0.5, 2.0)
    assert (frame.focus.blur_px, frame.focus.sharpest_at) == (2.5, (0.25, 0.5))
    assert frame.findings[0].remedy is not None
    assert frame.findings[0].remedy.settings == {"iso": "100", "exposure_s": 0.005}


def test_word_about_a_frame_that_was_never_begun_is_kept_without_it(log: SqlLog, reader: LogReader) -> None:
    log.record("refused", "Frame 3 did not fire.", intent(3, "").frame_id)
    (event,) = reader.events("refused")
    assert (event.text, event.frame_id) == ("Frame 3 did not fire.", None)
