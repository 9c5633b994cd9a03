"""Where a frame that an earlier run left in the middle belongs: its place, its set-up, what the checks have said."""

from __future__ import annotations

from sqlalchemy import Connection, exists, select

from session.frame.ports import LogError, Origin, Place
from storage.schema.frame_models import FrameTable, JudgementTable
from storage.schema.models import JobTable, PieceTable, ViewTable
from storage.writing import setups


def origin(connection: Connection, frame_id: str) -> Origin:
    """Raises LogError when there is no such frame."""
    judged = exists().where(JudgementTable.frame_id == FrameTable.frame_id)
    query = select(
        JobTable.job_id, PieceTable.piece_id, ViewTable.view_id, JobTable.name.label("job"),
        PieceTable.name.label("piece"), ViewTable.name.label("view"), FrameTable.revision_id, FrameTable.ambient,
        judged.label("judged"),
    )  # fmt: skip
    query = query.select_from(FrameTable).join(ViewTable, ViewTable.view_id == FrameTable.view_id)
    query = query.join(PieceTable, PieceTable.piece_id == ViewTable.piece_id).join(
        JobTable, JobTable.job_id == FrameTable.job_id
    )
    row = connection.execute(query.where(FrameTable.frame_id == frame_id)).first()
    if row is None:
        raise LogError(f"The log knows no frame {frame_id}.")
    place = Place(row.job_id, row.piece_id, row.view_id, row.job, row.piece, row.view)
    revision = setups.load(connection, [row.revision_id])[row.revision_id]
    return Origin(place, revision, row.revision_id, bool(row.judged), row.ambient)
