"""Acts of a person on taken frames: marks, notes, references. An act is recorded with the value that it replaced."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from sqlalchemy import Connection, Select, delete, func, insert, select, update

from session.frame.ports import LogError, Place, Reference, RefusedForGoodError
from session.frame.states import Mark
from session.units.file_kinds import PICTURES
from session.units.ids import new_id
from session.units.names import name_key
from storage.database.reach import OpenableFiles, log_file
from storage.files.frame_pictures import picture_paths, pictures_there
from storage.files.paths import previews_folder
from storage.schema import models
from storage.schema.frame_models import FileCopyTable, FrameFileTable, FrameTable
from storage.schema.models import EventTable, NoteTable, SetupTable
from storage.schema.order_models import OrderedViewTable
from storage.writing import event_rows
from storage.writing.frames import of


def mark(connection: Connection, frame_id: str, chosen: str | None, at: datetime) -> None:
    """Give the frame a mark, or remove its mark with None."""
    if chosen is not None and chosen not in set(Mark):
        raise RefusedForGoodError(f"A mark is one of {', '.join(Mark)}, not {chosen!r}.")
    row = of(connection, frame_id)
    if row.mark == chosen:
        return
    at = event_rows.time_of_act(connection, row.job_id, at)
    connection.execute(update(FrameTable).where(FrameTable.frame_id == frame_id).values(mark=chosen))
    said = f"frame {row.number} marked {chosen}" if chosen else f"frame {row.number} no longer marked"
    event_rows.record(connection, at, event_rows.MARK, said, frame_id, {"old": row.mark, "new": chosen})


def note(connection: Connection, frame_id: str, words: str, at: datetime) -> None:
    """Add a note; nothing but blanks is no note."""
    row = of(connection, frame_id)
    if not words.strip():
        return
    at, note_id = event_rows.time_of_act(connection, row.job_id, at), new_id()
    connection.execute(insert(NoteTable).values(note_id=note_id, frame_id=frame_id, text=words, written_at=at))
    payload = {"note_id": note_id, "old": None, "new": words}
    event_rows.record(connection, at, event_rows.NOTE, f"note to frame {row.number}", frame_id, payload)


def change_note(connection: Connection, note_id: str, words: str, at: datetime) -> None:
    """Rewrite a note; blanks strike it. The old words stay in the event."""
    old = connection.execute(select(NoteTable).where(NoteTable.note_id == note_id)).first()
    if old is None:
        raise RefusedForGoodError(f"The log doesn't know this note, {note_id}.")
    if old.text == words:
        return
    kept = bool(words.strip())
    if kept:
        connection.execute(update(NoteTable).where(NoteTable.note_id == note_id).values(text=words))
    else:
        connection.execute(delete(NoteTable).where(NoteTable.note_id == note_id))
    payload = {"note_id": note_id, "old": old.text, "new": words if kept else None}
    said = "a note was rewritten" if kept else "a note was struck"
    at = event_rows.time_of_act(connection, of(connection, old.frame_id).job_id, at)
    event_rows.record(connection, at, event_rows.NOTE_CHANGED, said, old.frame_id, payload)


def reference(connection: Connection, place: Place, setup_number: int) -> Reference | None:
    """The approved frame of the set-up for the piece, with its JPEG, or else its raw."""
    return _reference_by(
        connection, _references(place, setup_number).where(models.ReferenceTable.piece_id == place.piece_id)
    )


def expectation(connection: Connection, place: Place, setup_number: int) -> Reference | None:
    """The frame of the set-up that was approved last for another piece."""
    others = _references(place, setup_number).where(models.ReferenceTable.piece_id != place.piece_id)
    return _reference_by(
        connection, others.order_by(models.ReferenceTable.approved_at.desc(), FrameTable.number.desc())
    )


def first_reference(connection: Connection, standard_id: str, place: Place) -> Reference | None:
    """The frame that is the reference of the piece which had one first, for a view of this name and standard.

    So the pattern's piece stays when its reference is approved anew. None when it is the piece of the place itself.
    """
    table = models.ReferenceTable
    query = select(table.frame_id, FrameTable.number, table.piece_id, table.setup_id, table.approved_at)
    query = query.join(FrameTable, FrameTable.frame_id == table.frame_id)
    query = query.join(models.ViewTable, models.ViewTable.view_id == FrameTable.view_id)
    query = query.join(OrderedViewTable, OrderedViewTable.view_id == FrameTable.view_id)
    of_standard = (OrderedViewTable.standard_id == standard_id, models.ViewTable.name_key == name_key(place.view))
    rows = connection.execute(query.where(*of_standard)).all()
    began = _first_approvals(connection) if len(rows) > 1 else {}
    row = min(
        rows,
        key=lambda row: (began.get((row.setup_id, row.piece_id), row.approved_at), row.number),
        default=None,
    )
    if row is None or row.piece_id == place.piece_id:
        return None
    path = _picture(connection, row.frame_id)
    return Reference(row.frame_id, row.number, path) if path else None


def _first_approvals(connection: Connection) -> dict[tuple[str, str], datetime]:
    """(setup_id, piece_id) → when a frame became the reference for the first time."""
    query = select(EventTable.at, EventTable.payload).where(EventTable.kind == event_rows.REFERENCE)
    found: dict[tuple[str, str], datetime] = {}
    for row in connection.execute(query.order_by(EventTable.at)):
        told = row.payload or {}
        if told.get("new"):
            found.setdefault((told["setup_id"], told["piece_id"]), row.at)
    return found


def _references(place: Place, setup_number: int) -> Select[str, int]:
    """Key and number of the frames that are references of the set-up."""
    table = models.ReferenceTable
    query = select(table.frame_id, FrameTable.number).join(FrameTable, FrameTable.frame_id == table.frame_id)
    query = query.join(SetupTable, SetupTable.setup_id == table.setup_id)
    return query.where(SetupTable.job_id == place.job_id, SetupTable.number == setup_number)


def _reference_by(connection: Connection, query: Select[str, int]) -> Reference | None:
    row = connection.execute(query.limit(1)).first()
    path = _picture(connection, row.frame_id) if row else None
    return Reference(row.frame_id, row.number, path) if row and path else None


def set_reference(connection: Connection, place: Place, setup_number: int, frame_id: str | None, at: datetime) -> None:
    """Approve a frame that has a picture, or drop the reference with None."""
    setup = select(SetupTable.setup_id).where(SetupTable.job_id == place.job_id, SetupTable.number == setup_number)
    setup_id = connection.scalar(setup)
    if setup_id is None:
        raise RefusedForGoodError(f"The job {place.job} has no set-up {setup_number:02d}.")
    table = models.ReferenceTable
    this = (table.setup_id == setup_id, table.piece_id == place.piece_id)
    old = connection.scalar(select(table.frame_id).where(*this))
    if old == frame_id:
        return
    at = event_rows.time_of_act(connection, place.job_id, at)
    connection.execute(delete(table).where(*this))
    where = f"the reference of set-up {setup_number:02d} for {place.piece}"
    said = f"frame {of(connection, old).number} dropped as {where}" if old else ""
    if frame_id is not None:
        row = of(connection, frame_id)
        if row.ambient:
            raise LogError(f"Frame {row.number} was released with the lights off, so it can't be the reference.")
        if row.solo:
            raise LogError(f"Frame {row.number} was released for {row.solo} alone, so it can't be the reference.")
        pictures = select(func.count()).where(FrameFileTable.frame_id == frame_id, FrameFileTable.kind.in_(PICTURES))
        if not connection.scalar(pictures):
            raise LogError(f"Frame {row.number} has no saved picture, so it can't be the reference.")
        values = {"setup_id": setup_id, "piece_id": place.piece_id, "frame_id": frame_id, "approved_at": at}
        connection.execute(insert(table).values(**values))
        said = f"frame {row.number} made {where}"
    payload = {"setup_id": setup_id, "piece_id": place.piece_id, "old": old, "new": frame_id}
    event_rows.record(connection, at, event_rows.REFERENCE, said, frame_id or old, payload)


def _picture(connection: Connection, frame_id: str) -> str | None:
    """Path of the frame's picture that is there, a second copy or its stored preview if need be.

    Where no file is left it is the first path, so that the judge names the file; None where no file may be opened.
    """
    query = select(FrameFileTable.kind, FrameFileTable.path, FrameFileTable.sha256)
    query = query.where(FrameFileTable.frame_id == frame_id, FrameFileTable.kind.in_(PICTURES))
    copies = _copies(connection, frame_id)
    rows = connection.execute(query.order_by(FrameFileTable.position))
    reach = OpenableFiles(connection, [frame_id])
    named = picture_paths((row.kind, row.path, copies[row.sha256]) for row in rows)
    paths = [path for path in named if reach.holds(frame_id, path)]
    log = log_file(connection)
    there = pictures_there(paths, previews_folder(log) if log else None, frame_id)
    return next((path for path, _ in there), paths[0] if paths else None)


def _copies(connection: Connection, frame_id: str) -> defaultdict[str, list[str]]:
    """Hash of a file → where else the frame's file with it was saved."""
    query = select(FileCopyTable.sha256, FileCopyTable.path).where(FileCopyTable.frame_id == frame_id)
    copies: defaultdict[str, list[str]] = defaultdict(list)
    for row in connection.execute(query):
        copies[row.sha256].append(row.path)
    return copies
