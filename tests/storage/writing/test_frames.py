"""A frame through the log: what goes in comes out, each step is there for the next run to see."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import asdict, replace
from datetime import timedelta
from pathlib import Path, PurePath
from typing import Any

import numpy as np
import pytest

from session.frame.camera_messages import Fired, Reading, Setting
from session.frame.finding import FocusJudgement, FocusVerdict, Verdict
from session.frame.ports import LogError, Place, RefusedForGoodError
from session.frame.states import UNSETTLED, FrameEvent, FrameState, ReleasedBy
from session.set.setup import Region
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import (
    LOGGED_STATES,
    MISS,
    MISSED,
    NOON,
    READING,
    SERIAL,
    SYNC,
    TASK,
    card_object,
    intent,
    move_to,
    revision,
    saved_file,
    whole_frame,
)


def test_whole_frame_comes_out_as_it_went_in(log: SqlLog, reader: LogReader, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    frame_id = whole_frame(log, place, 42, revision_id, overrulings={"sync": "want to see the band"})
    log.frame_findings(frame_id, [SYNC])
    frame = reader.frame(frame_id)
    assert frame is not None
    assert (frame.number, frame.job, frame.piece, frame.view) == (42, "Movement", "Bridge", "three-quarter")
    assert (frame.state, frame.fired, frame.released_by) == (FrameState.LOGGED, Fired.YES, ReleasedBy.TOOL)
    assert (frame.asked_at, frame.released_at) == (NOON, NOON + timedelta(seconds=42))
    assert (frame.revision, frame.setup) == (revision(), "07.3")
    assert frame.camera == {
        "exposure_s": 1 / 200,
        "f_number": 11.0,
        "iso": 100,
        "white_balance": "Flash",
        "battery_percent": 81,
    }
    assert [(f.path, f.kind, f.bytes, f.sha256) for f in frame.files] == [
        (saved_file(42).path, "jpeg", 1000, saved_file(42).sha256)
    ]
    assert (frame.rules, frame.checks, frame.findings) == ((SYNC,), (MISS,), (SYNC, MISS))
    assert (frame.focus, frame.focus_verdict, frame.verdict) == (MISSED, FocusVerdict.MISSED, Verdict.CLEAN)
    assert frame.overrulings == {"sync": "want to see the band"}
    assert frame.camera_serial == SERIAL


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


def test_frame_is_in_the_log_before_it_is_released_and_may_have_fired(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    (left,) = log.unsettled_frames(SERIAL)
    assert (left.frame_id, left.state, left.fired) == (wish.frame_id, FrameState.RELEASING, Fired.UNKNOWN)
    assert left.intent == wish


@pytest.mark.parametrize("state", LOGGED_STATES)
def test_every_state_is_kept_and_only_the_unsettled_come_back(log: SqlLog, place: Place, state: FrameState) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    move_to(log, wish.frame_id, state, "in words")
    assert [left.state for left in log.unsettled_frames()] == ([state] if state in UNSETTLED else [])


def test_frame_numbers_count_in_each_job_by_itself(log: SqlLog, place: Place) -> None:
    other = log.open_place("Type", "Tray", "top")
    whole_frame(log, place, 7, log.save_revision(place, revision()))
    assert (log.next_frame_number(place), log.next_frame_number(other)) == (8, 1)


def test_two_frames_of_one_job_never_have_the_same_number(log: SqlLog, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    log.begin_frame(intent(1, revision_id), place)
    with pytest.raises(LogError, match="frame of this number already"):
        log.begin_frame(intent(1, revision_id), place)
    assert len(log.unsettled_frames()) == 1


def test_frame_of_an_unknown_revision_or_of_another_jobs_is_refused(log: SqlLog, place: Place) -> None:
    other = log.open_place("Type", "Tray", "top")
    theirs = log.save_revision(other, revision())
    with pytest.raises(LogError, match="must be of its job"):
        log.begin_frame(intent(1, theirs), place)
    with pytest.raises(LogError, match="must be of its job"):
        log.begin_frame(intent(1, theirs), replace(place, job_id=other.job_id))
    assert log.unsettled_frames() == ()


def test_step_for_a_frame_nobody_began_is_refused_in_words(log: SqlLog) -> None:
    nobody = intent(1, "").frame_id
    for step in (
        lambda: log.move_frame(nobody, FrameEvent.ALL_SAVED),
        lambda: log.frame_file(nobody, saved_file(1)),
        lambda: log.frame_reading(nobody, READING),
        lambda: log.frame_judged(nobody, [], MISSED),
        lambda: log.mark(nobody, "hero"),
    ):
        with pytest.raises(LogError, match="knows no frame"):
            step()


def test_file_told_twice_is_one_file(log: SqlLog, reader: LogReader, place: Place) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.frame_file(frame_id, saved_file(1))
    frame = reader.frame(frame_id)
    assert frame is not None and len(frame.files) == 1


def test_copy_on_a_second_card_is_the_frames_and_nothing_to_be_fetched(log: SqlLog, place: Place) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    copy = replace(saved_file(1).card, folder="/second/DCIM/100STILL")
    log.frame_copied(frame_id, [copy])
    assert log.known_card_objects(SERIAL) == {copy, saved_file(1).card}
    (held,) = log.holders(SERIAL, [PurePath(copy.name).stem])
    assert (held.frame_id, held.saved) == (frame_id, (Path(saved_file(1).path).name,))


def test_finished_frame_stays_as_it_is_and_a_late_word_is_on_record(
    log: SqlLog, reader: LogReader, place: Place
) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.move_frame(frame_id, FrameEvent.LOST, "lost, says a late message")
    frame = reader.frame(frame_id)
    assert frame is not None and (frame.state, frame.text) == (FrameState.LOGGED, "")
    assert [event.kind for event in reader.events(frame_id=frame_id)] == ["late"]


def test_first_time_of_release_stays(log: SqlLog, reader: LogReader, place: Place) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.move_frame(frame_id, FrameEvent.FIRED, released_at=NOON + timedelta(hours=1))
    frame = reader.frame(frame_id)
    assert frame is not None and frame.released_at == NOON + timedelta(seconds=1)


def test_missing_frame_names_what_is_sought_and_what_is_saved(log: SqlLog, place: Place) -> None:
    wish = intent(5, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    both = {**READING.settings, "file_format": Setting("file_format", "raw+jpeg", "RAW+JPEG")}
    log.frame_reading(wish.frame_id, Reading(both))
    log.frame_file(wish.frame_id, saved_file(5))
    log.move_frame(wish.frame_id, FrameEvent.FIRED)
    log.move_frame(wish.frame_id, FrameEvent.LOST, "cable lost", objects=[card_object(5, "DNG", 9000)])
    (left,) = log.unsettled_frames(SERIAL)
    assert (left.state, left.fired, left.sought) == (FrameState.MISSING, Fired.YES, False)
    assert left.expected == (card_object(5, "DNG", 9000),)
    assert left.saved == ("0005-three-quarter-07.3.JPG",)
    assert left.saved_objects == (card_object(5),)
    assert left.expected_files == 2


def test_frame_that_may_have_fired_is_uncertain(log: SqlLog, place: Place) -> None:
    wish = intent(5, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.LOST, "camera gone")
    assert [left.state for left in log.unsettled_frames()] == [FrameState.UNCERTAIN]


def test_frame_that_was_looked_for_in_vain_is_told_as_sought(log: SqlLog, place: Place) -> None:
    wish = intent(5, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED)
    log.move_frame(wish.frame_id, FrameEvent.LOST, "cable lost")
    log.move_frame(wish.frame_id, FrameEvent.NOT_WHOLE, "neither disk nor card has it")
    assert [left.sought for left in log.unsettled_frames()] == [True]


def test_unsettled_frames_are_told_by_camera(log: SqlLog, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    log.begin_frame(intent(1, revision_id), place)
    log.begin_frame(intent(2, revision_id, camera_serial="INVENTED-0002"), place)
    assert [left.number for left in log.unsettled_frames("INVENTED-0002")] == [2]
    assert [left.number for left in log.unsettled_frames()] == [1, 2]


def test_which_flaw_it_is_and_how_far_to_move_come_back(log: SqlLog, reader: LogReader, place: Place) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.frame_judged(frame_id, [TASK], MISSED)
    frame = reader.frame(frame_id)
    assert frame is not None and frame.checks == (TASK,)


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


def test_naive_time_is_refused(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()), asked_at=NOON.replace(tzinfo=None))
    with pytest.raises(LogError, match="must carry its zone"):
        log.begin_frame(wish, place)


def test_time_in_another_zone_comes_back_as_the_same_instant(log: SqlLog, place: Place) -> None:
    from datetime import timezone

    east = NOON.astimezone(timezone(timedelta(hours=5, minutes=45)))
    log.begin_frame(intent(1, log.save_revision(place, revision()), asked_at=east), place)
    (left,) = log.unsettled_frames()
    assert left.intent.asked_at == NOON and left.intent.asked_at.utcoffset() == timedelta(0)


def test_sizes_of_a_jobs_frames_come_with_the_newest_last(log: SqlLog, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    for number, size in ((1, 3000), (2, 5000)):
        wish = intent(number, revision_id)
        log.begin_frame(wish, place)
        log.frame_file(wish.frame_id, saved_file(number, size=size))
        log.frame_file(wish.frame_id, saved_file(number, "DNG", "raw", 100))
    assert log.frame_sizes(place) == (3100, 5100)
    assert log.frame_sizes(log.open_place("Type", "Tray", "top")) == ()


def test_event_that_the_table_has_no_entry_for_is_refused_and_changes_nothing(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    before = log.unsettled_frames()
    for event in (FrameEvent.ALL_SAVED, FrameEvent.JUDGED, FrameEvent.RULES_PASS):
        with pytest.raises(RefusedForGoodError, match="a frame that is releasing can't take"):
            log.move_frame(wish.frame_id, event, "in words", objects=[card_object(1)])
    assert log.unsettled_frames() == before


def test_event_told_twice_changes_nothing(log: SqlLog, reader: LogReader, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    for hour in (1, 2):
        log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=NOON + timedelta(hours=hour))
    frame = reader.frame(wish.frame_id)
    assert frame is not None
    assert (frame.state, frame.released_at) == (FrameState.RECEIVING, NOON + timedelta(hours=1))


@pytest.mark.parametrize("state", LOGGED_STATES)
def test_a_frame_is_safe_from_the_moment_that_it_is_saved_and_not_before(
    log: SqlLog, place: Place, path: Path, state: FrameState
) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    move_to(log, wish.frame_id, state)
    with closing(sqlite3.connect(path)) as connection:
        (saved_at,) = connection.execute("SELECT saved_at FROM frame").fetchone()
    assert (saved_at is not None) is (state in (FrameState.SAVED, FrameState.LOGGED))
