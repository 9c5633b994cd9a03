"""Values made of rows: ledger lines, and whole frames with all that belongs to them, fetched for many at a time."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

from sqlalchemy import Connection, Row, Select, func, select
from sqlalchemy.orm import aliased

from session.frame.camera_messages import Value
from session.frame.finding import (
    Finding,
    FlawKind,
    FocusJudgement,
    FocusVerdict,
    Level,
    Move,
    Remedy,
    RemedyKind,
    Verdict,
    flaw_of,
)
from session.units.refusals import UnreadableTextError
from storage.database.reach import OpenableFiles, log_file
from storage.files.paths import previews_folder
from storage.reading.views import FileRow, FrameRecord, FrameRow, NoteRow
from storage.schema import frame_models
from storage.schema.frame_models import (
    CameraReadingTable,
    CameraTable,
    CardObjectTable,
    FileCopyTable,
    FrameFileTable,
    FrameTable,
    JudgementTable,
    OverrulingTable,
    facts_of,
)
from storage.schema.models import NoteTable, ReferenceTable, RevisionTable, SetupTable, ViewTable
from storage.writing import setups
from storage.writing.judgements import regions_judged

T = TypeVar("T")

OLD_IDS = {"room light": "ambient light", "charge": "recycling"}
"""Name of a rule or check in older logs → its name now."""


def lines(connection: Connection, rows: Sequence[Row[Any]]) -> list[FrameRow]:
    """Ledger lines from rows of `search.rows`, in the same order."""
    flaws = _flaws(connection, [row.frame_id for row in rows if row.verdict == Verdict.FLAWED])
    references = _references(connection, [row.frame_id for row in rows])
    return [_line(row, flaws.get(row.frame_id), bool(references[row.frame_id])) for row in rows]


def _flaws(connection: Connection, keys: list[str]) -> dict[str, Finding]:
    """frame_id → the flaw that the frame's last judgement found; frames without a flaw are left out."""
    if not keys:
        return {}
    last = select(func.max(JudgementTable.position)).where(
        JudgementTable.frame_id == frame_models.FindingTable.frame_id
    )
    query = _of(frame_models.FindingTable, keys).where(
        frame_models.FindingTable.judgement_position == last.correlate(frame_models.FindingTable).scalar_subquery()
    )
    found = {key: flaw_of(findings) for key, findings in _group_by_frame(connection, query, _finding).items()}
    return {key: flaw for key, flaw in found.items() if flaw is not None}


def _line(row: Row[Any], flaw: Finding | None, is_reference: bool) -> FrameRow:
    return FrameRow(
        facts=facts_of(row),
        job=row.job,
        piece=row.piece,
        view=row.view,
        setup=f"{row.setup_number:02d}.{row.revision_number}",
        asked_at=row.asked_at,
        released_at=row.released_at,
        focus_verdict=FocusVerdict(row.focus_verdict) if row.focus_verdict else None,
        verdict=Verdict(row.verdict) if row.verdict else None,
        flaw=flaw,
        blur_px=row.blur_px,
        defocus_mm=row.defocus_mm,
        mark=row.mark,
        note_count=row.note_count,
        revision_id=row.revision_id,
        is_reference=is_reference,
    )


