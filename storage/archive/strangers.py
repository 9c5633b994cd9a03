"""Checks of an archive's rows before a log takes them: whoever may write to the archive may have written anything.

A row that isn't as a station writes it is left out, with a sentence; the rest comes. Numbers, words and lengths are
looked at here, what keys point to and the ranges of columns by the log's own constraints. A path is only a name: a file
of a frame that was fetched is opened where it lies in the log's own folder only (`storage.database.reach`).
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from functools import cache
from types import SimpleNamespace
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import JSON, ColumnElement, DateTime, Table, Text, case, cast, func, literal_column
from sqlalchemy.types import TypeDecorator

from session.frame.states import Mark
from session.frame.step_said import StepWord
from session.set.setup import Region, Revision
from session.units.names import name_key
from storage.schema.frame_models import plane_of
from storage.writing import event_rows, standing

LONGEST_CHARS = 100_000
"""Of one text. More than anybody writes, and little enough to be held many times over. Chosen, no source."""

LONGEST_JSON = 1_000_000
"""Characters of one JSON value; all settings that a camera tells come to some 30,000. Chosen, no source."""

FIRST_DAY, LATEST = "timestamptz '1990-01-01 00:00Z'", "now() + interval '366 days'"
"""Between these a time can be meant: before digital cameras no frame was taken, and no clock that anybody looks at is
a year ahead."""

FIRST_TIME = datetime(1990, 1, 1, tzinfo=UTC)
LATER_THAN_ITS_ROW = timedelta(days=1)
"""Between these, and so far after the event that tells of it, a time in a payload can be meant: an event tells of what
was, and a day covers a clock that was set back meanwhile. Chosen."""

NAMED = ("job", "piece", "view")


def _is_setting(told: object) -> bool:
    return isinstance(told, dict) and "value" in told and isinstance(told["value"], str | int | float | None)


JSON_SHAPES: Mapping[str, Callable[[Any], bool]] = {
    "ticked": lambda value: isinstance(value, list) and all(isinstance(word, str) for word in value),
    "settings": lambda value: isinstance(value, dict) and all(map(_is_setting, value.values())),
    "remedy_settings": lambda value: isinstance(value, dict),
    "details": lambda value: isinstance(value, dict),
}
"""Column of JSON → whether a value has the form that a log writes there."""


def asked_for(table: Table) -> list[ColumnElement[Any]]:
    """The columns as they are asked for: no time that can't be meant, no text that would fill the memory."""
    return [_column_to_ask(column).label(column.name) for column in table.columns]


def _column_to_ask(column: Any) -> ColumnElement[Any]:
    kind = column.type.impl if isinstance(column.type, TypeDecorator) else column.type
    if isinstance(kind, DateTime):
        return case((column.between(literal_column(FIRST_DAY), literal_column(LATEST)), column))
    if isinstance(kind, JSON):
        return case((func.length(cast(column, Text)) <= LONGEST_JSON, column))
    if isinstance(kind, Text):
        return func.left(column, LONGEST_CHARS + 1, type_=column.type)
    return column  # type: ignore[no-any-return]


def fault(table: Table, row: Mapping[str, Any]) -> str:
    """The fault of a row as a clause, "" for a sound row."""
    for column in table.columns:
        if why := _fault_of_value(row[column.name], column.nullable, JSON_SHAPES.get(column.name)):
            return f"its {column.name} {why}"
    if table.name in NAMED and row["name_key"] != name_key(row["name"]):
        return "its name and how it is matched don't agree"
    if table.name == "frame":
        return _fault_of_plane(row)
    return _fault_of_event(row) if table.name == "event" else ""


def _fault_of_value(value: object, may_be_none: bool | None, shape: Callable[[Any], bool] | None) -> str:
    meant = may_be_none if value is None else shape is None or shape(value)
    if not meant:
        return "can't be meant"
    if isinstance(value, str) and len(value) > LONGEST_CHARS:
        return "is too long"
    if isinstance(value, float) and not math.isfinite(value):
        return "is no number"
    return ""


def _fault_of_plane(row: Mapping[str, Any]) -> str:
    try:
        plane = plane_of(SimpleNamespace(**row))
        if plane is not None:
            plane.check()
    except (TypeError, ValueError):
        return "its plane in a focus series can't be meant"
    return ""


def _fault_of_event(row: Mapping[str, Any]) -> str:
    check = CHECKS.get(row["kind"])
    if check is None:
        return ""
    try:
        check(row["payload"], row["frame_id"])
        times = TIMES.get(row["kind"])
        for at in times(row["payload"]) if times else ():
            _time(at, row["at"])
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError):  # a ValidationError is a ValueError
        return f"what it says of a {row['kind']} can't be meant"
    return ""


Payload = Mapping[str, Any]


class UnmeantValueError(ValueError):
    """A value of another station's log that no log of ours would hold."""


