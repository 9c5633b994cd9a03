"""Taking back what a person did to a job, act by act, and doing it again.

The events of a job are folded into two heaps: acts that can be taken back, and acts that were. Taking back is an act of
its own, on record like all others with what it replaced (`undoes` or `redoes` names the act), so that nothing is ever
lost and the archive hears of it. Marks, notes and references get back what stood before; a set-up gets a new revision
like the one before the change, since revisions are never changed and frames keep theirs. What machines recorded can't
be taken back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, or_, select

from session.ports import LogError, Place, TakenBack
from storage import acts, events, models, setups
from storage.frame_models import Frame
from storage.models import Event, Job, Setup, View

KINDS = (events.MARK, events.NOTE, events.NOTE_CHANGED, events.REFERENCE, events.REVISION)


@dataclass(frozen=True)
class _Act:
    event_id: str
    kind: str
    text: str
    frame_id: str | None
    payload: Mapping[str, Any]


def undo(connection: Connection, place: Place, at: datetime) -> TakenBack | None:
    """Take the job's last act back; None when there is none left."""
    done, _ = _heaps(connection, place.job_id)
    return _turn(connection, done[-1], "old", "undoes", at) if done else None


def redo(connection: Connection, place: Place, at: datetime) -> TakenBack | None:
    """Do again what was taken back last; None when nothing was, or something else was done since."""
    _, taken_back = _heaps(connection, place.job_id)
    return _turn(connection, taken_back[-1], "new", "redoes", at) if taken_back else None


def _heaps(connection: Connection, job_id: str) -> tuple[list[_Act], list[_Act]]:
    """Acts that can be taken back, and those that were: the next one to go last."""
    done: list[_Act] = []
    taken_back: list[_Act] = []
    for act in _acts(connection, job_id):
        if "undoes" in act.payload:
            _move(act.payload["undoes"], done, taken_back)
        elif "redoes" in act.payload:
            _move(act.payload["redoes"], taken_back, done)
        else:
            done.append(act)
            taken_back.clear()
    return done, taken_back


def _move(event_id: str, source: list[_Act], target: list[_Act]) -> None:
    for act in [act for act in source if act.event_id == event_id]:
        source.remove(act)
        target.append(act)


def _acts(connection: Connection, job_id: str) -> list[_Act]:
    """The job's acts in order; the first revision of a set-up is none, since there is nothing before it."""
    revisions = select(models.Revision.revision_id, models.Revision.number).join(Setup)
    of_job = {row.revision_id: row.number for row in connection.execute(revisions.where(Setup.job_id == job_id))}
    since = select(Job.created_at).where(Job.job_id == job_id).scalar_subquery()
    query = select(Event).outerjoin(Frame, Frame.frame_id == Event.frame_id)
    query = query.where(
        or_(Frame.job_id == job_id, (Event.kind == events.REVISION) & (Event.at >= since)), Event.kind.in_(KINDS)
    )
    found = []
    for row in connection.execute(query.order_by(Event.at, Event.event_id)):
        act = _Act(row.event_id, row.kind, row.text, row.frame_id, row.payload or {})
        if act.kind != events.REVISION or of_job.get(act.payload["revision_id"], 1) > 1:
            found.append(act)
    return found


def _turn(connection: Connection, act: _Act, side: str, how: str, at: datetime) -> TakenBack:
    """`side`: which value of the act comes into force, `old` or `new`."""
    said = f"{'taken back' if how == 'undoes' else 'done again'}: {act.text}"
    if act.kind == events.REVISION:
        return _revise(connection, act, said, side, how, at)
    about, value = acts.subject(act.kind, act.frame_id, act.payload), act.payload[side]
    acts.put(connection, about, act.frame_id, value, at)
    keys = {name: key for name, key in act.payload.items() if name.endswith("_id")}
    payload = keys | {"old": act.payload["new" if side == "old" else "old"], "new": value, how: act.event_id}
    kind = events.NOTE_CHANGED if about[0] == "note" else act.kind
    events.record(connection, at, kind, said, act.frame_id, payload)
    return TakenBack(said, act.frame_id)


def _revise(connection: Connection, act: _Act, said: str, side: str, how: str, at: datetime) -> TakenBack:
    """A new revision like the one before the change, or, when it is done again, like the changed one."""
    table = models.Revision
    row = connection.execute(
        select(table.setup_id, table.number, Setup.job_id)
        .join(Setup)
        .where(table.revision_id == act.payload["revision_id"])
    ).one()
    wanted = select(table.revision_id, table.view_id).where(table.setup_id == row.setup_id)
    wanted = wanted.where(table.number < row.number if side == "old" else table.number == row.number)
    model = connection.execute(wanted.order_by(table.number.desc()).limit(1)).first()
    if model is None:
        raise LogError(f"There is nothing before this to go back to ({act.text}).")
    old = setups.load(connection, [model.revision_id])[model.revision_id]
    number = setups.next_revision_number(connection, row.job_id, old.setup_number)
    revision = replace(old, revision=number)
    place = _place(connection, model.view_id)
    said = f"{said}; set-up {revision.label} is like {old.label}"
    key = setups.save(connection, place, revision, at, {"text": said, how: act.event_id})
    return TakenBack(said, None, revision, key)


def _place(connection: Connection, view_id: str) -> Place:
    columns = (Job.job_id, models.Piece.piece_id, View.view_id, Job.name, models.Piece.name, View.name)
    query = select(*columns).select_from(View).join(models.Piece).join(Job)
    return Place(*connection.execute(query.where(View.view_id == view_id)).one())
