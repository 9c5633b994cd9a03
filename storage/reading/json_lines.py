"""A frame as one JSON object on one line, with the same words and units as everywhere else.

Text from outside is written in ASCII with \\u escapes, so that no terminal takes any of it for a command.
"""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from typing import Any

from session.frame.finding import Finding, Verdict
from storage.reading.views import FileRow, FrameRecord, FrameRow


def line(frame: FrameRecord) -> str:
    """The object as one line, without the line's end."""
    return json.dumps(frame_object(frame), ensure_ascii=True, allow_nan=False)


def frame_object(frame: FrameRecord) -> dict[str, Any]:
    """A frame as the object that `stillset log frames --json` prints; times are ISO 8601 in UTC."""
    told: dict[str, Any] = finite(
        {
            "frame_id": frame.frame_id,
            "number": frame.number,
            "job": frame.job,
            "client": frame.client,
            "piece": frame.piece,
            "view": frame.view,
            "setup": frame.setup,
            "state": frame.state.value,
            "text": frame.text,
            "fired": frame.fired.value,
            "released_by": frame.released_by.value,
            "ambient": frame.ambient,
            "solo": frame.solo,
            "series": asdict(frame.series) if frame.series else None,
            "asked_at": frame.asked_at.isoformat(),
            "released_at": frame.released_at.isoformat() if frame.released_at else None,
            "files": [file_object(file) for file in frame.files],
            "camera": {"serial": frame.camera_serial, "model": frame.camera_model, **frame.camera},
            "lights": [asdict(light) for light in frame.revision.lights],
            "revision": asdict(frame.revision),
            "findings": [finding_object(finding) for finding in frame.findings],
            "focus": asdict(frame.focus) if frame.focus else None,
            "verdict": verdict(frame),
            "overrulings": [{"id": rule, "reason": reason} for rule, reason in frame.overrulings.items()],
            "mark": frame.mark,
            "notes": [note.text for note in frame.notes],
        }
    )
    return told


def verdict(frame: FrameRow) -> str | None:
    """`clean`, or the id of the gravest finding; None for a frame that no check has answered for."""
    return frame.flaw.id if frame.flaw else Verdict.CLEAN.value if frame.verdict else None


def file_object(file: FileRow) -> dict[str, Any]:
    """A file; `copies` are the paths where it was saved once more (`--copy-to`), none where it wasn't."""
    return {
        "path": file.path,
        "kind": file.kind,
        "bytes": file.bytes,
        "sha256": file.sha256,
        "copies": list(file.copies),
    }


def finding_object(finding: Finding) -> dict[str, Any]:
    """A finding without its remedy, which is for whoever stands at the set."""
    return {
        "id": finding.id,
        "level": finding.level.value,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
        "text": finding.text,
        "kind": finding.kind,
    }


def finite(value: Any) -> Any:
    """The value with null for every number that isn't finite, which JSON can't write."""
    if isinstance(value, dict):
        return {name: finite(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [finite(part) for part in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
