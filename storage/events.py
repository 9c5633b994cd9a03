"""The append-only table of what happened: people's acts with what they replaced, and what a person should know."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, insert, select

from storage.frame_models import Frame
from storage.models import Event

PLACE, CLIENT, REVISION, OVERRULING = "place", "client", "revision", "overruling"
REFERENCE, MARK, NOTE, NOTE_CHANGED = "reference", "mark", "note", "note changed"
STATE, LATE, FOCUS_PEAK, JUDGED_ANEW = "state", "late", "focus peak", "judged anew"
ARRANGED, CHOSEN = "arranged", "set-up chosen"
WISH = "wish"
"""Kinds that the log itself writes; the controller adds its own words by `SqlLog.record`."""


def record(
    connection: Connection,
    at: datetime,
    kind: str,
    text: str,
    frame_id: str | None = None,
    payload: Mapping[str, object] | None = None,
) -> None:
    """Append one. `payload` of a person's act: what it is about, and `old` and `new`, so that it can be undone.

    A frame that the log doesn't know, since its release was refused, is left out: the words count.
    """
    frame = select(Frame.frame_id).where(Frame.frame_id == frame_id).scalar_subquery() if frame_id else None
    row = {"at": at, "kind": kind, "text": text, "frame_id": frame}
    connection.execute(insert(Event).values(**row, payload=dict(payload) if payload is not None else None))
