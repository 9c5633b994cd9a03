"""Questions on logged frames: which were left in the middle, which hold given files, and where a frame belongs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, exists, select, text

from session.frame.camera_messages import CardObject, Fired
from session.frame.ports import LogError, Origin, Place
from session.frame.states import UNSETTLED, FrameState, Intent, LoggedFrame, ReleasedBy
from session.shoot.flight import FILES_OF_FORMAT
from storage.schema import frame_models
from storage.schema.frame_models import (
    MISSING,
    MOVING,
    SAVED,
    CameraReadingTable,
    FrameFileTable,
    FrameTable,
    JudgementTable,
    OverrulingTable,
)
from storage.schema.models import JobTable, PieceTable, ViewTable
from storage.schema.station_models import FetchedFrameTable
from storage.writing import cards, setups

_ROWS_OF_BODY = """
    SELECT camera.camera_id FROM frame AS here
    JOIN camera AS own ON own.camera_id = here.camera_id
    JOIN camera ON camera.camera_id = own.camera_id OR (camera.model = own.model
        AND (camera.serial = camera.model OR camera.serial LIKE :older)
        AND (own.serial = own.model OR own.serial LIKE :older))
    WHERE here.frame_id = :frame_id
"""
"""The keys in `camera` of the body that took a frame, see `cards.is_body`."""


def origin(connection: Connection, frame_id: str) -> Origin:
    """A frame's intent, place and revision, and whether it was judged. Raises LogError when the log lacks the frame."""
    judged = exists().where(JudgementTable.frame_id == FrameTable.frame_id)
    query = select(
        FrameTable, frame_models.CameraTable.serial, JobTable.job_id, PieceTable.piece_id, ViewTable.view_id,
        JobTable.name.label("job"), PieceTable.name.label("piece"), ViewTable.name.label("view"),
        judged.label("judged"),
    )  # fmt: skip
    query = query.select_from(FrameTable).join(ViewTable, ViewTable.view_id == FrameTable.view_id)
    query = query.join(PieceTable, PieceTable.piece_id == ViewTable.piece_id)
    query = query.join(JobTable, JobTable.job_id == FrameTable.job_id)
    query = query.join(frame_models.CameraTable, frame_models.CameraTable.camera_id == FrameTable.camera_id)
    row: Any = connection.execute(query.where(FrameTable.frame_id == frame_id)).first()
    if row is None:
        raise LogError(f"The log knows no frame {frame_id}.")
    place = Place(row.job_id, row.piece_id, row.view_id, row.job, row.piece, row.view)
    revision = setups.load(connection, [row.revision_id])[row.revision_id]
    return Origin(_intent(connection, row, row.serial), place, revision, bool(row.judged))


def unsettled_frames(connection: Connection, camera_serial: str | None) -> tuple[LoggedFrame, ...]:
    """This station's frames in the middle, in the order of their rows: the computer's clock may have jumped."""
    states = [state for state in FrameState if state in UNSETTLED]
    query = select(FrameTable, frame_models.CameraTable.serial).join(frame_models.CameraTable)
    query = query.where(
        text(MOVING), FrameTable.state.in_(states), FrameTable.frame_id.not_in(select(FetchedFrameTable.frame_id))
    )
    query = query.order_by(text("frame.rowid"))
    if camera_serial is not None:
        query = query.where(cards.is_body(camera_serial))
    return tuple(_logged_frame(connection, row, row.serial) for row in connection.execute(query).all())


def holders(connection: Connection, camera_serial: str, names: Sequence[str]) -> tuple[LoggedFrame, ...]:
    """Frames with a saved file on this camera's cards, where the file's name without its ending is among `names`."""
    table = frame_models.CardObjectTable
    found = {}
    for name in dict.fromkeys(names):
        query = select(FrameTable).distinct().join(table, table.frame_id == FrameTable.frame_id)
        query = query.where(cards.is_of_body(camera_serial), table.disposition == SAVED)
        for row in connection.execute(query.where(table.name.startswith(f"{name}.", autoescape=True))):
            found[row.frame_id] = _logged_frame(connection, row, camera_serial)
    return tuple(found.values())


