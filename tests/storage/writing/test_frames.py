"""A frame through the log: what goes in comes out, each step is there for the next run to see."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path, PurePath

import pytest

from session.frame.camera_messages import Fired, Reading, Setting
from session.frame.ports import LogError, Place, RefusedForGoodError
from session.frame.states import UNSETTLED, FrameEvent, FrameState
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import (
    LOGGED_STATES,
    MISSED,
    NOON,
    READING,
    SERIAL,
    card_object,
    intent,
    move_to,
    revision,
    saved_file,
    whole_frame,
)


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


def test_a_file_is_told_twice_only_with_its_path_and_its_contents(log: SqlLog, path: Path, place: Place) -> None:
    """Files of one path or of one content are files of their own, whichever sorts first."""
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    first = saved_file(5)
    others = [replace(first, path=first.path.replace("0005", number)) for number in ("0004", "0006")]
    others += [replace(first, sha256=saved_file(number).sha256) for number in (4, 6)]
    for file in (first, *others, first, *others):
        log.frame_file(wish.frame_id, file)
    with closing(sqlite3.connect(path)) as raw:
        kept = raw.execute("SELECT path, sha256 FROM frame_file").fetchall()
    assert sorted(kept) == sorted((file.path, file.sha256) for file in (first, *others))


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
