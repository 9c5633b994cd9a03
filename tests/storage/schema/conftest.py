"""A log's file behind the log's back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame.ports import Place
from storage.writing.log import SqlLog
from tests.support.log_samples import SERIAL, SYNC, card_object, revision, whole_frame


@pytest.fixture
def raw(log: SqlLog, place: Place, path: Path) -> Iterator[sqlite3.Connection]:
    """The file of a log with one finished frame, opened behind the log's back, foreign keys on."""
    revision_id = log.save_revision(place, revision())
    frame_id = whole_frame(log, place, 1, revision_id, overrulings={"sync": "on purpose"})
    log.frame_findings(frame_id, [SYNC])
    log.note(frame_id, "a note")
    log.set_reference(place, 7, frame_id)
    log.note_card(SERIAL, [card_object(900)])
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA foreign_keys = ON")
    yield connection
    connection.close()