def neighbours(connection: Connection, frame_id: str) -> tuple[CardObject | None, CardObject | None]:
    """See `Log.neighbours`; frames are in the order in which their rows were begun."""
    return _neighbour(connection, frame_id, "<", "DESC"), _neighbour(connection, frame_id, ">", "ASC")


def _neighbour(connection: Connection, frame_id: str, side: str, order: str) -> CardObject | None:
    """The nearest frame's object; each row of the body has a query of its own, which an index answers."""
    query = f"""
        SELECT frame.rowid, o.folder, o.name, o.bytes, o.modified_at_s FROM frame
        JOIN card_object AS o ON o.frame_id = frame.frame_id AND o.disposition = :saved
        WHERE frame.camera_id = :camera_id
            AND frame.rowid {side} (SELECT here.rowid FROM frame AS here WHERE here.frame_id = :frame_id)
        ORDER BY frame.rowid {order} LIMIT 1
    """
    key = {"frame_id": UUID(frame_id).hex, "saved": SAVED}
    bodies = connection.scalars(text(_ROWS_OF_BODY), key | {"older": cards.OLDER_NAME}).all()
    found = [connection.execute(text(query), key | {"camera_id": camera_id}).first() for camera_id in bodies]
    by_row = {row[0]: CardObject(*row[1:]) for row in found if row is not None}
    nearest = max(by_row, default=None) if side == "<" else min(by_row, default=None)
    return None if nearest is None else by_row[nearest]


def _expected_files(connection: Connection, frame_id: str) -> int:
    """How many files the camera's file format makes of a release; 0 when the camera didn't tell the format."""
    readings = select(CameraReadingTable.settings).where(CameraReadingTable.frame_id == frame_id)
    settings = connection.scalar(readings.order_by(CameraReadingTable.position.desc()).limit(1)) or {}
    return FILES_OF_FORMAT.get(settings.get("file_format", {}).get("value"), 0)


def _logged_frame(connection: Connection, row: Any, serial: str) -> LoggedFrame:
    return LoggedFrame(
        intent=_intent(connection, row, serial),
        state=FrameState(row.state),
        fired=Fired(row.fired),
        expected=_objects(connection, row.frame_id, MISSING),
        saved=_saved_names(connection, row.frame_id),
        saved_objects=_objects(connection, row.frame_id, SAVED),
        expected_files=_expected_files(connection, row.frame_id),
        sought=row.sought_at is not None,
    )


def _intent(connection: Connection, row: Any, serial: str) -> Intent:
    """The intent with which a frame was begun; `serial` is its camera's."""
    table = OverrulingTable
    reasons = connection.execute(select(table.rule, table.reason).where(table.frame_id == row.frame_id))
    return Intent(
        frame_id=row.frame_id,
        number=row.number,
        revision_id=row.revision_id,
        camera_serial=serial,
        folder=row.folder,
        stem=row.stem,
        asked_at=row.asked_at,
        released_by=ReleasedBy(row.released_by),
        overrulings={overruling.rule: overruling.reason for overruling in reasons},
        ambient=row.ambient,
        solo=row.solo,
        series=frame_models.plane_of(row),
    )


def _objects(connection: Connection, frame_id: str, disposition: str) -> tuple[CardObject, ...]:
    table = frame_models.CardObjectTable
    query = select(table.folder, table.name, table.bytes, table.modified_at_s)
    query = query.where(table.frame_id == frame_id, table.disposition == disposition)
    return tuple(CardObject(*row) for row in connection.execute(query.order_by(table.card_object_id)))


def _saved_names(connection: Connection, frame_id: str) -> tuple[str, ...]:
    query = select(FrameFileTable.path).where(FrameFileTable.frame_id == frame_id).order_by(FrameFileTable.position)
    return tuple(path.rpartition("/")[2] for path in connection.scalars(query))