def whole(connection: Connection, rows: Sequence[Row[Any]]) -> list[FrameRecord]:
    """The frames of these rows with all that belongs to them, in the same order."""
    found = lines(connection, rows)
    keys = [line.frame_id for line in found]
    revisions = setups.load(connection, {line.revision_id for line in found})
    cameras = _cameras(connection, {row.camera_id for row in rows})
    files = _files(connection, keys)
    readings = _readings(connection, keys)
    judgements = _judgements(connection, keys)
    rules, checks = _findings(connection, keys, {key: position for key, (position, _) in judgements.items()})
    overrulings = _group_by_frame(connection, _of(OverrulingTable, keys), lambda row: (row.rule, row.reason))
    notes = _notes(connection, found)
    references = _references(connection, keys)
    approved = _approved_numbers(connection, keys)
    moved = regions_judged(connection, keys)
    log = log_file(connection)
    previews = str(previews_folder(log)) if log else ""
    return [
        FrameRecord(
            **{name: getattr(line, name) for name in line.__dataclass_fields__},
            client=row.client,
            folder=row.folder,
            stem=row.stem,
            camera_serial=cameras[row.camera_id][0],
            camera_model=cameras[row.camera_id][1],
            revision=revisions[line.revision_id],
            camera=readings.get(line.frame_id, {}),
            files=tuple(files[line.frame_id]),
            rules=tuple(rules[line.frame_id]),
            checks=tuple(checks[line.frame_id]),
            focus=judgements[line.frame_id][1] if line.frame_id in judgements else None,
            overrulings=dict(overrulings[line.frame_id]),
            notes=tuple(notes[line.frame_id]),
            references=tuple(references[line.frame_id]),
            reference=approved.get(line.frame_id),
            region=moved.get(line.frame_id, revisions[line.revision_id].region),
            previews=previews,
        )
        for line, row in zip(found, rows, strict=True)
    ]


def _of(table: Any, keys: Iterable[str]) -> Select[Any]:
    return select(table).where(table.frame_id.in_(list(keys))).order_by(*table.__table__.primary_key.columns)


def _group_by_frame(connection: Connection, query: Any, value: Callable[[Any], T]) -> dict[str, list[T]]:
    """frame_id → its rows, each read by `value`, in the query's order."""
    found: dict[str, list[T]] = defaultdict(list)
    for row in connection.execute(query):
        found[row.frame_id].append(value(row))
    return found


def _cameras(connection: Connection, keys: Iterable[str]) -> dict[str, tuple[str, str]]:
    query = select(CameraTable.camera_id, CameraTable.serial, CameraTable.model).where(
        CameraTable.camera_id.in_(list(keys))
    )
    return {row.camera_id: (row.serial, row.model) for row in connection.execute(query)}


def _files(connection: Connection, keys: list[str]) -> dict[str, list[FileRow]]:
    query = _of(FrameFileTable, keys).add_columns(
        CardObjectTable.folder.label("card_folder"), CardObjectTable.name.label("card_name")
    )
    query = query.join(CardObjectTable, CardObjectTable.card_object_id == FrameFileTable.card_object_id)
    copies: dict[tuple[str, str], list[str]] = defaultdict(list)
    for copy in connection.execute(_of(FileCopyTable, keys)):
        copies[copy.frame_id, copy.sha256].append(copy.path)
    names = [name for name in FileRow.__dataclass_fields__ if name not in ("copies", "here")]
    reach = OpenableFiles(connection, keys)

    def file(row: Any) -> FileRow:
        second, here = copies[row.frame_id, row.sha256], reach.holds(row.frame_id, row.path)
        if here:  # what may be opened of the file is that alone
            second = [path for path in second if reach.holds(row.frame_id, path)]
        return FileRow(**{name: getattr(row, name) for name in names}, copies=tuple(second), here=here)

    return _group_by_frame(connection, query, file)


def _readings(connection: Connection, keys: list[str]) -> dict[str, dict[str, Value | None]]:
    """The last reading of the camera's settings for each frame."""
    found = {}
    for row in connection.execute(_of(CameraReadingTable, keys)):
        found[row.frame_id] = {name: setting["value"] for name, setting in row.settings.items()}
    return found


def _judgements(connection: Connection, keys: list[str]) -> dict[str, tuple[int, FocusJudgement]]:
    """The last focus judgement of each frame, with the judgement's position."""
    return {row.frame_id: (row.position, _focus(row)) for row in connection.execute(_of(JudgementTable, keys))}


