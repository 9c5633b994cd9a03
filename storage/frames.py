"""A frame from the intent before the release to its judged files: one function for each step, in order.

A step that comes after a frame is done is put on record and changes nothing: the rows of a finished frame are
true, and a late message must not stop the log.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, insert, or_, select, text, update

from session.cameras.protocol import CardObject, Fired, SavedFile
from session.flight import FILES_OF_FORMAT
from session.frame import UNSETTLED, FrameState, Intent, ReleasedBy, Unsettled
from session.ports import LogError, Place
from storage import cards, events, frame_models
from storage.frame_models import FINAL, MISSING, MOVING, SAVED, CameraReading, Frame, FrameFile, Overruling
from storage.models import Piece, Setup, View
from storage.models import Revision as RevisionRow

FIRED_IN = {
    FrameState.RELEASING: Fired.UNKNOWN,
    FrameState.UNCERTAIN: Fired.UNKNOWN,
    FrameState.RECEIVING: Fired.YES,
    FrameState.MISSING: Fired.YES,
    FrameState.SAVED: Fired.YES,
    FrameState.LOGGED: Fired.YES,
}
"""What a state says of the shutter when nobody says more; in all other states it did not go."""


def next_number(connection: Connection, job_id: str) -> int:
    """The number after the job's highest frame."""
    return (connection.scalar(select(func.max(Frame.number)).where(Frame.job_id == job_id)) or 0) + 1


def begin(connection: Connection, intent: Intent, place: Place, at: datetime) -> None:
    """The row of a frame that is about to be released: state `releasing`, shutter unknown."""
    _check_place(connection, intent, place)
    row = {
        "frame_id": intent.frame_id,
        "job_id": place.job_id,
        "number": intent.number,
        "view_id": place.view_id,
        "revision_id": intent.revision_id,
        "camera_id": cards.camera_id(connection, intent.camera_serial, at),
        "folder": intent.folder,
        "stem": intent.stem,
        "asked_at": intent.asked_at,
        "released_by": intent.released_by,
        "state": FrameState.RELEASING,
        "state_text": "",
        "fired": FIRED_IN[FrameState.RELEASING],
    }
    connection.execute(insert(Frame).values(**row))
    for rule, reason in intent.overrulings.items():
        overruling = {"frame_id": intent.frame_id, "rule": rule, "reason": reason, "overruled_at": at}
        connection.execute(insert(Overruling).values(**overruling))
        said = f"frame {intent.number}: {rule} overruled: {reason}"
        events.record(connection, at, events.OVERRULING, said, intent.frame_id, {"rule": rule, "new": reason})


def _check_place(connection: Connection, intent: Intent, place: Place) -> None:
    """The view and the revision must be of the job that gives the number."""
    jobs = select(Piece.job_id).join(View).where(View.view_id == place.view_id)
    if connection.scalar(jobs) != place.job_id:
        raise LogError(f"The log doesn't know the view {place.view} of {place.piece} in the job {place.job}.")
    revisions = select(Setup.job_id).join(RevisionRow).where(RevisionRow.revision_id == intent.revision_id)
    if connection.scalar(revisions) != place.job_id:
        raise LogError(f"The log doesn't know this set-up in the job {place.job}.")


def move(
    connection: Connection,
    frame_id: str,
    state: FrameState,
    at: datetime,
    fired: Fired | None = None,
    said: str = "",
    **more: Any,
) -> None:
    """Record the state, what is known of the shutter, and what a person should know of it.

    A frame that is moved to `missing`, rather than told so by `missing`, was sought on disk and card in vain.
    """
    if state is FrameState.MISSING:
        more.setdefault("sought_at", at)
    values = {"state": state, "fired": fired or FIRED_IN.get(state, Fired.NO), "state_text": said, **more}
    open_still = or_(Frame.state.not_in(FINAL), Frame.state == state)
    changed = connection.execute(update(Frame).where(Frame.frame_id == frame_id, open_still).values(**values))
    if not changed.rowcount:
        row = of(connection, frame_id)
        said = f"frame {row.number} is {row.state} and stays so, though it was to become {state}"
        events.record(connection, at, events.LATE, said, frame_id)
    elif said:
        events.record(connection, at, events.STATE, said, frame_id, {"state": state})


def fired(connection: Connection, frame_id: str, released_at: datetime, at: datetime) -> None:
    """The shutter went. The first time that was told stays."""
    earliest = func.coalesce(Frame.released_at, released_at)
    move(connection, frame_id, FrameState.RECEIVING, at, released_at=earliest)


