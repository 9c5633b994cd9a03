"""The frames of a focus series, as the log has them."""

from __future__ import annotations

from sqlalchemy import Connection, exists, func, or_, select

from session.frame.finding import SPOILT, Level
from session.frame.shot_plane import ShotPlane
from session.frame.states import FrameState, Mark
from storage.schema.frame_models import FindingTable, FrameTable, JudgementTable, plane_of


def shot_planes(connection: Connection, series_id: str) -> tuple[ShotPlane, ...]:
    """See `Log.shot_planes`; what an earlier judgement found doesn't count. Spoilt as `is_spoilt` has it."""
    latest = (
        select(func.max(JudgementTable.position))
        .where(JudgementTable.frame_id == FrameTable.frame_id)
        .correlate(FrameTable)
        .scalar_subquery()
    )
    flaw = exists().where(
        FindingTable.frame_id == FrameTable.frame_id,
        FindingTable.judgement_position == latest,
        FindingTable.name.in_(list(SPOILT)),
        FindingTable.level != Level.NOTE,
    )
    spoilt = or_(flaw, func.coalesce(FrameTable.mark, "") == Mark.KILL).label("spoilt")
    query = select(FrameTable, spoilt).where(FrameTable.series_id == series_id).order_by(FrameTable.number)
    found = []
    for row in connection.execute(query):
        plane = plane_of(row)
        assert plane is not None
        found.append(ShotPlane(row.frame_id, row.number, plane, FrameState(row.state), bool(row.spoilt)))
    return tuple(found)
