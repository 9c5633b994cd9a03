"""Rows on a frame from rules, checks and camera: findings, focus judgement, readings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime

from sqlalchemy import Connection, bindparam, insert, select, update

from session.frame.camera_messages import Reading, Value
from session.frame.finding import Finding, FocusJudgement, verdict_of
from session.set.setup import Region
from storage.schema import frame_models
from storage.schema.frame_models import CameraReadingTable, FrameTable
from storage.schema.models import EventTable
from storage.schema.prepared import Prepared, binds, next_position, table_of
from storage.writing import event_rows

LARGEST_WHOLE = 2**63 - 1
"""The largest value of an SQLite INTEGER."""


_READINGS, _JUDGEMENTS = table_of(CameraReadingTable), table_of(frame_models.JudgementTable)
_FINDINGS, _FRAME = table_of(frame_models.FindingTable), table_of(FrameTable)

_ADD_READING = Prepared(insert(_READINGS).values(binds(_READINGS) | {"position": next_position(_READINGS)}).inline())
_ADD_FINDING = Prepared(insert(_FINDINGS).values(binds(_FINDINGS) | {"position": next_position(_FINDINGS)}).inline())
_ADD_JUDGEMENT = Prepared(
    insert(_JUDGEMENTS)
    .values(binds(_JUDGEMENTS) | {"position": next_position(_JUDGEMENTS)})
    .returning(_JUDGEMENTS.c.position)
)
_SET_VERDICTS = Prepared(
    update(_FRAME)
    .where(_FRAME.c.frame_id == bindparam("key", type_=_FRAME.c.frame_id.type))
    .values({name: bindparam(name, type_=_FRAME.c[name].type) for name in ("focus_verdict", "verdict")})
)


def add_reading(connection: Connection, frame_id: str, reading: Reading, at: datetime) -> None:
    """Write a reading of all settings; exposure time, f-number and ISO, used by searches, have columns of their own."""
    settings = {
        name: {"value": _finite(setting.value), "shown": setting.shown} for name, setting in reading.settings.items()
    }
    iso = _number(reading, "iso")
    row = {
        "frame_id": frame_id,
        "read_at": at,
        "exposure_s": _positive(_number(reading, "exposure_s")),
        "f_number": _positive(_number(reading, "f_number")),
        "iso": round(iso) if iso is not None and 0 <= iso < LARGEST_WHOLE else None,
        "settings": settings,
    }
    _ADD_READING.run(connection, row)


def add_findings(
    connection: Connection,
    frame_id: str,
    findings: Iterable[Finding],
    at: datetime,
    judgement_position: int | None = None,
) -> None:
    """Add what was said; before the release by rules, or with a judgement by checks."""
    rows = [
        {
            "frame_id": frame_id,
            "judgement_position": judgement_position,
            "found_at": at,
            "name": finding.id,
            "level": finding.level,
            "text": finding.text,
            "value": _float(finding.value),
            "limit_value": _float(finding.limit),
            "unit": finding.unit,
            "remedy_kind": finding.remedy.kind if finding.remedy else None,
            "remedy_text": finding.remedy.text if finding.remedy else "",
            "remedy_settings": _plain(finding.remedy.settings) if finding.remedy else {},
            "remedy_wait_s": float(finding.remedy.wait_s) if finding.remedy else 0.0,
            "details": _details(finding),
        }
        for finding in findings
    ]
    _ADD_FINDING.run_many(connection, rows)


def add_judgement(
    connection: Connection, frame_id: str, findings: Iterable[Finding], focus: FocusJudgement, at: datetime
) -> None:
    """Add a judgement of the checks; the frame carries the verdicts of the latest."""
    _add(connection, frame_id, findings, focus, at)


def add_judgement_anew(
    connection: Connection,
    frame_id: str,
    findings: Iterable[Finding],
    focus: FocusJudgement,
    looked_at: tuple[Region, Region | None],
    text: str,
    at: datetime,
) -> None:
    """Add a judgement made after the region or the grey patch was moved, with an event that names both.

    looked_at   the region, and the grey patch
    """
    position = _add(connection, frame_id, findings, focus, at)
    region, patch = (asdict(part) if part else None for part in looked_at)
    payload = {"judgement_position": position, "region": region, "grey_patch": patch}
    job_id = connection.scalar(select(FrameTable.job_id).where(FrameTable.frame_id == frame_id)) or ""
    at = event_rows.time_of_act(connection, job_id, at)
    event_rows.record(connection, at, event_rows.JUDGED_ANEW, text, frame_id, payload)


def regions_judged(connection: Connection, frame_ids: Sequence[str]) -> dict[str, Region]:
    """frame_id → the region that the last judgement looked at, of frames that were judged anew."""
    query = select(EventTable.frame_id, EventTable.payload).where(
        EventTable.frame_id.in_(list(frame_ids)), EventTable.kind == event_rows.JUDGED_ANEW
    )
    rows = connection.execute(query.order_by(EventTable.at, EventTable.event_id))
    return {row.frame_id: Region(**row.payload["region"]) for row in rows}


def _add(
    connection: Connection, frame_id: str, findings: Iterable[Finding], focus: FocusJudgement, at: datetime
) -> int:
    """The number that the judgement got."""
    said = tuple(findings)
    row = {
        "frame_id": frame_id,
        "judged_at": at,
        "verdict": focus.verdict,
        "blur_px": _float(focus.blur_px),
        "blur_sd_px": _float(focus.blur_px_sd),
        "defocus_mm": _float(focus.defocus_mm),
        "scale": _float(focus.scale),
        "sharpest_x_fraction": _float(focus.sharpest_at[0] if focus.sharpest_at else None),
        "sharpest_y_fraction": _float(focus.sharpest_at[1] if focus.sharpest_at else None),
        "reason": focus.reason,
    }
    position = _ADD_JUDGEMENT.run(connection, row).scalar_one()
    add_findings(connection, frame_id, said, at, position)
    verdicts = {"key": frame_id, "focus_verdict": focus.verdict, "verdict": verdict_of(said)}
    _SET_VERDICTS.run(connection, verdicts)
    return int(position)


def _details(finding: Finding) -> dict[str, object]:
    told: dict[str, object] = {"kind": finding.kind.value} if finding.kind else {}
    return told | ({"move": asdict(finding.move)} if finding.move else {})


def _number(reading: Reading, name: str) -> float | None:
    value = reading.value(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return value if math.isfinite(value) else None


def _float(value: float | None) -> float | None:
    """Python's own number: checks may hand over NumPy's, which the driver doesn't take."""
    return None if value is None else float(value)


def _plain(settings: Mapping[str, object]) -> dict[str, object]:
    """The settings as JSON can hold them: numbers and texts as they are, all else as its text."""
    return {
        name: _finite(value) if isinstance(value, str | int | float | None) else str(value)
        for name, value in settings.items()
    }


def _positive(value: float | None) -> float | None:
    return value if value is not None and value > 0 else None


def _finite(value: Value | None) -> Value | None:
    """The value, None for a number that isn't finite: JSON can't hold it, the camera's own text beside it does."""
    return None if isinstance(value, float) and not math.isfinite(value) else value
