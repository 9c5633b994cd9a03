"""Cameras, and the objects on their cards with the frame of each, so that no object is given to two frames."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, ScalarSelect, and_, bindparam, func, or_, select, text, update
from sqlalchemy.dialects import sqlite

from session.frame import camera_messages as protocol
from session.units.ids import new_id
from storage.schema.columns import AnyText
from storage.schema.frame_models import FOUND_BEFORE, MISSING, SAVED, CameraTable, CardObjectTable, FrameTable
from storage.schema.prepared import Prepared, binds, table_of

_CAMERA, _OBJECT, _FRAME = table_of(CameraTable), table_of(CardObjectTable), table_of(FrameTable)

OLDER_NAME = "usb:%"
"""The name, as SQL's LIKE has it, of a camera on USB without a serial number in a log of an older stillset."""

_IDENTITY: list[Any] = ["camera_id", "folder", "name", "bytes", text("coalesce(modified_at_s, -1)")]
"""As in the index `uq_card_object_identity`."""


def is_body(serial: str) -> ColumnElement[bool]:
    """True for the rows of `camera` that are this body's.

    A body that is known by its model's name has those of its model, too, that an older stillset named by their
    addresses on USB: several addresses are one body that was plugged in elsewhere, as a rule. What a frame began with
    is never changed, so such rows stay as they are.
    """
    older = and_(CameraTable.model == serial, CameraTable.serial.like(OLDER_NAME))
    return or_(CameraTable.serial == serial, older)


def is_of_body(serial: str) -> ColumnElement[bool]:
    """True for the rows of `card_object` that are on this body's cards; an index leads to them."""
    return CardObjectTable.camera_id.in_(select(CameraTable.camera_id).where(is_body(serial)))


def id_of(serial: str) -> ScalarSelect[str]:
    """The key of the camera whose serial number is the parameter of this name, as part of a statement."""
    return select(_CAMERA.c.camera_id).where(_CAMERA.c.serial == bindparam(serial, type_=AnyText())).scalar_subquery()


def _object_of(camera_id: ScalarSelect[str]) -> sqlite.Insert:
    return sqlite.insert(_OBJECT).values(binds(_OBJECT, "camera_id") | {"camera_id": camera_id})


_NEW_OWNER = {name: bindparam(name, type_=_OBJECT.c[name].type) for name in ("disposition", "frame_id")}
_CAMERA_OF_FRAME = (
    select(_FRAME.c.camera_id)
    .where(_FRAME.c.frame_id == bindparam("frame_id", type_=_OBJECT.c.frame_id.type))
    .scalar_subquery()
)

_ENSURE_CAMERA = Prepared(sqlite.insert(_CAMERA).values(binds(_CAMERA)).on_conflict_do_nothing())
_NOTE = Prepared(_object_of(id_of("serial")).on_conflict_do_nothing())
_SETTLE = Prepared(
    _object_of(_CAMERA_OF_FRAME)
    .on_conflict_do_update(index_elements=_IDENTITY, set_=_NEW_OWNER)
    .returning(_OBJECT.c.card_object_id)
)
_ANNOUNCE = Prepared(
    _object_of(_CAMERA_OF_FRAME).on_conflict_do_update(
        index_elements=_IDENTITY, set_=_NEW_OWNER, where=_OBJECT.c.disposition != text(f"'{SAVED}'")
    )
)


def ensure_camera(connection: Connection, serial: str, at: datetime) -> None:
    """A row for the body with this serial number, made when it is new."""
    row = {"camera_id": new_id(), "serial": serial, "model": "", "first_seen_at": at, "card_noted_at": None}
    _ENSURE_CAMERA.run(connection, row)


def note_model(connection: Connection, serial: str, model: str, at: datetime) -> None:
    """Keep the model's name, as the camera tells it."""
    ensure_camera(connection, serial, at)
    connection.execute(update(CameraTable).where(CameraTable.serial == serial).values(model=model))


def is_new(connection: Connection, serial: str) -> bool:
    """True when nobody has noted what is on this camera's card."""
    return connection.scalar(select(func.max(CameraTable.card_noted_at)).where(is_body(serial))) is None


def note_card(connection: Connection, serial: str, objects: Iterable[protocol.CardObject], at: datetime) -> None:
    """Note objects that lay on the card before the shoot and belong to no frame; known objects stay as they are."""
    ensure_camera(connection, serial, at)
    rows = [_row(card_object, FOUND_BEFORE, None, at) | {"serial": serial} for card_object in objects]
    _NOTE.run_many(connection, rows)
    connection.execute(update(CameraTable).where(CameraTable.serial == serial).values(card_noted_at=at))


def settle(connection: Connection, card_object: protocol.CardObject, frame_id: str, at: datetime) -> str:
    """Note that a card object is a saved file of this frame; returns the object's key."""
    row = _row(card_object, SAVED, frame_id, at)
    return str(UUID(_SETTLE.run(connection, row).scalar_one()))


def announce(connection: Connection, objects: Iterable[protocol.CardObject], frame_id: str, at: datetime) -> None:
    """Note that the camera announced these objects for the frame; an object saved already stays saved."""
    _ANNOUNCE.run_many(connection, [_row(card_object, MISSING, frame_id, at) for card_object in objects])


def known_objects(connection: Connection, serial: str) -> frozenset[protocol.CardObject]:
    """The settled objects of this camera's cards: found before the shoot, or saved files of a frame."""
    columns = (CardObjectTable.folder, CardObjectTable.name, CardObjectTable.bytes, CardObjectTable.modified_at_s)
    query = select(*columns).where(is_of_body(serial), CardObjectTable.disposition != MISSING)
    return frozenset(protocol.CardObject(*row) for row in connection.execute(query))


def _row(card_object: protocol.CardObject, disposition: str, frame_id: str | None, at: datetime) -> dict[str, Any]:
    return {
        "card_object_id": new_id(),
        "folder": card_object.folder,
        "name": card_object.name,
        "bytes": card_object.bytes,
        "modified_at_s": card_object.modified_at,
        "disposition": disposition,
        "frame_id": frame_id,
        "noted_at": at,
    }
