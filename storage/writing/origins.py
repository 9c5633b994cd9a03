"""Where a frame that an earlier run left in the middle belongs: its place, its set-up, what the checks have said."""

from __future__ import annotations

from sqlalchemy import Connection, exists, select

from session.frame.ports import LogError, Origin, Place
from storage.schema.frame_models import Frame, Judgement
from storage.schema.models import Job, Piece, View
from storage.writing import setups


def origin(connection: Connection, frame_id: str) -> Origin:
    """Raises LogError when there is no such frame."""
    judged = exists().where(Judgement.frame_id == Frame.frame_id)
    query = select(
        Job.job_id, Piece.piece_id, View.view_id, Job.name.label("job"), Piece.name.label("piece"),
        View.name.label("view"), Frame.revision_id, Frame.ambient, judged.label("judged"),
    )  # fmt: skip
    query = query.select_from(Frame).join(View, View.view_id == Frame.view_id)
    query = query.join(Piece, Piece.piece_id == View.piece_id).join(Job, Job.job_id == Frame.job_id)
    row = connection.execute(query.where(Frame.frame_id == frame_id)).first()
    if row is None:
        raise LogError(f"The log knows no frame {frame_id}.")
    place = Place(row.job_id, row.piece_id, row.view_id, row.job, row.piece, row.view)
    revision = setups.load(connection, [row.revision_id])[row.revision_id]
    return Origin(place, revision, row.revision_id, bool(row.judged), row.ambient)
