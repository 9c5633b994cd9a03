"""The append-only table of events: people's acts with the values that they replaced, and news for a person."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, insert, select

from storage.schema.frame_models import FrameTable
from storage.schema.models import EventTable, JobTable, RevisionTable, SetupTable

PLACE, CLIENT, REVISION, OVERRULING = "place", "client", "revision", "overruling"
REFERENCE, MARK, NOTE, NOTE_CHANGED = "reference", "mark", "note", "note changed"
STATE, LATE, FOCUS_PEAK, JUDGED_ANEW = "state", "late", "focus peak", "judged anew"
ARRANGED, CHOSEN = "arranged", "set-up chosen"
WISH, CARD, SETTLED, ORDER = "wish", "card", "settled by hand", "order"
STEP = "step"
"""Kinds that the log itself writes; the controller adds its own words by `SqlLog.record`."""

OF_PEOPLE = (
    CLIENT, REVISION, REFERENCE, MARK, NOTE, NOTE_CHANGED, FOCUS_PEAK, JUDGED_ANEW, ARRANGED, CHOSEN, WISH, STEP,
)  # fmt: skip
"""Acts about a job, of which the newest about the same thing is in force."""

TICK = timedelta(microseconds=1)
"""The smallest step of a time in the log."""


def time_of_act(connection: Connection, job_id: str, now: datetime) -> datetime:
    """The time that a new act about the job gets: `now`, or just after the newest act that the log has of the job.

    So an act is never dated before an act that it replaces, undoes or goes on from, whatever the clocks of this and of
    other stations say: a hybrid logical clock for each job. Source: S. Kulkarni and others, "Logical Physical Clocks",
    OPODIS 2014.
    """
    later = select(EventTable.at, EventTable.payload, FrameTable.job_id).outerjoin(
        FrameTable, FrameTable.frame_id == EventTable.frame_id
    )
    later = later.where(EventTable.kind.in_(OF_PEOPLE), EventTable.at >= now).order_by(EventTable.at.desc())
    with connection.execute(later) as found:
        newest = next((row.at for row in found if (row.job_id or _job_of(connection, row.payload)) == job_id), None)
    began = connection.scalar(select(JobTable.created_at).where(JobTable.job_id == job_id, JobTable.created_at >= now))
    return max([now, *(before + TICK for before in (newest, began) if before is not None)])


def _job_of(connection: Connection, payload: Mapping[str, Any] | None) -> str | None:
    """The job of an act about no frame."""
    told = payload or {}
    if "revision_id" not in told:
        return told.get("job_id")
    query = select(SetupTable.job_id).join(RevisionTable, RevisionTable.setup_id == SetupTable.setup_id)
    return connection.scalar(query.where(RevisionTable.revision_id == told["revision_id"]))


def record(
    connection: Connection,
    at: datetime,
    kind: str,
    text: str,
    frame_id: str | None = None,
    payload: Mapping[str, object] | None = None,
) -> None:
    """Append an event. `payload` of a person's act: its subject, and `old` and `new`, so that the act can be undone.

    A frame that the log doesn't know, since its release was refused, is left out: the words count.
    """
    frame = select(FrameTable.frame_id).where(FrameTable.frame_id == frame_id).scalar_subquery() if frame_id else None
    row = {"at": at, "kind": kind, "text": text, "frame_id": frame}
    connection.execute(insert(EventTable).values(**row, payload=dict(payload) if payload is not None else None))
