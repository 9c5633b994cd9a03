"""What was wished of a view at the planner: an event, the newest in force, also for the same view of another piece."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, select

from session.frame.ports import Place
from storage.schema.models import EventTable
from storage.writing import event_rows


def keep(connection: Connection, place: Place, wish: Mapping[str, object], at: datetime) -> None:
    """Keep the wish's fields with this view."""
    payload = {"job_id": place.job_id, "view_id": place.view_id, "view": place.view, "wish": dict(wish)}
    at = event_rows.time_of_act(connection, place.job_id, at)
    event_rows.record(connection, at, event_rows.WISH, f"wished of {place.piece}, {place.view}", None, payload)


def newest_wish(connection: Connection, place: Place) -> dict[str, object] | None:
    """The newest of this view, else of the job's view of that name for another piece; None without one."""
    query = select(EventTable.payload).where(EventTable.kind == event_rows.WISH)
    newest = connection.scalars(query.order_by(EventTable.at.desc(), EventTable.event_id.desc()))
    of_job = [held for held in newest if held and held["job_id"] == place.job_id]
    own = next((held for held in of_job if held["view_id"] == place.view_id), None)
    found = own or next((held for held in of_job if held["view"].casefold() == place.view.casefold()), None)
    return dict(found["wish"]) if found else None
