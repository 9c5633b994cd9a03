"""Set-ups and their immutable revisions: from the value to rows and back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import fields
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy import Connection, func, insert, select

from session.frame.ports import Place
from session.set.setup import (
    PLAIN,
    RECTANGLES,
    Arrangement,
    PassiveItem,
    Placed,
    PlacedLight,
    Region,
    Revision,
    Settings,
    field_values,
)
from session.units.ids import new_id
from storage.schema import models
from storage.schema.models import RevisionLightTable, RevisionPassiveTable, SetupTable
from storage.writing import event_rows

ValueT = TypeVar("ValueT")

OTHER_NAMES = {"support": "stand", "confirmed": "ticked", "grey_patch": "patch"}
"""Fields of a revision → their columns, where these were named before; all others are columns of the same name."""


def next_number(connection: Connection, job_id: str) -> int:
    """The number after the job's highest set-up."""
    return (connection.scalar(select(func.max(SetupTable.number)).where(SetupTable.job_id == job_id)) or 0) + 1


def next_revision_number(connection: Connection, job_id: str, setup_number: int) -> int:
    """The number after the set-up's highest revision."""
    of_setup = (SetupTable.job_id == job_id, SetupTable.number == setup_number)
    return (connection.scalar(select(func.max(models.RevisionTable.number)).join(SetupTable).where(*of_setup)) or 0) + 1


def save(connection: Connection, place: Place, revision: Revision, at: datetime) -> str:
    """Write a revision that no frame has used yet, as an act of a person; returns its key."""
    at = event_rows.time_of_act(connection, place.job_id, at)
    revision_id = new_id()
    add(connection, place, revision, revision_id, at)
    payload = {"revision_id": revision_id, "setup_number": revision.setup_number, "new": revision.label}
    event_rows.record(connection, at, event_rows.REVISION, f"set-up {revision.label}", payload=payload)
    return revision_id


def add(connection: Connection, place: Place, revision: Revision, revision_id: str, at: datetime) -> None:
    """Write the revision under this key, and the set-up when it is its first."""
    setup_id = _setup(connection, place.job_id, revision.setup_number, at)
    row = {
        "revision_id": revision_id,
        "setup_id": setup_id,
        "number": revision.revision,
        "view_id": place.view_id,
        "created_at": at,
        "light_count": len(revision.lights),
        "passive_count": len(revision.passive),
        **field_values(revision.settings),
        **field_values(revision.arrangement),
        **_plain_columns(revision),
    }
    connection.execute(insert(models.RevisionTable).values(**row))
    lights = [_row(revision_id, n, light) for n, light in enumerate(revision.lights)]
    if lights:
        connection.execute(insert(RevisionLightTable), lights)
    passive = [_row(revision_id, n, item) for n, item in enumerate(revision.passive)]
    if passive:
        connection.execute(insert(RevisionPassiveTable), passive)


def _setup(connection: Connection, job_id: str, number: int, at: datetime) -> str:
    query = select(SetupTable.setup_id).where(SetupTable.job_id == job_id, SetupTable.number == number)
    found = connection.scalar(query)
    if found is not None:
        return found
    setup_id = new_id()
    connection.execute(insert(SetupTable).values(setup_id=setup_id, job_id=job_id, number=number, created_at=at))
    return setup_id


def _row(revision_id: str, position: int, thing: Placed) -> dict[str, object]:
    return {"revision_id": revision_id, "position": position, **field_values(thing)}


def _plain_columns(revision: Revision) -> dict[str, object]:
    """A revision's plain fields by column: a rectangle takes four columns, a list is one value of JSON."""
    row: dict[str, object] = {}
    for name in PLAIN:
        value, column = getattr(revision, name), OTHER_NAMES.get(name, name)
        if name in RECTANGLES:
            row |= {f"{column}_{side.name}_fraction": getattr(value, side.name, None) for side in fields(Region)}
        else:
            row[column] = list(value) if isinstance(value, tuple) else value
    return row


def load(connection: Connection, revision_ids: Iterable[str]) -> dict[str, Revision]:
    """The revisions of these keys, with their lights and passive items; unknown keys are left out."""
    keys = list(revision_ids)
    lights: dict[str, list[PlacedLight]] = defaultdict(list)
    query = select(RevisionLightTable).where(RevisionLightTable.revision_id.in_(keys))
    for row in connection.execute(query.order_by(RevisionLightTable.revision_id, RevisionLightTable.position)):
        lights[row.revision_id].append(_read(PlacedLight, row))
    passive: dict[str, list[PassiveItem]] = defaultdict(list)
    items = select(RevisionPassiveTable).where(RevisionPassiveTable.revision_id.in_(keys))
    for item in connection.execute(items.order_by(RevisionPassiveTable.revision_id, RevisionPassiveTable.position)):
        passive[item.revision_id].append(_read(PassiveItem, item))
    revisions = select(models.RevisionTable, SetupTable.number.label("setup_number")).join(SetupTable)
    return {
        row.revision_id: _revision(row, lights[row.revision_id], passive[row.revision_id])
        for row in connection.execute(revisions.where(models.RevisionTable.revision_id.in_(keys)))
    }


def _revision(row: Any, lights: list[PlacedLight], passive: list[PassiveItem]) -> Revision:
    return Revision(
        setup_number=row.setup_number,
        revision=row.number,
        settings=_read(Settings, row),
        arrangement=_read(Arrangement, row),
        lights=tuple(lights),
        passive=tuple(passive),
        **{name: _plain(row, name) for name in PLAIN},
    )


def _plain(row: Any, name: str) -> Any:
    column = OTHER_NAMES.get(name, name)
    if name in RECTANGLES:
        sides = {side.name: getattr(row, f"{column}_{side.name}_fraction") for side in fields(Region)}
        return None if None in sides.values() else Region(**sides)
    value = getattr(row, column)
    return tuple(value) if isinstance(value, list) else value


def _read(kind: type[ValueT], row: Any) -> ValueT:
    """A dataclass whose fields are columns of the same name."""
    return kind(**{one.name: getattr(row, one.name) for one in fields(kind)})  # type: ignore[arg-type]