def _key(value: Any) -> None:
    if str(UUID(value)) != value:
        raise UnmeantValueError(value)


def _one_of(value: Any, *allowed: Any) -> None:
    if value not in allowed:
        raise UnmeantValueError(value)


def _time(value: Any, told_at: datetime) -> None:
    at = datetime.fromisoformat(value)
    if at.utcoffset() is None or not FIRST_TIME <= at <= told_at + LATER_THAN_ITS_ROW:
        raise UnmeantValueError(value)


def _text(value: Any) -> None:
    if not isinstance(value, str):
        raise TypeError(value)


def _act(told: Payload) -> None:
    """Check the parts of an act that undo and redo read. Raises KeyError, TypeError or ValueError for a wrong one."""
    for how in ("undoes", "redoes"):
        if how in told:
            _key(told[how])
    _text(told.get("act", ""))


def _mark(told: Payload, frame_id: str | None) -> None:
    _key(frame_id)
    _act(told)
    for side in ("old", "new"):
        _one_of(told[side], None, *Mark)


def _note(told: Payload, frame_id: str | None) -> None:
    _key(frame_id)
    _act(told)
    _key(told["note_id"])
    for side in ("old", "new"):
        if told[side] is not None:
            _text(told[side])
            _one_of(bool(told[side]), True)


def _reference(told: Payload, _: str | None) -> None:
    _act(told)
    for key in (told["setup_id"], told["piece_id"], *(side for side in (told["old"], told["new"]) if side is not None)):
        _key(key)


def _client(told: Payload, _: str | None) -> None:
    _act(told)
    _key(told["job_id"])
    _text(told["old"])
    _text(told["new"])


def _revision(told: Payload, _: str | None) -> None:
    _act(told)
    _key(told["revision_id"])


def _check_arrangement(told: Payload, _: str | None) -> None:
    _act(told)
    _key(told["job_id"])
    _key(told["view_id"])
    _side(told["new"])
    _side(told["old"])


def _check_choice(told: Payload, _: str | None) -> None:
    _key(told["job_id"])
    _key(told["view_id"])
    _side(told["new"])


def _side(side: Payload) -> None:
    if "draft" not in side:
        _key(side["revision_id"])
        return
    draft = standing.revision_from(side["draft"])
    _whole_revision().validate_json(json.dumps(asdict(draft), allow_nan=False), strict=True)
    for name in side["from_camera"]:
        _text(name)


@cache
def _whole_revision() -> TypeAdapter[Revision]:
    return TypeAdapter(Revision)


def _peak(told: Payload, _: str | None) -> None:
    for name in ("job_id", "setup_id", "piece_id"):
        _key(told[name])
    Region(*(float(part) for part in told["region"]))
    width = told["live_width_px"]
    if not math.isfinite(told["contrast"]) or not isinstance(width, int) or width < 1:
        raise UnmeantValueError(told)


def _check_region(told: Payload, frame_id: str | None) -> None:
    _key(frame_id)
    Region(**{name: float(part) for name, part in told["region"].items()})


def _place(told: Payload, _: str | None) -> None:
    _key(told["view_id"])


def _wish(told: Payload, _: str | None) -> None:
    _key(told["job_id"])
    _key(told["view_id"])
    _text(told["view"])
    if not isinstance(told["wish"], dict):
        raise TypeError(told)


def _step(told: Payload, _: str | None) -> None:
    _act(told)
    for name in ("job_id", "piece_id", "revision_id"):
        _key(told[name])
    _text(told["step"])
    for side in (told["old"], told["new"]):
        if side is not None:
            StepWord(side["word"])
            _text(side["reason"])


def _peak_times(told: Payload) -> Iterator[str]:
    yield told["seen_at"]


def _step_times(told: Payload) -> Iterator[str]:
    yield from (side["at"] for side in (told["old"], told["new"]) if side is not None)


CHECKS: Mapping[str, Callable[[Any, str | None], None]] = {
    event_rows.MARK: _mark,
    event_rows.NOTE: _note,
    event_rows.NOTE_CHANGED: _note,
    event_rows.REFERENCE: _reference,
    event_rows.CLIENT: _client,
    event_rows.REVISION: _revision,
    event_rows.ARRANGED: _check_arrangement,
    event_rows.CHOSEN: _check_choice,
    event_rows.FOCUS_PEAK: _peak,
    event_rows.JUDGED_ANEW: _check_region,
    event_rows.WISH: _wish,
    event_rows.PLACE: _place,
    event_rows.STEP: _step,
}
"""Kind of event → what its payload must hold, since something is brought into force by it."""

TIMES: Mapping[str, Callable[[Payload], Iterator[str]]] = {
    event_rows.FOCUS_PEAK: _peak_times,
    event_rows.STEP: _step_times,
}
"""Kind of event → the times that its payload tells, since they are shown and reckoned with."""
