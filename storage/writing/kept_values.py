"""The wish for a view and the focus peak of a set-up, kept as events, of which the newest is in force.

A wish is the planner's input for a view, also for the same view of another piece. The peak is that of live view's fine
contrast, and belongs to a set-up and piece.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, select

from session.frame.ports import KeptPeak, Place, RefusedForGoodError
from session.set.setup import Region
from storage.schema.models import EventTable, SetupTable
from storage.writing import event_rows


def keep_wish(connection: Connection, place: Place, wish: Mapping[str, object], at: datetime) -> None:
    """Keep the wish's fields with this view."""
    payload = {"job_id": place.job_id, "view_id": place.view_id, "view": place.view, "wish": dict(wish)}
    at = event_rows.time_of_act(connection, place.job_id, at)
    event_rows.record(connection, at, event_rows.WISH, f"wished of {place.piece}, {place.view}", None, payload)


def newest_wish(connection: Connection, place: Place) -> dict[str, object] | None:
    """The newest wish for this view, else for the job's view of that name of another piece; None without a wish."""
    query = select(EventTable.payload).where(EventTable.kind == event_rows.WISH)
    newest = connection.scalars(query.order_by(EventTable.at.desc(), EventTable.event_id.desc()))
    of_job = [held for held in newest if held and held["job_id"] == place.job_id]
    own = next((held for held in of_job if held["view_id"] == place.view_id), None)
    found = own or next((held for held in of_job if held["view"].casefold() == place.view.casefold()), None)
    return dict(found["wish"]) if found else None


def keep_peak(connection: Connection, place: Place, setup_number: int, peak: KeptPeak, at: datetime) -> None:
    """Record a focus peak for a set-up and piece. Raises RefusedForGoodError when the job has no such set-up."""
    setup_id = _setup_id(connection, place, setup_number)
    if setup_id is None:
        raise RefusedForGoodError(f"The job {place.job} has no set-up {setup_number:02d}.")
    at, region = event_rows.time_of_act(connection, place.job_id, at), peak.region
    payload = {
        "job_id": place.job_id,
        "setup_id": setup_id,
        "piece_id": place.piece_id,
        "contrast": peak.contrast,
        "region": [region.left, region.top, region.width, region.height],
        "live_width_px": peak.live_width_px,
        "seen_at": peak.seen_at.isoformat(),
    }
    text = f"set-up {setup_number:02d}, {place.piece}: fine contrast {peak.contrast:.2f} % at best in live view"
    event_rows.record(connection, at, event_rows.FOCUS_PEAK, text, None, payload)


def newest_peak(connection: Connection, place: Place, setup_number: int) -> KeptPeak | None:
    """The newest focus peak of this set-up and piece, whichever station wrote it; None without one."""
    setup_id = _setup_id(connection, place, setup_number)
    query = select(EventTable.payload).where(EventTable.kind == event_rows.FOCUS_PEAK)
    found = connection.scalars(query.order_by(EventTable.at.desc(), EventTable.event_id.desc()))
    for held in found:
        if held and held["setup_id"] == setup_id and held["piece_id"] == place.piece_id:
            seen_at = datetime.fromisoformat(held["seen_at"])
            return KeptPeak(held["contrast"], Region(*held["region"]), held["live_width_px"], seen_at)
    return None


def _setup_id(connection: Connection, place: Place, setup_number: int) -> str | None:
    query = select(SetupTable.setup_id).where(SetupTable.job_id == place.job_id, SetupTable.number == setup_number)
    return connection.scalar(query)
