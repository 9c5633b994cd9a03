"""Totals of a job or of all jobs: misses of each set-up, time at each piece, overrulings, pops of each light."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, func, select

from session.frame.camera_messages import Fired
from session.frame.finding import FocusVerdict
from session.units.names import name_key
from storage.schema.frame_models import FrameTable, OverrulingTable
from storage.schema.models import (
    JobTable,
    PieceTable,
    ReferenceTable,
    RevisionLightTable,
    RevisionTable,
    SetupTable,
    ViewTable,
)

LONGEST_PAUSE = timedelta(minutes=30)
"""More between two frames of a job is a break and no work on a piece. Chosen: building a set anew takes less."""


AMBIENT, SOLO = "ambient", "solo"
"""Stand for a focus verdict with the frames that have none because not all lights fired."""

KINDS: Mapping[str, str | None] = {
    "sharp": FocusVerdict.SHARP,
    "soft": FocusVerdict.SOFT,
    "missed": FocusVerdict.MISSED,
    "unjudged": FocusVerdict.UNJUDGED,
    "not_checked": None,
    "ambient": AMBIENT,
    "solo": SOLO,
}
"""Field of `SetupStats` → what the focus check said."""


@dataclass(frozen=True)
class SetupStats:
    """Frames of a set-up by what the focus check said; the eight kinds add up to `frames`.

    references   approved frames, with which the others are compared; they count in no other kind
    unjudged     the checks looked, and could not tell
    not_checked  no check has looked: the frame did not fire, or its files never came
    ambient      released with the lights off, to measure the ambient light
    solo         released with one light alone
    """

    job: str
    setup: int
    frames: int
    sharp: int
    soft: int
    missed: int
    unjudged: int
    not_checked: int
    ambient: int
    solo: int
    references: int


@dataclass(frozen=True)
class PieceStats:
    """Work on a piece: the sum of the times from a frame of the job to the next, where the next is this piece's.

    Breaks are left out.
    """

    job: str
    piece: str
    frames: int
    time_s: float


@dataclass(frozen=True)
class OverrulingStats:
    """How often a rule was overruled."""

    rule: str
    frames: int


@dataclass(frozen=True)
class LightStats:
    """Frames whose shutter went with the light in the set and on: for a flash, its pops."""

    light: str
    pops: int


@dataclass(frozen=True)
class Stats:
    """The totals; set-ups and pieces by job, rules and lights by descending count."""

    setups: tuple[SetupStats, ...]
    pieces: tuple[PieceStats, ...]
    overrulings: tuple[OverrulingStats, ...]
    lights: tuple[LightStats, ...]


def stats(connection: Connection, job: str = "", since: datetime | None = None, until: datetime | None = None) -> Stats:
    """Totals of a job, "" = of all jobs, over the frames asked for at or after `since` and before `until`."""
    wanted: list[ColumnElement[bool]] = [FrameTable.asked_at >= since] if since else []
    if until:
        wanted.append(FrameTable.asked_at < until)
    if job:
        wanted.append(FrameTable.job_id.in_(select(JobTable.job_id).where(JobTable.name_key == name_key(job))))
    return Stats(
        _setups(connection, wanted),
        _pieces(connection, wanted),
        _overrulings(connection, wanted),
        _lights(connection, wanted),
    )


def _setups(connection: Connection, wanted: list[ColumnElement[bool]]) -> tuple[SetupStats, ...]:
    found = _by_verdict(connection, wanted)
    of_references = _by_verdict(connection, [FrameTable.frame_id.in_(select(ReferenceTable.frame_id)), *wanted])
    return tuple(
        SetupStats(
            job=name,
            setup=number,
            frames=sum(by.values()),
            **{kind: by[verdict] - of_references[name, number][verdict] for kind, verdict in KINDS.items()},
            references=sum(of_references[name, number].values()),
        )
        for (name, number), by in found.items()
    )


def _by_verdict(
    connection: Connection, wanted: list[ColumnElement[bool]]
) -> dict[tuple[str, int], dict[str | None, int]]:
    """(job, set-up) → focus verdict, AMBIENT or SOLO → frames."""
    is_solo = (FrameTable.solo != "").label("is_solo")
    kinds = (FrameTable.revision_id, FrameTable.focus_verdict, FrameTable.ambient, is_solo)
    counted = select(*kinds, func.count().label("n")).where(*wanted).group_by(*kinds).subquery()
    by_kind = (counted.c.focus_verdict, counted.c.ambient, counted.c.is_solo)
    query = select(JobTable.name, SetupTable.number, *by_kind, func.sum(counted.c.n).label("n"))
    query = query.select_from(counted).join(RevisionTable, RevisionTable.revision_id == counted.c.revision_id)
    query = query.join(SetupTable).join(JobTable, JobTable.job_id == SetupTable.job_id)
    query = query.group_by(JobTable.job_id, JobTable.name, SetupTable.number, *by_kind)
    found: dict[tuple[str, int], dict[str | None, int]] = defaultdict(lambda: defaultdict(int))
    for name, number, verdict, ambient, solo, n in connection.execute(query.order_by(JobTable.name, SetupTable.number)):
        found[name, number][AMBIENT if ambient else SOLO if solo else verdict] += int(n)
    return found


def _pieces(connection: Connection, wanted: list[ColumnElement[bool]]) -> tuple[PieceStats, ...]:
    names = select(ViewTable.view_id, PieceTable.piece_id, JobTable.name.label("job"), PieceTable.name.label("piece"))
    named = names.join(PieceTable, PieceTable.piece_id == ViewTable.piece_id).join(
        JobTable, JobTable.job_id == PieceTable.job_id
    )
    of_view = {row.view_id: row for row in connection.execute(named)}
    query = select(FrameTable.job_id, FrameTable.view_id, FrameTable.asked_at).where(*wanted)
    frames: dict[str, int] = defaultdict(int)
    time_s: dict[str, float] = defaultdict(float)
    told: dict[str, Any] = {}
    before: dict[str, datetime] = {}
    for job_id, view_id, asked_at in connection.execute(query.order_by(FrameTable.asked_at)):
        piece = of_view[view_id]
        told[piece.piece_id] = piece
        frames[piece.piece_id] += 1
        worked = asked_at - before.get(job_id, asked_at)
        time_s[piece.piece_id] += worked.total_seconds() if worked <= LONGEST_PAUSE else 0.0
        before[job_id] = asked_at
    pieces = (PieceStats(row.job, row.piece, frames[key], time_s[key]) for key, row in told.items())
    return tuple(sorted(pieces, key=lambda piece: (piece.job, piece.piece)))


def _overrulings(connection: Connection, wanted: list[ColumnElement[bool]]) -> tuple[OverrulingStats, ...]:
    query = (
        select(OverrulingTable.rule, func.count())
        .join(FrameTable, FrameTable.frame_id == OverrulingTable.frame_id)
        .where(*wanted)
    )
    return tuple(OverrulingStats(*row) for row in _most(connection, query, OverrulingTable.rule))


def _lights(connection: Connection, wanted: list[ColumnElement[bool]]) -> tuple[LightStats, ...]:
    fired = select(FrameTable.revision_id, FrameTable.solo, func.count().label("n")).where(
        FrameTable.fired == Fired.YES, ~FrameTable.ambient, *wanted
    )
    counted = fired.group_by(FrameTable.revision_id, FrameTable.solo).subquery()
    query = select(RevisionLightTable.name, func.sum(counted.c.n))
    query = query.join(counted, counted.c.revision_id == RevisionLightTable.revision_id)
    query = query.where(counted.c.solo.in_(("", RevisionLightTable.name)))
    return tuple(LightStats(name, int(pops)) for name, pops in _most(connection, query, RevisionLightTable.name))


def _most(connection: Connection, query: Any, by: Any) -> list[tuple[str, int]]:
    rows = [(row[0], row[1]) for row in connection.execute(query.group_by(by))]
    return sorted(rows, key=lambda row: (-row[1], row[0]))
