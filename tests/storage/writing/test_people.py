"""Marks, notes and references: kept, undone, and on record with what they replaced."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import SavedFile
from session.frame.ports import LogError, Place, Reference
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.examples import examples
from tests.support.log_samples import intent, revision, saved_file, whole_frame


@pytest.fixture
def frame_id(log: SqlLog, place: Place) -> str:
    return whole_frame(log, place, 42, log.save_revision(place, revision()))


def acts(path: Path, *kinds: str) -> list[dict[str, object]]:
    connection = sqlite3.connect(path)
    marks = ", ".join("?" for _ in kinds)
    query = f"SELECT payload FROM event WHERE kind IN ({marks}) ORDER BY event_id"
    rows = connection.execute(query, kinds).fetchall()
    connection.close()
    return [json.loads(row[0]) for row in rows]


@pytest.mark.parametrize("mark", ["hero", "select", "alternate", "kill", None])
def test_mark_is_kept_and_taken_away(log: SqlLog, reader: LogReader, frame_id: str, mark: str | None) -> None:
    log.mark(frame_id, "hero")
    log.mark(frame_id, mark)
    frame = reader.frame(frame_id)
    assert frame is not None and frame.mark == mark


def test_unknown_mark_is_refused(log: SqlLog, frame_id: str) -> None:
    with pytest.raises(LogError, match="one of hero, select, alternate, kill"):
        log.mark(frame_id, "nice")


def test_acts_are_on_record_with_what_they_replaced(
    log: SqlLog, reader: LogReader, frame_id: str, place: Place, path: Path
) -> None:
    log.mark(frame_id, "hero")
    log.mark(frame_id, "hero")
    log.mark(frame_id, None)
    assert [(act["old"], act["new"]) for act in acts(path, "mark")] == [(None, "hero"), ("hero", None)]
    log.note(frame_id, "colder")
    (note,) = reader.notes()
    log.change_note(note.note_id, "warmer")
    log.change_note(note.note_id, "")
    changes = [(act["old"], act["new"]) for act in acts(path, "note", "note changed")]
    assert changes == [(None, "colder"), ("colder", "warmer"), ("warmer", None)]
    assert reader.notes() == ()
    log.set_reference(place, 7, frame_id)
    log.set_reference(place, 7, None)
    assert [(act["old"], act["new"]) for act in acts(path, "reference")] == [(None, frame_id), (frame_id, None)]
    for said in ("dropped as", "made"):  # told as what was done, so that "undone" before it can't be misread
        back = log.undo_last(place)
        assert back is not None and back.text == f"undone: frame 42 {said} the reference of set-up 07 for {place.piece}"


def test_overruling_is_on_record_with_its_reason(log: SqlLog, place: Place, path: Path) -> None:
    wish = intent(1, log.save_revision(place, revision()), overrulings={"sync": "the band is wanted"})
    log.begin_frame(wish, place)
    assert acts(path, "overruling") == [{"rule": "sync", "new": "the band is wanted"}]


@settings(max_examples=examples(25), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(words=st.text(st.characters(), max_size=200).filter(str.strip))
def test_any_note_comes_back_exactly(log: SqlLog, reader: LogReader, frame_id: str, words: str) -> None:
    log.note(frame_id, words)
    assert reader.notes()[-1].text == words


def test_note_of_nothing_is_no_note(log: SqlLog, reader: LogReader, frame_id: str) -> None:
    log.note(frame_id, "  \n ")
    assert reader.notes() == ()


def test_note_nobody_wrote_cannot_be_changed(log: SqlLog) -> None:
    with pytest.raises(LogError, match="doesn't know this note"):
        log.change_note("0" * 32, "x")


def test_reference_is_the_jpeg_of_the_approved_frame(log: SqlLog, place: Place, frame_id: str) -> None:
    assert log.reference(place, 7) is None
    log.set_reference(place, 7, frame_id)
    assert log.reference(place, 7) == Reference(frame_id, 42, saved_file(42).path)


def test_reference_without_jpeg_is_its_raw(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    raw = saved_file(1, "DNG", "raw")
    log.frame_file(wish.frame_id, raw)
    log.set_reference(place, 7, wish.frame_id)
    assert log.reference(place, 7) == Reference(wish.frame_id, 1, raw.path)
    jpeg = SavedFile("/pictures/0001.JPG", "jpeg", 9, "0" * 64, saved_file(1).card)
    log.frame_file(wish.frame_id, jpeg)
    assert log.reference(place, 7) == Reference(wish.frame_id, 1, jpeg.path)


def test_new_piece_is_expected_to_look_like_the_one_approved_last(log: SqlLog, place: Place, frame_id: str) -> None:
    wheel = log.open_place("Movement", "Wheel", "top")
    assert log.expectation(wheel, 7) is None
    log.set_reference(place, 7, frame_id)
    assert log.expectation(wheel, 7) == Reference(frame_id, 42, saved_file(42).path)
    assert log.expectation(place, 7) is None, "a piece is no expectation of its own"
    assert log.expectation(wheel, 8) is None
    wish = intent(43, log.save_revision(place, revision(7, 2)))
    log.begin_frame(wish, wheel)
    log.frame_file(wish.frame_id, saved_file(43))
    log.set_reference(wheel, 7, wish.frame_id)
    assert log.expectation(log.open_place("Movement", "Barrel", "top"), 7) == Reference(
        wish.frame_id, 43, saved_file(43).path
    )


def test_reference_holds_for_its_set_up_and_piece(log: SqlLog, place: Place, frame_id: str) -> None:
    log.set_reference(place, 7, frame_id)
    log.save_revision(place, revision(8, 1))
    assert log.reference(place, 8) is None
    assert log.reference(log.open_place("Movement", "Wheel", "top"), 7) is None
    assert log.reference(log.open_place("Movement", "Bridge", "top"), 7) is not None


def test_frame_without_a_picture_is_no_reference(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    with pytest.raises(LogError, match="Frame 1 has no saved picture"):
        log.set_reference(place, 7, wish.frame_id)


def test_refused_reference_leaves_the_old_one(log: SqlLog, place: Place, frame_id: str) -> None:
    log.set_reference(place, 7, frame_id)
    wish = intent(43, log.save_revision(place, revision(7, 4)))
    log.begin_frame(wish, place)
    with pytest.raises(LogError):
        log.set_reference(place, 7, wish.frame_id)
    kept = log.reference(place, 7)
    assert kept is not None and kept.frame_id == frame_id
    with pytest.raises(LogError, match="has no set-up 09"):
        log.set_reference(place, 9, frame_id)


def test_a_frame_with_the_lights_off_is_never_the_reference(log: SqlLog, place: Place) -> None:
    frame_id = whole_frame(log, place, 42, log.save_revision(place, revision()), ambient=True)
    with pytest.raises(LogError, match="Frame 42 was released with the lights off"):
        log.set_reference(place, 7, frame_id)
    assert log.reference(place, 7) is None
