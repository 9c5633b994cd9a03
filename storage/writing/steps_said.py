"""A person's words on the steps of building a set-up again, kept as events: the newest about a step is in force.

A step is of one revision and one piece; a substitute is of the revision, whatever piece lies on the table. An event
holds the word before and after it, as undo needs them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from session.frame.ports import Place, RefusedForGoodError
from session.frame.step_said import StepSaid, StepWord
from storage.schema.models import EventTable, RevisionTable, SetupTable
from storage.writing import event_rows


def say(
    connection: Connection, place: Place, revision_id: str, step: str, word: StepWord | None, reason: str, at: datetime
) -> None:
    """Keep a person's word on a step, as an act; the same word once more is an act too, of a later time.

    Raises RefusedForGoodError for a revision that the job hasn't got, for a step skipped without a reason, and for a
    substitute without a name.
    """
    label = _label(connection, place, revision_id)
    if label is None:
        raise RefusedForGoodError(f"The job {place.job} has no such revision ({revision_id}).")
    if word is StepWord.SKIPPED and not reason.strip():
        raise RefusedForGoodError(f"Skipping {step} takes a reason.")
    if word is StepWord.INSTEAD and not reason.strip():
        raise RefusedForGoodError(f"A substitute takes a name, {step} as any other.")
    known = _newest(connection, place.piece_id, revision_id).get(step)
    old = known.payload["new"] if known is not None else None
    at = event_rows.time_of_act(connection, place.job_id, at)
    new = {"word": word.value, "reason": reason.strip(), "at": at.isoformat()} if word is not None else None
    payload = {
        "job_id": place.job_id,
        "piece_id": place.piece_id,
        "revision_id": revision_id,
        "step": step,
        "old": old,
        "new": new,
    }
    was_instead = old is not None and old["word"] == StepWord.INSTEAD
    if word is StepWord.INSTEAD:
        said = f"{reason.strip()} {step}"
    elif word is not None:
        said = f"{step} {word.value}"
    else:
        said = f"nothing {step}" if was_instead else f"{step} neither confirmed nor skipped"
    event_rows.record(connection, at, event_rows.STEP, f"{said}, for set-up {label} and {place.piece}", None, payload)


def in_force(connection: Connection, place: Place, revision_id: str) -> tuple[StepSaid, ...]:
    """The words in force on the steps of this revision for this piece, oldest first."""
    found = _newest(connection, place.piece_id, revision_id)
    words = [_word_in(row, place.piece_id) for row in found.values() if row.payload["new"] is not None]
    return tuple(sorted(words, key=lambda said: said.at))


def _word_in(row: Any, piece_id: str) -> StepSaid:
    new: Mapping[str, str] = row.payload["new"]
    elsewhere, at = row.payload["piece_id"] != piece_id, datetime.fromisoformat(new["at"])
    return StepSaid(row.payload["step"], StepWord(new["word"]), new["reason"], at, elsewhere)


def _newest(connection: Connection, piece_id: str, revision_id: str) -> dict[str, Any]:
    """Step → the newest event about the step, at this piece; about a substitute, at any piece."""
    about = EventTable.payload
    query = select(EventTable.at, EventTable.payload).where(EventTable.kind == event_rows.STEP)
    query = query.where(about["revision_id"].as_string() == revision_id)
    rows = connection.execute(query.order_by(EventTable.at, EventTable.event_id))
    told = (row for row in rows if row.payload["piece_id"] == piece_id or _is_of_substitute(row.payload))
    return {row.payload["step"]: row for row in told}


def _is_of_substitute(payload: Mapping[str, Any]) -> bool:
    words = [payload[side]["word"] for side in ("old", "new") if payload[side] is not None]
    return StepWord.INSTEAD in words


def _label(connection: Connection, place: Place, revision_id: str) -> str | None:
    """`07.3`; None when the job has no revision of that key."""
    query = select(SetupTable.number, RevisionTable.number.label("revision")).join(RevisionTable)
    query = query.where(RevisionTable.revision_id == revision_id, SetupTable.job_id == place.job_id)
    row = connection.execute(query).first()
    return f"{row.number:02d}.{row.revision}" if row else None
