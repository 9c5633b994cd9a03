"""Tables that make looking back quick follow the log by triggers: uses are counted, words are those in force."""

from __future__ import annotations

import sqlite3
from datetime import timedelta

from session.frame.ports import Place
from storage.schema.search_models import FIRST_OF_FRAME
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, whole_frame


def test_a_use_is_counted_with_its_first_and_last_frame(raw: sqlite3.Connection, log: SqlLog, place: Place) -> None:
    (revision_id,) = raw.execute("SELECT revision_id FROM revision").fetchone()
    for number, hours in ((2, 5), (3, -5)):
        whole_frame(log, place, number, revision_id, asked_at=NOON + timedelta(hours=hours))
    uses = raw.execute("SELECT frame_count, first_asked_at, last_asked_at FROM revision_use").fetchall()
    assert [(count, first[:13], last[:13]) for count, first, last in uses] == [(3, "2026-05-04 07", "2026-05-04 17")]


def test_the_words_of_a_frame_are_its_notes_in_force(raw: sqlite3.Connection, log: SqlLog, place: Place) -> None:
    (frame_id,) = raw.execute("SELECT frame_id FROM frame").fetchone()
    query = "SELECT searchable_id, text FROM searchable WHERE frame_id IS NOT NULL"
    log.note(log_key(frame_id), "dust on the barrel")
    ((number, text),) = raw.execute(query).fetchall()
    assert number >= FIRST_OF_FRAME and "dust on the barrel" in text and "a note" in text
    log.undo_last(place)
    assert "dust" not in raw.execute(query).fetchone()[1]


def log_key(stored: str) -> str:
    """A frame's key as the log's port takes it, from the 32 digits in the file."""
    return f"{stored[:8]}-{stored[8:12]}-{stored[12:16]}-{stored[16:20]}-{stored[20:]}" if "-" not in stored else stored


def test_a_use_has_the_words_of_its_set_up_and_its_place(raw: sqlite3.Connection) -> None:
    (text,) = raw.execute("SELECT text FROM searchable WHERE frame_id IS NULL").fetchone()
    for word in ("Movement", "Bridge", "three-quarter", "second look, colder", "tube", "white card"):
        assert word in text
