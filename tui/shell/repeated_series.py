"""A focus series of a set-up, and the one that is shot again of it: found in the log by piece, view and time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from session.frame.ports import Place
from session.frame.series_plane import SeriesPlane
from session.frame.shot_plane import ShotPlane, newest_by_plane, newest_outcome, series_preview_key
from session.picture.stored_preview import whole_preview
from storage.reading.views import FrameFilter, FrameRecord


class SeriesReader(Protocol):
    """The log as far as focus series are told by it. Each call may raise LogError."""

    def records(self, wanted: FrameFilter = ...) -> Iterator[FrameRecord]: ...

    def series_outcomes(self) -> dict[str, str]: ...


@dataclass(frozen=True)
class LoggedSeries:
    """A focus series as the log has it.

    records  its frames as they were shot, one or more
    outcome  what it came to, in words; "" where nobody looked
    """

    records: tuple[FrameRecord, ...]
    outcome: str = ""

    @property
    def plan(self) -> SeriesPlane:
        """The plan, by the newest frame."""
        plane = self.records[-1].series
        assert plane is not None
        return plane

    @property
    def numbers(self) -> list[int]:
        """The numbers of the frames."""
        return [record.number for record in self.records]

    def preview(self) -> bytes | None:
        """The preview of the whole as a JPEG; None where none of these frames is stored."""
        folder, best = self.records[0].previews, newest_by_plane(_shots(self.records))
        return whole_preview(Path(folder), series_preview_key(best)) if folder and best else None


@dataclass(frozen=True)
class RepeatedSeries:
    """The series of the reference's view, and the series shot again; None for a series that doesn't exist."""

    then: LoggedSeries | None = None
    now: LoggedSeries | None = None


NO_SERIES = RepeatedSeries()


def repeated_series(reader: SeriesReader, place: Place, reference: FrameRecord) -> RepeatedSeries:
    """The focus series of the reference and of the place, both with the reference's set-up.

    Of several the reference's is that of the reference frame itself, else the one whose first frame was shot nearest in
    time; the place's is the newest one after it. Raises LogError.
    """
    outcomes = reader.series_outcomes()
    of_reference = _series(reader, reference.job, reference.piece, reference.view, reference, outcomes)
    own = reference.series.series_id if reference.series else ""
    then = min(
        of_reference,
        key=lambda one: (
            one.plan.series_id != own,
            abs((one.records[0].asked_at - reference.asked_at).total_seconds()),
        ),
        default=None,
    )
    if then is None:
        return NO_SERIES
    last = then.records[-1].number
    of_place = _series(reader, place.job, place.piece, place.view, reference, outcomes)
    later = [one for one in of_place if one.records[0].number > last]
    return RepeatedSeries(then, max(later, key=lambda one: one.records[-1].number, default=None))


def _series(
    reader: SeriesReader, job: str, piece: str, view: str, reference: FrameRecord, outcomes: Mapping[str, str]
) -> list[LoggedSeries]:
    """The series of a piece and view that were shot with the reference's set-up."""
    setup = str(reference.revision.setup_number)
    found = reader.records(FrameFilter(job=job, piece=piece, view=view, setup=setup))
    return [LoggedSeries(tuple(records), _outcome(records, outcomes)) for records in _by_series(found)]


def _by_series(records: Iterable[FrameRecord]) -> Iterator[Sequence[FrameRecord]]:
    by_id: dict[str, list[FrameRecord]] = {}
    for record in records:
        if record.series is not None:
            by_id.setdefault(record.series.series_id, []).append(record)
    return (sorted(each, key=lambda record: record.number) for each in by_id.values())


def _outcome(records: Sequence[FrameRecord], outcomes: Mapping[str, str]) -> str:
    return newest_outcome(_shots(records), outcomes)


def _shots(records: Sequence[FrameRecord]) -> list[ShotPlane]:
    return [shot for shot in (record.shot_plane for record in records) if shot]
