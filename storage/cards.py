"""Cameras, and what is on their cards: whose each object is, so that nothing is taken for a frame twice."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, and_, func, insert, literal_column, select, update

from session.cameras import protocol
from storage.columns import new_key
from storage.frame_models import FOUND_BEFORE, MISSING, SAVED, Camera, CardObject


def camera_id(connection: Connection, serial: str, at: datetime) -> str:
    """The key of the body with this serial number, made when it is new."""
    found = connection.scalar(select(Camera.camera_id).where(Camera.serial == serial))
    if found is not None:
        return found
    key = new_key()
    row = {"camera_id": key, "serial": serial, "model": "", "first_seen_at": at, "card_noted_at": None}
    connection.execute(insert(Camera).values(**row))
    return key


def note_model(connection: Connection, serial: str, model: str, at: datetime) -> None:
    """Keep the model's name, as the camera tells it."""
    key = camera_id(connection, serial, at)
    connection.execute(update(Camera).where(Camera.camera_id == key).values(model=model))


def is_new(connection: Connection, serial: str) -> bool:
    """True when nobody has noted what is on this camera's card."""
    return connection.scalar(select(Camera.card_noted_at).where(Camera.serial == serial)) is None


def note_card(connection: Connection, serial: str, objects: Iterable[protocol.CardObject], at: datetime) -> None:
    """These are nobody's frames. An object that is known already stays what it is."""
    key = camera_id(connection, serial, at)
    for card_object in objects:
        if _find(connection, key, card_object) is None:
            _add(connection, key, card_object, FOUND_BEFORE, None, at)
    connection.execute(update(Camera).where(Camera.camera_id == key).values(card_noted_at=at))


def settle(connection: Connection, camera: str, card_object: protocol.CardObject, frame_id: str, at: datetime) -> str:
    """It is a saved file of this frame; returns its key."""
    found = _find(connection, camera, card_object)
    if found is None:
        return _add(connection, camera, card_object, SAVED, frame_id, at)
    change = update(CardObject).where(CardObject.card_object_id == found)
    connection.execute(change.values(disposition=SAVED, frame_id=frame_id))
    return found


def announce(
    connection: Connection, camera: str, card_object: protocol.CardObject, frame_id: str, at: datetime
) -> None:
    """It was announced for this frame and is not saved. What is saved already stays so."""
    found = _find(connection, camera, card_object)
    if found is None:
        _add(connection, camera, card_object, MISSING, frame_id, at)
        return
    change = update(CardObject).where(CardObject.card_object_id == found, CardObject.disposition != SAVED)
    connection.execute(change.values(disposition=MISSING, frame_id=frame_id))


def known(connection: Connection, serial: str) -> frozenset[protocol.CardObject]:
    """What is settled on this camera's cards: there before we came, or a frame's saved file."""
    columns = (CardObject.folder, CardObject.name, CardObject.bytes, CardObject.modified_at_s)
    query = select(*columns).join(Camera).where(Camera.serial == serial, CardObject.disposition != MISSING)
    return frozenset(protocol.CardObject(*row) for row in connection.execute(query))


def _same(camera: str, card_object: protocol.CardObject) -> ColumnElement[bool]:
    modified_at_s = -1 if card_object.modified_at is None else card_object.modified_at
    return and_(
        CardObject.camera_id == camera,
        CardObject.folder == card_object.folder,
        CardObject.name == card_object.name,
        CardObject.bytes == card_object.bytes,
        func.coalesce(CardObject.modified_at_s, literal_column("-1")) == modified_at_s,
    )


def _find(connection: Connection, camera: str, card_object: protocol.CardObject) -> str | None:
    return connection.scalar(select(CardObject.card_object_id).where(_same(camera, card_object)))


def _add(
    connection: Connection,
    camera: str,
    card_object: protocol.CardObject,
    disposition: str,
    frame_id: str | None,
    at: datetime,
) -> str:
    key = new_key()
    row = {
        "card_object_id": key,
        "camera_id": camera,
        "folder": card_object.folder,
        "name": card_object.name,
        "bytes": card_object.bytes,
        "modified_at_s": card_object.modified_at,
        "disposition": disposition,
        "frame_id": frame_id,
        "noted_at": at,
    }
    connection.execute(insert(CardObject).values(**row))
    return key
