"""How much every station has sent to the archive, and how much this log would send."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from session.frame.ports import Clock, SystemClock
from storage.archive import clocks
from storage.archive.archive_database import open_to_look
from storage.archive.archive_schema import ArchiveStation, SentFrame, StationProgress, Told
from storage.archive.send import row_number
from storage.database.log_database import open_for_reading
from storage.schema.frame_models import FrameTable
from storage.schema.models import Base, EventTable, JobTable, RevisionTable
from storage.schema.prepared import table_of
from storage.schema.station_models import FetchedFrameTable, StationTable


@dataclass(frozen=True)
class StationStatus:
    """A station of the archive; `own` marks the station that asks.

    clock_ahead_s   the station's clock minus the server's at its last sending, s
    """

    name: str
    own: bool
    frames: int
    sent_at: datetime
    clock_ahead_s: float | None


@dataclass(frozen=True)
class ArchiveStatus:
    """Counts of jobs and frames in the archive, its stations, and counts of this log's rows that it lacks.

    told   sentences that a cut sending of this log left untold, and how far off this station's clock is
    """

    jobs: int
    frames: int
    stations: tuple[StationStatus, ...]
    frames_to_send: int
    events_to_send: int
    revisions_to_send: int
    told: tuple[str, ...]


def status(log: Path | None, address: str, clock: Clock | None = None) -> ArchiveStatus:
    """Counts on the archive, and on `log` against it; without a log only the archive's own side. Raises LogError."""
    sent = select(func.count()).where(SentFrame.station_id == ArchiveStation.station_id)
    stations = select(ArchiveStation, sent.correlate(ArchiveStation).scalar_subquery().label("frames"))
    archive = open_to_look(address)
    try:
        own, waiting = "", dict.fromkeys((FrameTable, EventTable, RevisionTable), 0)
        with archive.transaction() as there:
            if log is not None:
                own, waiting = _rows_to_send(
                    log, {(row.station_id, row.table_name): row for row in there.execute(select(StationProgress))}
                )
            jobs = there.scalar(select(func.count()).select_from(JobTable)) or 0
            frames = there.scalar(select(func.count()).select_from(FrameTable)) or 0
            found = there.execute(stations.order_by(ArchiveStation.name)).all()
            ahead = clocks.sentence(clocks.ahead_s(there, clock or SystemClock())) if own else ""
            kept = select(Told.sentence).where(Told.station_id == own).order_by(Told.told_id)
            told = [*([ahead] if ahead else []), *(there.scalars(kept) if own else ())]
    finally:
        archive.close()
    named = tuple(
        StationStatus(row.name, row.station_id == own, row.frames, row.pushed_at, row.clock_ahead_s) for row in found
    )
    return ArchiveStatus(
        jobs, frames, named, waiting[FrameTable], waiting[EventTable], waiting[RevisionTable], tuple(told)
    )


def _rows_to_send(log: Path, progress: dict[tuple[str, str], Any]) -> tuple[str, dict[type[Base], int]]:
    """The station's key, and how many rows of each table come after the last one that was sent."""
    local = open_for_reading(log)
    try:
        with local.transaction() as here:
            station = here.scalar(select(StationTable.station_id)) or ""
            counts: dict[type[Base], int] = {}
            for model in (FrameTable, EventTable, RevisionTable):
                table = table_of(model)
                last = progress.get((station, table.name))
                query = (
                    select(func.count()).select_from(table).where(row_number(table) > (last.last_row if last else 0))
                )
                if model is FrameTable:
                    query = query.where(FrameTable.frame_id.not_in(select(FetchedFrameTable.frame_id)))
                counts[model] = here.scalar(query) or 0
    finally:
        local.close()
    return station, counts
