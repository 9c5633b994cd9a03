"""Undo and redo of what a person did: the events tell all of it, machine records stay as they are."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from session.frame.ports import Place, Standing
from session.set.setup import PlacedLight
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.examples import examples
from tests.support.log_samples import revision, whole_frame


@pytest.fixture
def frame_id(log: SqlLog, place: Place) -> str:
    return whole_frame(log, place, 42, log.save_revision(place, revision(7, 1)))


def state(reader: LogReader, frame_id: str) -> object:
    frame = reader.frame(frame_id)
    assert frame is not None
    return frame.mark, tuple((note.note_id, note.text, note.written_at) for note in frame.notes), frame.references


def test_nothing_done_is_nothing_to_undo(log: SqlLog, place: Place, frame_id: str) -> None:
    assert log.undo_last(place) is None
    assert log.redo(place) is None


def test_what_undo_and_redo_would_come_to_is_told_and_changes_nothing(
    log: SqlLog, reader: LogReader, place: Place, frame_id: str
) -> None:
    log.note(frame_id, "dust on the rim")
    before, told = state(reader, frame_id), len(reader.events("note"))
    ahead = log.next_undo(place)
    assert log.next_undo(place) == ahead and log.next_redo(place) is None
    assert (state(reader, frame_id), len(reader.events("note"))) == (before, told)
    assert log.undo_last(place) == ahead and ahead is not None and ahead.act_id
    again = log.next_redo(place)
    assert again is not None and log.redo(place) == again
    assert state(reader, frame_id) == before


def test_mark_gets_back_what_stood_before(log: SqlLog, reader: LogReader, place: Place, frame_id: str) -> None:
    log.mark(frame_id, "select")
    log.mark(frame_id, "kill")
    back = log.undo_last(place)
    assert back is not None and (back.text, back.frame_id) == ("undone: frame 42 marked kill", frame_id)
    frame = reader.frame(frame_id)
    assert frame is not None and frame.mark == "select"


def test_struck_note_comes_back_as_it_was(log: SqlLog, reader: LogReader, place: Place, frame_id: str) -> None:
    log.note(frame_id, "dust on \x1b[2J the \udcff rim")
    before = state(reader, frame_id)
    (note,) = reader.notes()
    log.change_note(note.note_id, "")
    assert reader.notes() == ()
    log.undo_last(place)
    assert state(reader, frame_id) == before
    log.undo_last(place)
    assert reader.notes() == ()
    log.redo(place)
    assert state(reader, frame_id) == before


def test_revision_written_without_a_frame_gives_way_to_the_one_before(
    log: SqlLog, reader: LogReader, place: Place
) -> None:
    first = revision(7, 1)
    brighter = replace(first, revision=2, lights=(PlacedLight("key", -1.0),), notes="brighter")
    one = log.save_revision(place, first)
    two = log.save_revision(place, brighter)
    back = log.undo_last(place)
    assert back is not None and back.standing == Standing(first, one)
    assert log.standing(place) == Standing(first, one, piece="Bridge")
    again = log.redo(place)
    assert again is not None and again.standing == Standing(brighter, two)
    assert reader.revisions("movement", 7) == (first, brighter)


def test_revisions_without_frames_are_redone_one_by_one(log: SqlLog, place: Place) -> None:
    made = [replace(revision(7, 1), revision=number, notes=f"step {number}") for number in (1, 2, 3)]
    keys = [log.save_revision(place, one) for one in made]
    turned = [log.undo_last(place), log.undo_last(place), log.redo(place), log.redo(place)]
    assert [back and back.standing for back in turned] == [Standing(made[at], keys[at]) for at in (1, 0, 1, 2)]


def test_undo_and_redo_are_on_record_with_what_they_replaced(
    log: SqlLog, reader: LogReader, place: Place, frame_id: str, path: Path
) -> None:
    log.mark(frame_id, "select")
    log.mark(frame_id, "kill")
    log.undo_last(place)
    log.redo(place)
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT payload FROM event WHERE kind = 'mark' ORDER BY at, event_id")
        told = [json.loads(payload) for (payload,) in rows]
    log.note(frame_id, "dust on the rim")
    log.undo_last(place)
    kinds = [event.kind for event in reader.events()]
    assert (kinds.count("note"), kinds.count("mark")) == (1, 4), "a note that was taken away is a changed one"
    assert [(one["old"], one["new"]) for one in told] == [
        (None, "select"), ("select", "kill"), ("kill", "select"), ("select", "kill"),
    ]  # fmt: skip


def test_first_revision_stays(log: SqlLog, place: Place) -> None:
    log.save_revision(place, revision(7, 1))
    assert log.undo_last(place) is None


def test_acts_in_other_jobs_stay(log: SqlLog, reader: LogReader, place: Place, frame_id: str) -> None:
    other = log.open_place("Type", "Tray", "top")
    log.save_revision(other, revision(1, 1))
    log.save_revision(other, revision(1, 2))
    theirs = whole_frame(log, other, 1, log.save_revision(other, revision(1, 3)), folder="/pictures/type")
    log.mark(frame_id, "hero")
    log.mark(theirs, "hero")
    log.undo_last(place)
    told = reader.frame(theirs), reader.frame(frame_id)
    assert [frame and frame.mark for frame in told] == ["hero", None]
    assert log.undo_last(place) is None


def test_what_was_undone_cant_be_redone_after_something_else(log: SqlLog, place: Place, frame_id: str) -> None:
    log.mark(frame_id, "hero")
    log.undo_last(place)
    log.note(frame_id, "something else")
    assert log.redo(place) is None


def test_every_step_is_on_record_and_findings_stay(log: SqlLog, place: Place, frame_id: str, path: Path) -> None:
    machine = "SELECT * FROM {}"
    tables = ("finding", "judgement", "camera_reading", "frame_file", "overruling")

    def rows() -> list[object]:
        connection = sqlite3.connect(path)
        try:
            return [connection.execute(machine.format(table)).fetchall() for table in tables]
        finally:
            connection.close()

    before = rows()
    log.mark(frame_id, "hero")
    log.undo_last(place)
    log.redo(place)
    assert rows() == before
    reader = LogReader.open(path)
    assert [event.text for event in reader.events("mark")] == [
        "frame 42 marked hero",
        "undone: frame 42 marked hero",
        "redone: frame 42 marked hero",
    ]
    reader.close()


JOBS = iter(range(10**9))
"""Each example has a job of its own in the one log."""

ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("mark"), st.sampled_from(["hero", "select", "kill", None])),
        st.tuples(st.just("note"), st.text(min_size=1, max_size=20)),
        st.tuples(st.just("change"), st.text(max_size=20)),
        st.tuples(st.just("reference"), st.booleans()),
    ),
    max_size=8,
)


@settings(max_examples=examples(10), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=ACTS)
def test_taking_all_back_and_doing_all_again_ends_where_it_was(
    log: SqlLog, reader: LogReader, acts: list[tuple[str, object]]
) -> None:
    place = log.open_place(f"job {next(JOBS)}", "Bridge", "three-quarter")
    folder = f"/pictures/{place.job}"
    frame_id = whole_frame(log, place, 42, log.save_revision(place, revision(7, 1)), folder=folder)
    states = [state(reader, frame_id)]
    for kind, value in acts:
        notes = reader.notes(place.job)
        match kind:
            case "mark":
                log.mark(frame_id, value)  # type: ignore[arg-type]
            case "note":
                log.note(frame_id, str(value))
            case "change":
                if notes:
                    log.change_note(notes[-1].note_id, str(value))
            case _:
                log.set_reference(place, 7, frame_id if value else None)
        if state(reader, frame_id) != states[-1]:
            states.append(state(reader, frame_id))
    for expected in reversed(states[:-1]):
        assert log.undo_last(place) is not None
        assert state(reader, frame_id) == expected
    for expected in states[1:]:
        assert log.redo(place) is not None
        assert state(reader, frame_id) == expected
    assert log.redo(place) is None
