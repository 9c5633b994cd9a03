"""The arrangement with which a view goes on, kept as events: the newest event about the view is in force.

An event has the arrangement before and after it, each as the key of a revision, or as a draft in full where no frame
has used it yet. A draft that a frame has made a revision is known by its contents: an arrangement equal to a revision
of the set-up is that revision, so that going back to it makes no second one. A view without an event, as in older logs,
goes on with the arrangement that it was last shot with, or that was last written for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict, fields, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, select

from session.frame.ports import Place, Standing
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Region, Revision, Settings
from session.shoot.changes import change_words
from session.units.names import name_key
from storage.schema import models
from storage.schema.models import EventTable, PieceTable, SetupTable, ViewTable
from storage.schema.search_models import RevisionUseTable
from storage.writing import event_rows, setups

KINDS = (event_rows.ARRANGED, event_rows.CHOSEN)


OLD_NAMES = {"stand": "support", "ticked": "confirmed"}
"""Names that fields of a revision had in drafts of older logs."""


def standing(connection: Connection, place: Place) -> Standing | None:
    """The arrangement of the view of these names, else the newest of a view of that name of the job's other pieces."""
    views = select(ViewTable.view_id, PieceTable.name, PieceTable.name_key).join(
        PieceTable, PieceTable.piece_id == ViewTable.piece_id
    )
    views = views.where(PieceTable.job_id == place.job_id, ViewTable.name_key == name_key(place.view))
    found = connection.execute(views).all()
    own = [(row.view_id, row.name) for row in found if row.name_key == name_key(place.piece)]
    others = [(row.view_id, row.name) for row in found if row.name_key != name_key(place.piece)]
    for group in (own, others):
        told = [(*one, name) for view_id, name in group if (one := of_view(connection, view_id)) is not None]
        if told:
            _, newest, name = max(told, key=lambda one: one[0])
            return replace(newest, piece=name)
    return None


def of_view(connection: Connection, view_id: str) -> tuple[datetime, Standing] | None:
    """A view's arrangement and since when it holds; None for a view without frame, revision or choice."""
    about = select(EventTable.at, EventTable.payload).where(EventTable.kind.in_(KINDS))
    about = about.where(EventTable.payload["view_id"].as_string() == view_id)
    for row in connection.execute(about.order_by(EventTable.at.desc(), EventTable.event_id.desc())):
        found = standing_of(connection, row.payload["job_id"], row.payload["new"])
        if found is not None:
            return row.at, found
    return _without_events(connection, view_id)


def _without_events(connection: Connection, view_id: str) -> tuple[datetime, Standing] | None:
    shot = select(RevisionUseTable.revision_id, RevisionUseTable.last_asked_at.label("at")).where(
        RevisionUseTable.view_id == view_id
    )
    written = select(models.RevisionTable.revision_id, models.RevisionTable.created_at.label("at"))
    written = written.where(models.RevisionTable.view_id == view_id)
    newest = [
        connection.execute(shot.order_by(RevisionUseTable.last_asked_at.desc()).limit(1)).first(),
        connection.execute(
            written.order_by(models.RevisionTable.created_at.desc(), models.RevisionTable.revision_id.desc()).limit(1)
        ).first(),
    ]
    told = [row for row in newest if row is not None]
    if not told:
        return None
    row = max(told, key=lambda one: one.at)
    return row.at, Standing(setups.load(connection, [row.revision_id])[row.revision_id], row.revision_id)


def begun_views(connection: Connection, view_ids: Iterable[str]) -> frozenset[str]:
    """The views, among these, for which a frame was shot, a set-up written or an arrangement chosen."""
    keys = list(view_ids)
    about = EventTable.payload["view_id"].as_string()
    chosen = connection.scalars(select(about).where(EventTable.kind.in_(KINDS), about.in_(keys)))
    shot = connection.scalars(select(RevisionUseTable.view_id).where(RevisionUseTable.view_id.in_(keys)))
    written = connection.scalars(select(models.RevisionTable.view_id).where(models.RevisionTable.view_id.in_(keys)))
    return frozenset([*chosen, *shot, *written])


def choose(connection: Connection, place: Place, chosen: Standing, at: datetime) -> Standing:
    """Have the view go on with this arrangement; a change is recorded. Returns the arrangement as the log has it."""
    after = _settle(connection, place.job_id, chosen)
    known = of_view(connection, place.view_id)
    if known is None or _side(known[1]) != _side(after):
        payload = {"job_id": place.job_id, "view_id": place.view_id, "new": _side(after)}
        said = f"set-up {after.revision.label} for {place.piece}, {place.view}"
        at = event_rows.time_of_act(connection, place.job_id, at)
        event_rows.record(connection, at, event_rows.CHOSEN, said, payload=payload)
    return after