def _focus(row: Any) -> FocusJudgement:
    placed = row.sharpest_x_fraction is not None and row.sharpest_y_fraction is not None
    return FocusJudgement(
        verdict=FocusVerdict(row.verdict),
        blur_px=row.blur_px,
        blur_px_sd=row.blur_sd_px,
        defocus_mm=row.defocus_mm,
        scale=row.scale,
        sharpest_at=(row.sharpest_x_fraction, row.sharpest_y_fraction) if placed else None,
        reason=row.reason,
    )


def _findings(
    connection: Connection, keys: list[str], latest: dict[str, int]
) -> tuple[dict[str, list[Finding]], dict[str, list[Finding]]]:
    """Findings of the rules, and findings of the last judgement; findings of earlier judgements are left out."""
    rules: dict[str, list[Finding]] = defaultdict(list)
    checks: dict[str, list[Finding]] = defaultdict(list)
    for row in connection.execute(_of(frame_models.FindingTable, keys)):
        if row.judgement_position is None:
            rules[row.frame_id].append(_finding(row))
        elif row.judgement_position == latest.get(row.frame_id):
            checks[row.frame_id].append(_finding(row))
    return rules, checks


def _finding(row: Any) -> Finding:
    remedy = None
    if row.remedy_kind:
        remedy = Remedy(RemedyKind(row.remedy_kind), row.remedy_text, row.remedy_settings, row.remedy_wait_s)
    name = OLD_IDS.get(row.name, row.name)
    kind, move = _read_part(row.details, "kind", FlawKind), _read_part(row.details, "move", _move)
    return Finding(name, Level(row.level), row.text, row.value, row.limit_value, row.unit, remedy, kind, move)


def _read_part(details: Any, name: str, read: Callable[[Any], T]) -> T | None:
    """A part of a finding's details, read by `read`; None for a missing part, or an unreadable part."""
    try:
        return read(details[name]) if name in details else None
    except (ValueError, TypeError, KeyError, OverflowError):
        return None


def _move(parts: Any) -> Move:
    """The move that a finding's details hold. Raises ValueError, TypeError or KeyError for details without a move."""
    right, down, turn_deg = (float(parts[name]) for name in ("right", "down", "turn_deg"))
    if not all(map(math.isfinite, (right, down, turn_deg))) or parts["unit"] not in ("mm", "px"):
        raise UnreadableTextError(f"no move: {parts!r}")
    return Move(right, down, turn_deg, parts["unit"])


def _notes(connection: Connection, lines: list[FrameRow]) -> dict[str, list[NoteRow]]:
    by_key = {line.frame_id: line for line in lines}

    def note(row: Any) -> NoteRow:
        line = by_key[row.frame_id]
        return NoteRow(row.note_id, row.frame_id, line.number, line.job, line.piece, row.text, row.written_at)

    return _group_by_frame(connection, _of(NoteTable, by_key), note)


def _references(connection: Connection, keys: list[str]) -> dict[str, list[int]]:
    query = select(ReferenceTable.frame_id, SetupTable.number).join(SetupTable).where(ReferenceTable.frame_id.in_(keys))
    return _group_by_frame(connection, query.order_by(SetupTable.number), lambda row: row.number)


def _approved_numbers(connection: Connection, keys: list[str]) -> dict[str, int]:
    """frame_id → number of the approved frame of its set-up and piece."""
    reference = aliased(FrameTable)
    query = select(FrameTable.frame_id, reference.number).select_from(FrameTable)
    query = query.join(RevisionTable, RevisionTable.revision_id == FrameTable.revision_id).join(
        ViewTable, ViewTable.view_id == FrameTable.view_id
    )
    of_piece = (ReferenceTable.setup_id == RevisionTable.setup_id) & (ReferenceTable.piece_id == ViewTable.piece_id)
    query = query.join(ReferenceTable, of_piece).join(reference, reference.frame_id == ReferenceTable.frame_id)
    return {row.frame_id: row.number for row in connection.execute(query.where(FrameTable.frame_id.in_(keys)))}
