"""The JSON Schema (draft 2020-12) of the hand-over's tables, made from the dataclasses that the lines are made of.

`$defs` has one schema for a line of each file: `frame`, `set_up`, `finding`, `plane`, `ordered_view`.
"""

from __future__ import annotations

import json
import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import StrEnum
from typing import Any, Union, get_args, get_origin, get_type_hints

from session.frame.camera_messages import Fired
from session.frame.finding import FocusJudgement, Level
from session.frame.series_plane import Approach, MovedBy, SeriesPlane
from session.frame.states import FrameState, Mark, ReleasedBy
from session.set.client_standard import Standard
from session.set.setup import PlacedLight, Revision

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
NUMBER: Schema = {"type": "number"}
WHOLE: Schema = {"type": "integer"}
YES_NO: Schema = {"type": "boolean"}
INSTANT: Schema = {"type": "string", "format": "date-time"}


def schema_text() -> str:
    """The schema as JSON, the same each time."""
    return json.dumps(tables_schema(), indent=1, sort_keys=True, ensure_ascii=True) + "\n"


def tables_schema() -> Schema:
    """The schema; each name in `$defs` is that of a line."""
    of_frame = {"job": TEXT, "piece": TEXT, "view": TEXT}
    finding = {
        "id": TEXT,
        "level": _word(Level),
        "value": _or_null(NUMBER),
        "limit": _or_null(NUMBER),
        "unit": TEXT,
        "text": TEXT,
        "kind": _or_null(TEXT),
    }
    file = {"path": TEXT, "kind": TEXT, "bytes": WHOLE, "sha256": TEXT, "copies": _several(TEXT)}
    frame = {
        "frame_id": TEXT,
        "number": WHOLE,
        **of_frame,
        "client": TEXT,
        "setup": TEXT,
        "state": _word(FrameState),
        "text": TEXT,
        "fired": _word(Fired),
        "released_by": _word(ReleasedBy),
        "ambient": YES_NO,
        "solo": TEXT,
        "series": _or_null(_of(SeriesPlane)),
        "asked_at": INSTANT,
        "released_at": _or_null(INSTANT),
        "files": _several(_object(file)),
        "camera": {"type": "object", "required": ["serial", "model"]},
        "lights": _several(_of(PlacedLight)),
        "revision": _of(Revision),
        "findings": _several(_object(finding)),
        "focus": _or_null(_of(FocusJudgement)),
        "verdict": _or_null(TEXT),
        "overrulings": _several(_object({"id": TEXT, "reason": TEXT})),
        "mark": _or_null(_word(Mark)),
        "notes": _several(TEXT),
    }
    ordered_view = {
        **of_frame,
        "client": TEXT,
        "due": _or_null({"type": "string", "format": "date"}),
        "article_number": TEXT,
        **{f"piece_{side}_mm": _or_null(NUMBER) for side in ("width", "height", "depth")},
        "surface": TEXT,
        "standard": _or_null(_of(Standard)),
        "wanted": YES_NO,
        "done": YES_NO,
        "frames": _several(WHOLE),
        "heroes": _several(WHOLE),
    }
    plane = {
        "series_id": TEXT,
        **of_frame,
        "setup": TEXT,
        "position": WHOLE,
        "frame": WHOLE,
        "plane_mm": NUMBER,
        "step_mm": NUMBER,
        "depth_mm": NUMBER,
        "moved_by": _word(MovedBy),
        "approach": _word(Approach),
        "files": _several(TEXT),
    }
    lines = {
        "frame": _object(frame),
        "set_up": _object({"job": TEXT, "setup": TEXT, "revision": _of(Revision)}),
        "finding": _object({**of_frame, "frame": WHOLE, **finding}),
        "ordered_view": _object(ordered_view),
        "plane": _object(plane),
    }
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "tables of a hand-over", "$defs": lines}


def _of(kind: Any) -> Schema:
    """The schema of a type: a dataclass and its fields, a word out of several, a list, a plain value, or null."""
    if is_dataclass(kind):
        hints = get_type_hints(kind)
        return _object({one.name: _of(hints[one.name]) for one in fields(kind)})
    if get_origin(kind) in (Union, types.UnionType):
        parts = [part for part in get_args(kind) if part is not type(None)]
        return _or_null(_of(parts[0]))
    if get_origin(kind) is tuple:
        first, *more = get_args(kind)
        several = _several(_of(first))
        return several if more == [Ellipsis] else several | {"minItems": 1 + len(more), "maxItems": 1 + len(more)}
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return _word(kind)
    plain: Mapping[Any, Schema] = {str: TEXT, bool: YES_NO, int: WHOLE, float: NUMBER}
    return plain[kind]


def _object(properties: Mapping[str, Schema]) -> Schema:
    return {
        "type": "object",
        "properties": dict(properties),
        "required": sorted(properties),
        "additionalProperties": False,
    }


def _word(kind: type[StrEnum]) -> Schema:
    return {"type": "string", "enum": [one.value for one in kind]}


def _several(of: Schema) -> Schema:
    return {"type": "array", "items": of}


def _or_null(schema: Schema) -> Schema:
    return {"anyOf": [schema, {"type": "null"}]}