def arrange(
    connection: Connection, place: Place, before: Standing, wanted: Standing, act: str, at: datetime
) -> Standing:
    """Record a person's change of the arrangement, with the one it replaces. Returns the new one as the log has it."""
    after = _settle(connection, place.job_id, wanted)
    said = f"set-up {after.revision.label}: {change_words(before.revision, after.revision)}"
    _record(connection, place.job_id, place.view_id, before, after, said, at, {"act": act} if act else {})
    return after


def turn_to(
    connection: Connection, job_id: str, view_id: str, wanted: Standing, said: str, how: dict[str, str], at: datetime
) -> Standing:
    """Bring an earlier arrangement of the view into force, as undo and redo do; `how` names the act."""
    after = _settle(connection, job_id, wanted)
    known = of_view(connection, view_id)
    before = known[1] if known else after
    _record(connection, job_id, view_id, before, after, said, at, how)
    return after


def standing_of(connection: Connection, job_id: str, side: dict[str, Any]) -> Standing | None:
    """The arrangement on one side of an event, before or after; None when the log lacks the revision."""
    if "draft" in side:
        draft = Standing(revision_from(side["draft"]), "", tuple(side["from_camera"]))
        return _settle(connection, job_id, draft)
    found = setups.load(connection, [side["revision_id"]])
    return Standing(found[side["revision_id"]], side["revision_id"]) if found else None


def next_setup_number(connection: Connection, job_id: str) -> int:
    """The number after the job's highest set-up, drafts that stand at its views counted in."""
    drafted = [draft.setup_number for draft in drafts(connection, job_id)]
    return max([setups.next_number(connection, job_id) - 1, *drafted]) + 1


def drafts(connection: Connection, job_id: str) -> Iterator[Revision]:
    """The arrangements that stand at the job's views and that no frame has used yet."""
    about = select(EventTable.payload).where(
        EventTable.kind.in_(KINDS), EventTable.payload["job_id"].as_string() == job_id
    )
    seen = set()
    for payload in connection.scalars(about.order_by(EventTable.at.desc(), EventTable.event_id.desc())).all():
        assert payload is not None
        if payload["view_id"] not in seen:
            seen.add(payload["view_id"])
            found = standing_of(connection, job_id, payload["new"])
            if found is not None and not found.revision_id:
                yield found.revision


def _settle(connection: Connection, job_id: str, wanted: Standing) -> Standing:
    """The arrangement as the set-up's revision that equals it, else as a draft with the next revision number."""
    same = _revision_like(connection, job_id, wanted.revision)
    if same is not None:
        return replace(wanted, revision=same[1], revision_id=same[0], from_camera=())
    number = setups.next_revision_number(connection, job_id, wanted.revision.setup_number)
    return replace(wanted, revision=replace(wanted.revision, revision=number), revision_id="")


def _revision_like(connection: Connection, job_id: str, wanted: Revision) -> tuple[str, Revision] | None:
    """The newest revision of the set-up that differs in nothing but its number."""
    query = select(models.RevisionTable.revision_id).join(SetupTable).where(SetupTable.job_id == job_id)
    query = query.where(
        SetupTable.number == wanted.setup_number, models.RevisionTable.exposure_s == wanted.settings.exposure_s
    )
    query = query.where(func.coalesce(models.RevisionTable.f_number, 0) == (wanted.settings.f_number or 0))
    found = setups.load(connection, connection.scalars(query).all())
    alike = [(key, one) for key, one in found.items() if replace(one, revision=wanted.revision) == wanted]
    return max(alike, key=lambda one: one[1].revision) if alike else None


def _record(
    connection: Connection,
    job_id: str,
    view_id: str,
    before: Standing,
    after: Standing,
    said: str,
    at: datetime,
    how: dict[str, str],
) -> None:
    payload = {"job_id": job_id, "view_id": view_id, "old": _side(before), "new": _side(after), **how}
    at = event_rows.time_of_act(connection, job_id, at)
    event_rows.record(connection, at, event_rows.ARRANGED, said, payload=payload)


def _side(one: Standing) -> dict[str, Any]:
    if one.revision_id:
        return {"revision_id": one.revision_id}
    return {"draft": asdict(one.revision), "from_camera": list(one.from_camera)}


def revision_from(told: dict[str, Any]) -> Revision:
    """The revision of an event's draft; fields that a later stillset added are left out."""
    told = {OLD_NAMES.get(name, name): value for name, value in told.items()}
    values = _known_fields(Revision, told) | {
        "settings": Settings(**_known_fields(Settings, told["settings"])),
        "arrangement": Arrangement(**_known_fields(Arrangement, told["arrangement"])),
        "lights": tuple(PlacedLight(**_known_fields(PlacedLight, one)) for one in told["lights"]),
        "passive": tuple(PassiveItem(**_known_fields(PassiveItem, one)) for one in told["passive"]),
        "region": Region(**told["region"]),
        "grey_patch": Region(**told["grey_patch"]) if told["grey_patch"] else None,
        "confirmed": tuple(told["confirmed"]),
    }
    return Revision(**values)


def _known_fields(kind: type[Any], told: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in told.items() if name in {field.name for field in fields(kind)}}
