"""The columns that a person's act sets, apart from its event: written for undo, and for acts done at another station.

The events tell what happened; the columns that this module writes hold what is in force after the newest event.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from storage.schema import models
from storage.schema.frame_models import FrameTable
from storage.schema.models import EventTable, JobTable, NoteTable
from storage.writing import event_rows

KINDS = (event_rows.MARK, event_rows.NOTE, event_rows.NOTE_CHANGED, event_rows.REFERENCE, event_rows.CLIENT)
"""Acts that put something in the place of something; revisions only add."""

Subject = tuple[str, ...]


def subject(kind: str, frame_id: str | None, payload: Mapping[str, Any]) -> Subject:
    """The subject of an act: of the acts about a subject, the latest is in force."""
    match kind:
        case event_rows.MARK:
            return ("mark", str(frame_id))
        case event_rows.REFERENCE:
            return ("reference", payload["setup_id"], payload["piece_id"])
        case event_rows.CLIENT:
            return ("client", payload["job_id"])
    return ("note", payload["note_id"], str(frame_id))


def in_force(connection: Connection, subjects: Iterable[Subject]) -> dict[Subject, Any]:
    """Present values of these marks and notes, None for a deleted or unknown note. Other subjects are left out."""
    marks = {about[1]: about for about in subjects if about[0] == "mark"}
    notes = {about[1]: about for about in subjects if about[0] == "note"}
    frames = connection.execute(select(FrameTable.frame_id, FrameTable.mark).where(FrameTable.frame_id.in_(marks)))
    texts = connection.execute(select(NoteTable.note_id, NoteTable.text).where(NoteTable.note_id.in_(notes)))
    found: dict[Subject, Any] = dict.fromkeys(notes.values())
    found |= {marks[row.frame_id]: row.mark for row in frames}
    return found | {notes[row.note_id]: row.text for row in texts}


def put(connection: Connection, about: Subject, frame_id: str | None, value: Any, at: datetime) -> None:
    """Bring a value into force without an event; `at` is when a note was written or a reference approved."""
    match about:
        case ("mark", frame):
            connection.execute(update(FrameTable).where(FrameTable.frame_id == frame).values(mark=value))
        case ("client", job):
            connection.execute(update(JobTable).where(JobTable.job_id == job).values(client=value))
        case ("reference", setup_id, piece_id):
            table = models.ReferenceTable
            connection.execute(delete(table).where(table.setup_id == setup_id, table.piece_id == piece_id))
            if value is not None:
                row = {"setup_id": setup_id, "piece_id": piece_id, "frame_id": value, "approved_at": at}
                connection.execute(insert(table).values(**row))
        case ("note", note_id, _):
            _put_note(connection, note_id, frame_id, value, at)


def _put_note(connection: Connection, note_id: str, frame_id: str | None, words: str | None, at: datetime) -> None:
    if words is None:
        connection.execute(delete(NoteTable).where(NoteTable.note_id == note_id))
    elif not connection.execute(update(NoteTable).where(NoteTable.note_id == note_id).values(text=words)).rowcount:
        written = _written_at(connection, note_id, frame_id) or at
        row = {"note_id": note_id, "frame_id": frame_id, "text": words, "written_at": written}
        connection.execute(insert(NoteTable).values(**row))


def _written_at(connection: Connection, note_id: str, frame_id: str | None) -> datetime | None:
    """When a note that was struck since was written."""
    query = select(EventTable.at, EventTable.payload).where(
        EventTable.frame_id == frame_id, EventTable.kind == event_rows.NOTE
    )
    return next((row.at for row in connection.execute(query) if row.payload["note_id"] == note_id), None)
