"""Undo and redo of what a person did to a job, act by act.

The events of a job are folded into two heaps: acts that can be undone, and acts that were. Undo is an act of
its own, on record like all others with what it replaced (`undoes` or `redoes` names the act), so that nothing is ever
lost and the archive hears of it. Marks, notes, references, arrangements and words on the steps of a reshoot get back
what stood before; revisions are never changed, and frames keep theirs. What machines recorded can't be undone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, or_, select

from session.frame.ports import LogError, Place, Standing, Undone
from session.shoot.changes import back_words, change_words
from storage.schema import models
from storage.schema.frame_models import FrameTable
from storage.schema.models import EventTable, JobTable, PieceTable, SetupTable, ViewTable
from storage.writing import acts_in_force, event_rows, setups, standing

KINDS = (
    event_rows.MARK,
    event_rows.NOTE,
    event_rows.NOTE_CHANGED,
    event_rows.REFERENCE,
    event_rows.REVISION,
    event_rows.ARRANGED,
    event_rows.STEP,
)


@dataclass(frozen=True)
class _Act:
    event_id: str
    kind: str
    text: str
    frame_id: str | None
    payload: Mapping[str, Any]


def undo(connection: Connection, place: Place, at: datetime) -> Undone | None:
    """Undo the job's last act; None when no act is left to undo."""
    done, _ = _heaps(connection, place.job_id)
    return _turn(connection, done[-1], "old", "undoes", place, at) if done else None


def possible(connection: Connection, place: Place) -> bool:
    """Whether the job has an act that can be undone."""
    done, _ = _heaps(connection, place.job_id)
    return bool(done)


def redo(connection: Connection, place: Place, at: datetime) -> Undone | None:
    """Redo the act undone last; None when no act was undone, or another was done since."""
    _, undone = _heaps(connection, place.job_id)
    return _turn(connection, undone[-1], "new", "redoes", place, at) if undone else None


def looked_ahead(
    connection: Connection,
    place: Place,
    at: datetime,
    turn: Callable[[Connection, Place, datetime], Undone | None],
) -> Undone | None:
    """The outcome that `undo` or `redo` would have: the act is done, and rolled back."""
    with connection.begin_nested() as nested:
        found = turn(connection, place, at)
        nested.rollback()
    return found


def _heaps(connection: Connection, job_id: str) -> tuple[list[_Act], list[_Act]]:
    """Acts that can be undone, and acts that can be redone; the next act to take is the last of its list."""
    done: list[_Act] = []
    undone: list[_Act] = []
    for act in _acts(connection, job_id):
        if "undoes" in act.payload:
            _move(act.payload["undoes"], done, undone)
        elif "redoes" in act.payload:
            _move(act.payload["redoes"], undone, done)
        else:
            _do(act, done)
            undone.clear()
    return done, undone


def _do(act: _Act, done: list[_Act]) -> None:
    """Add an act to the acts done, or join it to the act before that it continues.

    A change that has come back to its beginning is no act any more.
    """
    before = done[-1] if done else None
    continued = act.payload.get("act")
    if before is None or not continued or before.payload.get("act") != continued:
        done.append(act)
        return
    done[-1] = replace(before, payload={**before.payload, "new": act.payload["new"]})
    if act.payload["new"] == before.payload["old"]:
        done.pop()


def _move(event_id: str, source: list[_Act], target: list[_Act]) -> None:
    for act in [act for act in source if act.event_id == event_id]:
        source.remove(act)
        target.append(act)


def _acts(connection: Connection, job_id: str) -> list[_Act]:
    """The job's acts in order; a set-up's first revision isn't an act, since no revision is before it."""
    revisions = select(models.RevisionTable.revision_id, models.RevisionTable.number).join(SetupTable)
    of_job = {row.revision_id: row.number for row in connection.execute(revisions.where(SetupTable.job_id == job_id))}
    since = select(JobTable.created_at).where(JobTable.job_id == job_id).scalar_subquery()
    query = select(EventTable).outerjoin(FrameTable, FrameTable.frame_id == EventTable.frame_id)
    kinds = (event_rows.REVISION, event_rows.ARRANGED, event_rows.STEP)
    of_no_frame = EventTable.kind.in_(kinds) & (EventTable.at >= since)
    query = query.where(or_(FrameTable.job_id == job_id, of_no_frame), EventTable.kind.in_(KINDS))
    found = []
    for row in connection.execute(query.order_by(EventTable.at, EventTable.event_id)):
        act = _Act(row.event_id, row.kind, row.text, row.frame_id, row.payload or {})
        if act.kind == event_rows.REVISION and of_job.get(act.payload["revision_id"], 1) == 1:
            continue
        if act.payload.get("job_id", job_id) == job_id:
            found.append(act)
    return found


