"""The order of a job out of the log, with what was shot for each of its views."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import Connection, select

from session.frame.finding import FocusVerdict, Verdict
from session.frame.states import FrameState
from session.order.order_progress import Progress, ShotFrame, ViewProgress
from session.units.names import name_key
from storage.schema.frame_models import FrameTable
from storage.schema.models import JobTable, ReferenceTable
from storage.writing.kept_order import kept_order


def progress_of(connection: Connection, job: str) -> Progress | None:
    """The job's order and how far its shooting is; None for a job without an order."""
    job_id = connection.scalar(select(JobTable.job_id).where(JobTable.name_key == name_key(job)))
    kept = kept_order(connection, job_id) if job_id else None
    if job_id is None or kept is None:
        return None
    frames = _frames(connection, job_id)
    views = (
        ViewProgress(kept.pieces[view.piece_id], view.name, tuple(frames[view.view_id]), view.wanted)
        for view in kept.views
    )
    return Progress(kept.order, tuple(views))


def _frames(connection: Connection, job_id: str) -> dict[str, list[ShotFrame]]:
    """view_id → its frames by number."""
    columns = (
        "frame_id",
        "number",
        "state",
        "mark",
        "focus_verdict",
        "verdict",
        "ambient",
        "solo",
        "series_id",
        "view_id",
    )
    query = select(*(getattr(FrameTable, name) for name in columns)).where(FrameTable.job_id == job_id)
    of_job = FrameTable.frame_id == ReferenceTable.frame_id
    references = set(
        connection.scalars(select(ReferenceTable.frame_id).join(FrameTable, of_job).where(FrameTable.job_id == job_id))
    )
    found: dict[str, list[ShotFrame]] = defaultdict(list)
    for row in connection.execute(query.order_by(FrameTable.number)):
        found[row.view_id].append(
            ShotFrame(
                row.number,
                FrameState(row.state),
                row.mark,
                FocusVerdict(row.focus_verdict) if row.focus_verdict else None,
                Verdict(row.verdict) if row.verdict else None,
                row.ambient or bool(row.solo),
                row.frame_id in references,
                row.series_id is not None,
            )
        )
    return found
