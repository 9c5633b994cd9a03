"""What is in force after an act: found by its subject, put back by undo without an event, a struck note as it was."""

from __future__ import annotations

from datetime import timedelta

import pytest

from session.frame.ports import Place
from storage.reading.log_reader import LogReader
from storage.writing import event_rows
from storage.writing.acts_in_force import KINDS, in_force, put, subject
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, intent, revision


@pytest.fixture
def frame_id(log: SqlLog, place: Place) -> str:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    return wish.frame_id


@pytest.mark.parametrize(
    ("kind", "payload", "about"),
    [
        (event_rows.MARK, {}, ("mark", "f-1")),
        (event_rows.NOTE, {"note_id": "n-1"}, ("note", "n-1", "f-1")),
        (event_rows.NOTE_CHANGED, {"note_id": "n-1"}, ("note", "n-1", "f-1")),
        (event_rows.REFERENCE, {"setup_id": "s-1", "piece_id": "p-1"}, ("reference", "s-1", "p-1")),
        (event_rows.CLIENT, {"job_id": "j-1"}, ("client", "j-1")),
    ],
)
def test_an_act_is_about_what_it_replaces(kind: str, payload: dict[str, str], about: tuple[str, ...]) -> None:
    assert kind in KINDS and subject(kind, "f-1", payload) == about


def test_a_mark_is_put_and_read_without_an_event(log: SqlLog, reader: LogReader, frame_id: str) -> None:
    before = len(reader.events())
    with log._database.transaction() as connection:
        put(connection, ("mark", frame_id), frame_id, "hero", NOON)
        assert in_force(connection, [("mark", frame_id)]) == {("mark", frame_id): "hero"}
        put(connection, ("mark", frame_id), frame_id, None, NOON)
        assert in_force(connection, [("mark", frame_id)]) == {("mark", frame_id): None}
    assert len(reader.events()) == before


def test_a_note_is_written_rewritten_and_struck(log: SqlLog, reader: LogReader, frame_id: str) -> None:
    about = ("note", "00000000-0000-4000-8000-00000000000a", frame_id)
    with log._database.transaction() as connection:
        assert in_force(connection, [about]) == {about: None}
        put(connection, about, frame_id, "first words", NOON)
        put(connection, about, frame_id, "better words", NOON + timedelta(hours=1))
        assert in_force(connection, [about]) == {about: "better words"}
    (note,) = reader.notes()
    assert (note.text, note.written_at) == ("better words", NOON)
    with log._database.transaction() as connection:
        put(connection, about, frame_id, None, NOON)
        assert in_force(connection, [about]) == {about: None}
    assert reader.notes() == ()


def test_a_note_that_comes_back_was_written_when_it_was_written(log: SqlLog, reader: LogReader, frame_id: str) -> None:
    log.note(frame_id, "the crown is turned")
    (written,) = reader.notes()
    place = log.open_place("Movement", "Bridge", "three-quarter")
    log.undo_last(place)
    assert reader.notes() == ()
    log.redo(place)
    (back,) = reader.notes()
    assert (back.text, back.written_at, back.note_id) == (written.text, written.written_at, written.note_id)


def test_a_reference_and_a_client_are_put_in_the_place_of_the_one_before(
    log: SqlLog, reader: LogReader, place: Place, frame_id: str
) -> None:
    with log._database.transaction() as connection:
        put(connection, ("client", place.job_id), None, "Another client", NOON)
    assert [job.client for job in reader.jobs()] == ["Another client"]
    assert log.reference(place, 7) is None