def _turn(connection: Connection, act: _Act, side: str, how: str, place: Place, at: datetime) -> Undone:
    """Bring the `side` of an act into force, `old` or `new`. `place` is where the person is."""
    return replace(_put_in_force(connection, act, side, how, place, at), act_id=act.event_id)


def _put_in_force(connection: Connection, act: _Act, side: str, how: str, place: Place, at: datetime) -> Undone:
    said = f"{'undone' if how == 'undoes' else 'redone'}: {act.text}"
    if act.kind == event_rows.REVISION:
        return _go_back_to_revision(connection, act, said, side, how, place, at)
    if act.kind == event_rows.ARRANGED:
        return _arrange(connection, act, side, how, place, at)
    if act.kind == event_rows.STEP:
        return _say_of_step(connection, act, said, side, how, place, at)
    about, value = acts_in_force.subject(act.kind, act.frame_id, act.payload), act.payload[side]
    at = event_rows.time_of_act(connection, place.job_id, at)
    acts_in_force.put(connection, about, act.frame_id, value, at)
    keys = {name: key for name, key in act.payload.items() if name.endswith("_id")}
    payload = keys | {"old": act.payload["new" if side == "old" else "old"], "new": value, how: act.event_id}
    kind = event_rows.NOTE_CHANGED if about[0] == "note" else act.kind
    event_rows.record(connection, at, kind, said, act.frame_id, payload)
    return Undone(said, act.frame_id)


def _say_of_step(
    connection: Connection, act: _Act, said: str, side: str, how: str, place: Place, at: datetime
) -> Undone:
    """Bring back the word on a step that an act replaced, or the word that it gave; either is an event."""
    turned = {"old": act.payload["new" if side == "old" else "old"], "new": act.payload[side]}
    kept = {name: value for name, value in act.payload.items() if name not in ("undoes", "redoes")}
    at = event_rows.time_of_act(connection, place.job_id, at)
    event_rows.record(connection, at, event_rows.STEP, said, None, kept | turned | {how: act.event_id})
    return Undone(said, None)


def _arrange(connection: Connection, act: _Act, side: str, how: str, place: Place, at: datetime) -> Undone:
    """Have the view go on with the arrangement before a change, or, when the change is redone, after it."""
    job_id, view_id = act.payload["job_id"], act.payload["view_id"]
    old, new = (standing.standing_of(connection, job_id, act.payload[name]) for name in ("old", "new"))
    wanted = old if side == "old" else new
    if old is None or new is None or wanted is None:
        raise LogError(f"The log hasn't got what stood before this ({act.text}).")
    is_undo = how == "undoes"
    verb = "undone" if is_undo else "redone"
    changed = back_words(new.revision, old.revision) if is_undo else change_words(old.revision, new.revision)
    if old.revision.setup_number != new.revision.setup_number:
        changed = f"set-up {new.revision.label}"
    said = f"{verb}: {changed}; set-up {wanted.revision.label} stands now{_elsewhere(connection, view_id, place)}"
    return Undone(
        said, None, standing.turn_to(connection, job_id, view_id, wanted, said, {how: act.event_id}, at), view_id
    )


def _go_back_to_revision(
    connection: Connection, act: _Act, said: str, side: str, how: str, place: Place, at: datetime
) -> Undone:
    """Undo a revision that was written without a frame: the revision before it is in force again; or redo it."""
    table = models.RevisionTable
    row = connection.execute(
        select(table.setup_id, table.number, table.view_id, SetupTable.job_id)
        .join(SetupTable)
        .where(table.revision_id == act.payload["revision_id"])
    ).one()
    wanted = select(table.revision_id).where(table.setup_id == row.setup_id)
    wanted = wanted.where(table.number < row.number if side == "old" else table.number == row.number)
    key = connection.scalar(wanted.order_by(table.number.desc()).limit(1))
    if key is None:
        raise LogError(f"There is nothing before this to go back to ({act.text}).")
    revision = setups.load(connection, [key])[key]
    said = f"{said}; set-up {revision.label} stands now{_elsewhere(connection, row.view_id, place)}"
    back = standing.turn_to(connection, row.job_id, row.view_id, Standing(revision, key), said, {how: act.event_id}, at)
    return Undone(said, None, back, row.view_id)


def _elsewhere(connection: Connection, view_id: str, place: Place) -> str:
    """The piece and view of an act, as ` for bridge 7, top`; "" when the view is the place's own."""
    if view_id == place.view_id:
        return ""
    query = (
        select(PieceTable.name, ViewTable.name)
        .join(ViewTable, ViewTable.piece_id == PieceTable.piece_id)
        .where(ViewTable.view_id == view_id)
    )
    piece, view = connection.execute(query).one()
    return f" for {piece}, {view}"
