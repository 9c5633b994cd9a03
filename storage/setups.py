"""Set-ups and their immutable revisions: from the value to rows and back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, insert, select

from session.ports import Place
from session.setup import Arrangement, PassiveItem, PlacedLight, Region, Revision, Settings
from storage import events, models
from storage.columns import new_key
from storage.models import RevisionLight, RevisionPassive, Setup

SETTINGS = ("exposure_s", "f_number", "iso", "white_balance", "file_format")
ARRANGEMENT = (
    "lens",
    "focal_length_mm",
    "magnification",
    "pupil_magnification",
    "reversed",
    "extension_mm",
    "dioptres",
    "converter",
)
RECTANGLE = ("left", "top", "width", "height")
PLAIN = (
    "body",
    "trigger",
    "hold_off_s",
    "blur_limit_px",
    "depth_needed_mm",
    "must_be_sharp",
    "may_fall_off",
    "ambient_ev",
    "notes",
)
LIGHT = ("name", "power_ev", "distance_mm", "azimuth_deg", "elevation_deg", "shaper", "note")
PASSIVE = ("kind", "name", "distance_mm", "azimuth_deg", "elevation_deg", "note")
"""Fields of the values that are columns of the same name (those of rectangles end in _fraction)."""


def next_number(connection: Connection, job_id: str) -> int:
    """The number after the job's highest set-up."""
    return (connection.scalar(select(func.max(Setup.number)).where(Setup.job_id == job_id)) or 0) + 1


def next_revision_number(connection: Connection, job_id: str, setup_number: int) -> int:
    """The number after the set-up's highest revision."""
    of_setup = (Setup.job_id == job_id, Setup.number == setup_number)
    return (connection.scalar(select(func.max(models.Revision.number)).join(Setup).where(*of_setup)) or 0) + 1


def save(connection: Connection, place: Place, revision: Revision, at: datetime) -> str:
    """Write a revision that no frame has used yet, as an act of a person; returns its key."""
    at = events.time_of_act(connection, place.job_id, at)
    revision_id = new_key()
    add(connection, place, revision, revision_id, at)
    payload = {"revision_id": revision_id, "setup_number": revision.setup_number, "new": revision.label}
    events.record(connection, at, events.REVISION, f"set-up {revision.label}", payload=payload)
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
        "stand": revision.support,
        "ticked": list(revision.confirmed),
        "light_count": len(revision.lights),
        "passive_count": len(revision.passive),
        **{name: getattr(revision.settings, name) for name in SETTINGS},
        **{name: getattr(revision.arrangement, name) for name in ARRANGEMENT},
        **{f"region_{name}_fraction": getattr(revision.region, name) for name in RECTANGLE},
        **{f"patch_{name}_fraction": getattr(revision.grey_patch, name, None) for name in RECTANGLE},
        **{name: getattr(revision, name) for name in PLAIN},
    }
    connection.execute(insert(models.Revision).values(**row))
    lights = [_row(revision_id, n, light, LIGHT) for n, light in enumerate(revision.lights)]
    if lights:
        connection.execute(insert(RevisionLight), lights)
    passive = [_row(revision_id, n, item, PASSIVE) for n, item in enumerate(revision.passive)]
    if passive:
        connection.execute(insert(RevisionPassive), passive)


def _setup(connection: Connection, job_id: str, number: int, at: datetime) -> str:
    query = select(Setup.setup_id).where(Setup.job_id == job_id, Setup.number == number)
    found = connection.scalar(query)
    if found is not None:
        return found
    setup_id = new_key()
    connection.execute(insert(Setup).values(setup_id=setup_id, job_id=job_id, number=number, created_at=at))
    return setup_id


def _row(revision_id: str, position: int, item: object, names: tuple[str, ...]) -> dict[str, object]:
    return {"revision_id": revision_id, "position": position, **{name: getattr(item, name) for name in names}}


def load(connection: Connection, revision_ids: Iterable[str]) -> dict[str, Revision]:
    """The revisions of these keys, with all that belongs to them; unknown keys are left out."""
    keys = list(revision_ids)
    lights: dict[str, list[PlacedLight]] = defaultdict(list)
    query = select(RevisionLight).where(RevisionLight.revision_id.in_(keys))
    for row in connection.execute(query.order_by(RevisionLight.revision_id, RevisionLight.position)):
        lights[row.revision_id].append(PlacedLight(**{name: getattr(row, name) for name in LIGHT}))
    passive: dict[str, list[PassiveItem]] = defaultdict(list)
    items = select(RevisionPassive).where(RevisionPassive.revision_id.in_(keys))
    for item in connection.execute(items.order_by(RevisionPassive.revision_id, RevisionPassive.position)):
        passive[item.revision_id].append(PassiveItem(**{name: getattr(item, name) for name in PASSIVE}))
    revisions = select(models.Revision, Setup.number.label("setup_number")).join(Setup)
    return {
        row.revision_id: _revision(row, lights[row.revision_id], passive[row.revision_id])
        for row in connection.execute(revisions.where(models.Revision.revision_id.in_(keys)))
    }


def _revision(row: Any, lights: list[PlacedLight], passive: list[PassiveItem]) -> Revision:
    return Revision(
        setup_number=row.setup_number,
        revision=row.number,
        settings=Settings(**{name: getattr(row, name) for name in SETTINGS}),
        arrangement=Arrangement(**{name: getattr(row, name) for name in ARRANGEMENT}),
        lights=tuple(lights),
        passive=tuple(passive),
        region=_rectangle(row, "region"),
        grey_patch=None if row.patch_left_fraction is None else _rectangle(row, "patch"),
        support=row.stand,
        confirmed=tuple(row.ticked),
        **{name: getattr(row, name) for name in PLAIN},
    )


def _rectangle(row: Any, word: str) -> Region:
    return Region(**{name: getattr(row, f"{word}_{name}_fraction") for name in RECTANGLE})