def add_file(connection: Connection, frame_id: str, file: SavedFile, at: datetime) -> None:
    """A file is safe on disk. The same file told twice is one row."""
    row = of(connection, frame_id)
    card_object_id = cards.settle(connection, row.camera_id, file.card, frame_id, at)
    told = (FrameFile.frame_id == frame_id, FrameFile.path == file.path, FrameFile.sha256 == file.sha256)
    if connection.scalar(select(FrameFile.position).where(*told)) is not None:
        return
    values = {
        "frame_id": frame_id,
        "position": next_position(connection, FrameFile, frame_id),
        "kind": file.kind,
        "path": file.path,
        "bytes": file.bytes,
        "sha256": file.sha256,
        "saved_at": at,
        "card_object_id": card_object_id,
    }
    connection.execute(insert(FrameFile).values(**values))


def saved(connection: Connection, frame_id: str, at: datetime) -> None:
    """All files are safe."""
    move(connection, frame_id, FrameState.SAVED, at, saved_at=func.coalesce(Frame.saved_at, at))


def missing(
    connection: Connection,
    frame_id: str,
    objects: Iterable[CardObject],
    said: str,
    fired: Fired,
    at: datetime,
) -> None:
    """Not all of it is safe; the objects are where it may be found."""
    row = of(connection, frame_id)
    for card_object in objects:
        cards.announce(connection, row.camera_id, card_object, frame_id, at)
    state = FrameState.UNCERTAIN if fired is Fired.UNKNOWN else FrameState.MISSING
    move(connection, frame_id, state, at, fired, said, sought_at=None)


def unsettled(connection: Connection, camera_serial: str | None) -> tuple[Unsettled, ...]:
    """Frames in the middle, by number within their jobs' order of asking."""
    states = [state for state in FrameState if state in UNSETTLED]
    query = select(Frame, frame_models.Camera.serial).join(frame_models.Camera)
    query = query.where(text(MOVING), Frame.state.in_(states)).order_by(Frame.asked_at, Frame.number)
    if camera_serial is not None:
        query = query.where(frame_models.Camera.serial == camera_serial)
    return tuple(
        Unsettled(
            frame_id=row.frame_id,
            number=row.number,
            state=FrameState(row.state),
            camera_serial=row.serial,
            folder=row.folder,
            stem=row.stem,
            asked_at=row.asked_at,
            fired=Fired(row.fired),
            released_by=ReleasedBy(row.released_by),
            expected=_objects(connection, row.frame_id, MISSING),
            saved=tuple(path.rpartition("/")[2] for path in connection.scalars(_paths(row.frame_id))),
            saved_objects=_objects(connection, row.frame_id, SAVED),
            expected_files=_expected_files(connection, row.frame_id),
            sought=row.sought_at is not None,
        )
        for row in connection.execute(query).all()
    )


def _expected_files(connection: Connection, frame_id: str) -> int:
    """How many files the format makes that the camera was set to; 0 when it didn't say."""
    readings = select(CameraReading.settings).where(CameraReading.frame_id == frame_id)
    settings = connection.scalar(readings.order_by(CameraReading.position.desc()).limit(1)) or {}
    return FILES_OF_FORMAT.get(settings.get("file_format", {}).get("value"), 0)


def of(connection: Connection, frame_id: str) -> Any:
    """The frame's row. Raises LogError when there is none."""
    row = connection.execute(select(Frame).where(Frame.frame_id == frame_id)).first()
    if row is None:
        raise LogError(f"The log knows no frame {frame_id}.")
    return row


def next_position(connection: Connection, table: Any, frame_id: str) -> int:
    """The place after the last of the frame's rows in a table of its details."""
    last = connection.scalar(select(func.max(table.position)).where(table.frame_id == frame_id))
    return 0 if last is None else last + 1


def _objects(connection: Connection, frame_id: str, disposition: str) -> tuple[CardObject, ...]:
    table = frame_models.CardObject
    query = select(table.folder, table.name, table.bytes, table.modified_at_s)
    query = query.where(table.frame_id == frame_id, table.disposition == disposition)
    return tuple(CardObject(*row) for row in connection.execute(query.order_by(table.card_object_id)))


def _paths(frame_id: str) -> Any:
    return select(FrameFile.path).where(FrameFile.frame_id == frame_id).order_by(FrameFile.position)
