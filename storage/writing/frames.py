"""The rows of a frame from the intent before the release to the judged files: a function for each step, in order.

A step that comes after a frame is done is put on record and changes nothing: the rows of a finished frame are
true, and a late message must not stop the log.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, bindparam, exists, func, insert, select, update
from sqlalchemy.dialects import sqlite

from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.ports import Place, RefusedForGoodError
from session.frame.states import (
    SHUTTER,
    SOUGHT_IN_VAIN,
    TRANSITIONS,
    FrameEvent,
    FrameState,
    ImpossibleTransitionError,
    Intent,
    next_state,
)
from session.set.setup import Revision
from storage.schema.columns import AnyText, Instant
from storage.schema.frame_models import (
    FINAL,
    FileCopyTable,
    FrameFileTable,
    FrameTable,
    OverrulingTable,
    plane_columns,
)
from storage.schema.prepared import Prepared, binds, next_position, table_of
from storage.writing import cards, event_rows, setups

SIZES_TOLD = 24
"""More than any count of the room on the card looks at. Chosen."""

NOTHING_YET = dict.fromkeys(("released_at", "saved_at", "sought_at", "focus_verdict", "verdict", "mark"), None) | {
    "state_text": ""
}


_FRAME, _FILE, _COPY = table_of(FrameTable), table_of(FrameFileTable), table_of(FileCopyTable)

_BEGIN = Prepared(insert(_FRAME).values(binds(_FRAME, "camera_id") | {"camera_id": cards.id_of("serial")}))

_STATE = Prepared(
    select(_FRAME.c.number, _FRAME.c.state).where(_FRAME.c.frame_id == bindparam("key", type_=_FRAME.c.frame_id.type))
)

_MOVE = Prepared(
    update(_FRAME)
    .where(_FRAME.c.frame_id == bindparam("key", type_=_FRAME.c.frame_id.type))
    .values(
        state=bindparam("becomes", type_=AnyText()),
        state_text=bindparam("said", type_=AnyText()),
        fired=bindparam("shutter", type_=AnyText()),
        released_at=func.coalesce(_FRAME.c.released_at, bindparam("released", type_=Instant())),
        saved_at=func.coalesce(_FRAME.c.saved_at, bindparam("safe", type_=Instant())),
        sought_at=bindparam("sought", type_=Instant()),
    )
)

_ADD_FILE = Prepared(
    insert(_FILE).from_select(
        _FILE.columns.keys(),
        select(*(binds(_FILE) | {"position": next_position(_FILE)}).values()).where(
            ~exists().where(
                _FILE.c.frame_id == bindparam("frame_id", type_=_FILE.c.frame_id.type),
                _FILE.c.path == bindparam("path", type_=AnyText()),
                _FILE.c.sha256 == bindparam("sha256", type_=AnyText()),
            )
        ),
    )
)

_ADD_COPY = Prepared(sqlite.insert(_COPY).values(binds(_COPY)).on_conflict_do_nothing())


def next_number(connection: Connection, job_id: str) -> int:
    """The number after the job's highest frame."""
    return (connection.scalar(select(func.max(FrameTable.number)).where(FrameTable.job_id == job_id)) or 0) + 1


def sizes(connection: Connection, job_id: str) -> tuple[int, ...]:
    """Bytes of all files of each of the job's last frames, newest last."""
    query = select(func.sum(FrameFileTable.bytes)).join(FrameTable, FrameTable.frame_id == FrameFileTable.frame_id)
    query = query.where(FrameTable.job_id == job_id).group_by(FrameTable.frame_id, FrameTable.number)
    return tuple(reversed(connection.scalars(query.order_by(FrameTable.number.desc()).limit(SIZES_TOLD)).all()))


def begin(connection: Connection, intent: Intent, place: Place, at: datetime, draft: Revision | None = None) -> None:
    """The row of a frame that is about to be released.

    draft   the arrangement that it is released by, where that is to become the revision of the intent's key
    """
    if draft is not None:
        setups.add(connection, place, draft, intent.revision_id, at)
    cards.ensure_camera(connection, intent.camera_serial, at)
    row = {
        "frame_id": intent.frame_id,
        "job_id": place.job_id,
        "number": intent.number,
        "view_id": place.view_id,
        "revision_id": intent.revision_id,
        "serial": intent.camera_serial,
        "folder": intent.folder,
        "stem": intent.stem,
        "asked_at": intent.asked_at,
        "released_by": intent.released_by,
        "state": intent.state,
        "fired": SHUTTER[intent.state],
        "ambient": intent.ambient,
        "solo": intent.solo,
        **plane_columns(intent.series),
    }
    _BEGIN.run(connection, NOTHING_YET | row)
    for rule, reason in intent.overrulings.items():
        overruling = {"frame_id": intent.frame_id, "rule": rule, "reason": reason, "overruled_at": at}
        connection.execute(insert(OverrulingTable).values(**overruling))
        said = f"frame {intent.number}: {rule} overruled: {reason}"
        event_rows.record(connection, at, event_rows.OVERRULING, said, intent.frame_id, {"rule": rule, "new": reason})


def move(
    connection: Connection,
    frame_id: str,
    event: FrameEvent,
    at: datetime,
    said: str = "",
    *,
    released_at: datetime | None = None,
    objects: Iterable[CardObject] = (),
) -> FrameState:
    """The state that the event leads to from the one that the log has, by the table; see `Log.move_frame`."""
    before = _state_of(connection, frame_id)
    cards.announce(connection, objects, frame_id, at)
    try:
        state = next_state(before.state, event)
    except ImpossibleTransitionError as error:
        _refuse_move(connection, before, event, at, error)
        return before.state
    row = {
        "key": frame_id,
        "becomes": state,
        "said": said,
        "shutter": SHUTTER.get(state, Fired.NO),
        "released": released_at,
        "safe": at if state is FrameState.SAVED else None,
        "sought": at if event in SOUGHT_IN_VAIN else None,
    }
    _MOVE.run(connection, row)
    if said:
        event_rows.record(connection, at, event_rows.STATE, said, frame_id, {"state": state})
    return state


@dataclass(frozen=True)
class _Stands:
    frame_id: str
    number: int
    state: FrameState


def _state_of(connection: Connection, frame_id: str) -> _Stands:
    row: Any = _STATE.run(connection, {"key": frame_id}).first()
    if row is None:
        raise unknown(frame_id)
    return _Stands(frame_id, row.number, FrameState(row.state))


def _refuse_move(
    connection: Connection, before: _Stands, event: FrameEvent, at: datetime, error: ImpossibleTransitionError
) -> None:
    """Put a late event on record, and let pass an event that is told twice. Raises RefusedForGoodError for others."""
    if before.state in FINAL:
        said = f"frame {before.number} is {before.state} and stays so, though it was told: {event}"
        event_rows.record(connection, at, event_rows.LATE, said, before.frame_id)
    elif before.state not in {TRANSITIONS[entry] for entry in TRANSITIONS if entry[1] is event}:
        raise RefusedForGoodError(f"Frame {before.number} can't be moved: {error}.") from error


def add_file(connection: Connection, frame_id: str, file: SavedFile, at: datetime) -> None:
    """Add a file that is safe on disk, with its second copy if any. A file told twice is one row."""
    row = {
        "frame_id": frame_id,
        "kind": file.kind,
        "path": file.path,
        "bytes": file.bytes,
        "sha256": file.sha256,
        "saved_at": at,
        "card_object_id": cards.settle(connection, file.card, frame_id, at),
    }
    _ADD_FILE.run(connection, row)
    if file.copy_path:
        copy = {"frame_id": frame_id, "sha256": file.sha256, "path": file.copy_path, "saved_at": at}
        _ADD_COPY.run(connection, copy)


def note_copies(connection: Connection, frame_id: str, objects: Sequence[CardObject], at: datetime) -> None:
    """Note that card objects are copies of the frame's saved files on a second card."""
    number = of(connection, frame_id).number
    for card_object in objects:
        cards.settle(connection, card_object, frame_id, at)
    where = ", ".join(f"{one.folder}/{one.name}" for one in objects)
    event_rows.record(connection, at, event_rows.CARD, f"frame {number}: a copy on a second card: {where}", frame_id)


def of(connection: Connection, frame_id: str) -> Any:
    """The frame's row. Raises RefusedForGoodError when the log has no such frame."""
    row = connection.execute(select(FrameTable).where(FrameTable.frame_id == frame_id)).first()
    if row is None:
        raise unknown(frame_id)
    return row


def unknown(frame_id: str) -> RefusedForGoodError:
    """The error about a frame that the log does not have."""
    return RefusedForGoodError(f"The log knows no frame {frame_id}.")
