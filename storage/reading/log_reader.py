"""`LogReader`: looking at a log without being able to change it, also while another stillset writes to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, Select, Text, exists, func, select, type_coerce
from sqlalchemy.exc import DBAPIError

from session.frame.ports import Agreement, LogError, Place, Standing
from session.frame.shot_plane import SERIES_OUTCOME
from session.frame.step_said import StepSaid
from session.match.solo_series import SeriesFrame
from session.order.order_progress import Progress
from session.set.setup import Revision, parse_label
from session.units.names import name_key
from storage.database.log_database import Database, open_for_reading
from storage.database.soundness import (
    MOST_NAMED,
    OF_DAMAGED_VALUES,
    damage_of,
    damage_seen_at_once,
    name_damage,
    sentence_on,
)
from storage.files.archive_address import is_archive
from storage.files.set_pictures import stored_set_pictures
from storage.reading import frame_search, order_reading, records
from storage.reading.stats import Stats, stats
from storage.reading.views import (
    EventRow,
    FrameFilter,
    FrameRecord,
    FrameRow,
    JobRow,
    KnownView,
    NoteRow,
    SetPicture,
    SetupRow,
)
from storage.schema import models
from storage.schema.frame_models import FrameTable
from storage.schema.models import EventTable, JobTable, NoteTable, PieceTable, ReferenceTable, SetupTable, ViewTable
from storage.schema.search_models import RevisionUseTable
from storage.writing import event_rows, kept_values, order_rows, setups, standing, steps_said

T = TypeVar("T")

PAGE = 500
"""Frames fetched at a time: below the number of parameters that any SQLite takes in one statement (999)."""

EVERYTHING = FrameFilter()


class LogReader:
    """Answers questions about a log, each from one unchanging state of the log. May be asked from any thread.

    Every method raises LogError when the log can't be read.
    """

    def __init__(self, database: Database, path: Path | None = None) -> None:
        """`path` of a log's file, None for an archive. `unreadable` names frames that damage keeps from being read."""
        self._database = database
        self._path = path
        self.unreadable: list[str] = []

    @classmethod
    def open(cls, log: Path | str) -> LogReader:
        """Open an existing log, or an archive by its address, postgresql://…; needs no permission to write.

        Of a file, neither to the file nor to its folder; of an archive, a role that may only look will do.
        """
        if isinstance(log, str) and is_archive(log):
            from storage.archive.archive_database import open_to_look  # noqa: PLC0415 - seldom needed, and slow to import

            return cls(open_to_look(log))
        return cls(open_for_reading(Path(log)), Path(log))

    @classmethod
    @contextmanager
    def looking(cls, log: Path | str) -> Iterator[LogReader]:
        """Open a log for a command that reads once and prints.

        Raises LogError when the log isn't sound, at the end or in place of an error that the damage caused: nobody
        shall take an incomplete or altered log for the whole.
        """
        if isinstance(log, str) and is_archive(log):
            with closing(cls.open(log)) as reader:
                yield reader
            return
        path = Path(log)
        with name_damage(path), closing(cls.open(path)) as reader:
            yield reader
        found = damage_seen_at_once(path)
        if found or reader.unreadable:
            lost = f" {', '.join(reader.unreadable[:MOST_NAMED])} can't be read." if reader.unreadable else ""
            raise LogError(f"{sentence_on(path, found)}{lost}")

    def close(self) -> None:
        """Let go of the file."""
        self._database.close()

    # --- frames -----------------------------------------------------------------------------------

    def frames(
        self, wanted: FrameFilter = EVERYTHING, *, newest_first: bool = False, limit: int | None = None
    ) -> Iterator[FrameRow]:
        """Ledger lines by job and number; newest first by time across jobs; `limit` counts from that end.

        Raises LogError also for a set-up label that is none.
        """
        yield from self._each(wanted, newest_first, limit, records.lines)

    def records(
        self, wanted: FrameFilter = EVERYTHING, *, newest_first: bool = False, limit: int | None = None
    ) -> Iterator[FrameRecord]:
        """The frames that `frames` gives, whole: with findings, files and set-up."""
        yield from self._each(wanted, newest_first, limit, records.whole)

    def frame(self, frame_id: str) -> FrameRecord | None:
        """The frame with this key, None when the log has no such frame."""
        return self._one(frame_search.rows().where(FrameTable.frame_id == frame_id))

    def frame_numbered(self, job: str, number: int) -> FrameRecord | None:
        """The frame of this number in a job."""
        return self._one(frame_search.rows().where(JobTable.name_key == name_key(job), FrameTable.number == number))

    def series_frames(self, place: Place, setup_number: int) -> tuple[SeriesFrame, ...]:
        """The frames of a view by a set-up, of which its series of solos is made."""
        wanted = FrameFilter(job=place.job, piece=place.piece, view=place.view, setup=str(setup_number))
        return tuple(
            SeriesFrame(
                frame_id=one.frame_id,
                number=one.number,
                asked_at=one.asked_at,
                revision=one.revision,
                path=one.picture,
                solo=one.solo,
                ambient=one.ambient,
                mark=one.mark,
            )
            for one in self.records(wanted)
        )

    def focus_series(self, place: Place) -> tuple[FrameRecord, ...]:
        """The frames of the view's newest focus series in the order of their numbers; () without one."""
        newest = select(FrameTable.series_id).where(
            FrameTable.view_id == place.view_id, FrameTable.series_id.is_not(None)
        )
        newest = newest.order_by(FrameTable.number.desc()).limit(1)
        query = frame_search.rows().where(FrameTable.series_id == newest.scalar_subquery())
        with self._database.transaction() as connection:
            return tuple(records.whole(connection, connection.execute(query.order_by(FrameTable.number)).all()))

    def _one(self, query: Select[Any]) -> FrameRecord | None:
        with self._database.transaction() as connection:
            found = records.whole(connection, connection.execute(query).all())
        return found[0] if found else None

    def _each(
        self,
        wanted: FrameFilter,
        newest_first: bool,
        limit: int | None,
        value: Callable[[Connection, list[Any]], list[T]],
    ) -> Iterator[T]:
        """The records that `value` makes of the rows. A damaged row is left out alone."""
        with self._database.transaction() as connection:
            try:
                query = frame_search.matching(connection, wanted, newest_first, limit)
            except ValueError as error:
                raise LogError(f"{str(error)[:1].upper()}{str(error)[1:]}.") from error
            done = 0
            try:
                for page in connection.execute(query).partitions(PAGE):
                    found = value(connection, list(page))
                    yield from found
                    done += len(found)
            except (DBAPIError, *OF_DAMAGED_VALUES):
                if self._path is None or not damage_of(self._path):
                    raise
                yield from self._in_halves(connection, query, done, value)

    def _in_halves(
        self, connection: Connection, query: Select[Any], done: int, value: Callable[[Connection, list[Any]], list[T]]
    ) -> Iterator[T]:
        """The rest of a query's frames after the first `done`; pages that can't be read are halved, down to a frame."""
        columns = [type_coerce(column, Text()) for column in (FrameTable.frame_id, FrameTable.number, JobTable.name)]
        keys: list[tuple[Any, ...]] = []
        try:
            for row in connection.execute(query.with_only_columns(*columns, maintain_column_froms=True)):
                keys.append(tuple(row))
        except DBAPIError:
            self.unreadable.append("What follows in the list")
        waiting = [keys[at : at + PAGE] for at in range(done, len(keys), PAGE)]
        while waiting:
            some = waiting.pop(0)
            place = {key: number for number, (key, _, _) in enumerate(some)}
            these = frame_search.rows().where(type_coerce(FrameTable.frame_id, Text()).in_(place))
            try:
                rows = {place[row.frame_id.replace("-", "")]: row for row in connection.execute(these)}
                found = value(connection, [rows[number] for number in sorted(rows)])
            except (DBAPIError, *OF_DAMAGED_VALUES):
                if len(some) == 1:
                    self.unreadable.append(f"Frame {some[0][1]} of {some[0][2]}")
                else:
                    waiting[:0] = [some[: len(some) // 2], some[len(some) // 2 :]]
                continue
            yield from found

    # --- jobs, places, set-ups --------------------------------------------------------------------

    def jobs(self) -> tuple[JobRow, ...]:
        """All jobs, the one worked on last first; jobs without a frame come last."""
        pieces = select(func.count()).where(PieceTable.job_id == JobTable.job_id).correlate(JobTable).scalar_subquery()
        used = select(func.coalesce(func.sum(RevisionUseTable.frame_count), 0)).where(
            RevisionUseTable.job_id == JobTable.job_id
        )
        frames = used.correlate(JobTable).scalar_subquery()
        last = select(FrameTable.asked_at).where(FrameTable.job_id == JobTable.job_id).correlate(JobTable)
        last_at = last.order_by(FrameTable.number.desc()).limit(1).scalar_subquery()
        columns = (JobTable.job_id, JobTable.name, JobTable.client, JobTable.created_at, pieces, frames, last_at)
        with self._database.transaction() as connection:
            found = [JobRow(*row) for row in connection.execute(select(*columns))]
        return tuple(sorted(found, key=lambda job: (job.frame_count > 0, job.last_at or job.created_at), reverse=True))

    def job_named(self, name: str = "") -> JobRow | None:
        """The job of that name, whatever its case; "" = the one worked on last. None for a job that the log lacks."""
        return next((job for job in self.jobs() if not name or name_key(job.name) == name_key(name)), None)

    def places(self, job: str = "") -> tuple[Place, ...]:
        """Every view of every piece, of one job or of all, in the order in which they were made."""
        query = _places()
        if job:
            query = query.where(JobTable.name_key == name_key(job))
        with self._database.transaction() as connection:
            return tuple(Place(*row) for row in connection.execute(query.order_by(ViewTable.view_id)))

    def known_views(self, job: str) -> tuple[KnownView, ...]:
        """Every view of the job's pieces, in the order in which they were made."""
        places = self.places(job)
        with self._database.transaction() as connection:
            begun = standing.begun_views(connection, [place.view_id for place in places])
        return tuple(KnownView(place.piece, place.view, place.view_id in begun) for place in places)

    def progress(self, job: str) -> Progress | None:
        """The job's order and what was shot for it; None for a job without an order, and in an archive."""
        if self._path is None:
            return None
        with self._database.transaction() as connection:
            return order_reading.progress_of(connection, job)

    def agreement(self, place: Place) -> Agreement | None:
        """The client's standard of the view, with its accepted frame; None for a view without, and in an archive."""
        if self._path is None:
            return None
        with self._database.transaction() as connection:
            return order_rows.agreement(connection, place)

    def kept_wish(self, place: Place) -> dict[str, object] | None:
        """The planner's last wish for this view; None without one. Raises LogError."""
        with self._database.transaction() as connection:
            return kept_values.newest_wish(connection, place)

    def steps_said(self, place: Place, revision_id: str) -> tuple[StepSaid, ...]:
        """The words in force on the steps of building a revision again, see `session.frame.ports.Log`."""
        with self._database.transaction() as connection:
            return steps_said.in_force(connection, place, revision_id)

    def last_place(self, job: str = "") -> Place | None:
        """The place that was opened last in this job; "" = in any job. None before the first place."""
        places = {place.view_id: place for place in self.places(job)}
        opened = select(EventTable.payload).where(EventTable.kind == event_rows.PLACE)
        with self._database.transaction() as connection:
            payloads = connection.scalars(opened.order_by(EventTable.at.desc(), EventTable.event_id.desc()))
            return next((places[p["view_id"]] for p in payloads if p and p["view_id"] in places), None)

    def setups(self, job: str) -> tuple[SetupRow, ...]:
        """The job's set-ups by number, each with its latest revision."""
        has_one = exists().where(models.RevisionTable.setup_id == SetupTable.setup_id)  # else what a fetch left out
        query = (
            select(SetupTable)
            .join(JobTable)
            .where(JobTable.name_key == name_key(job), has_one)
            .order_by(SetupTable.number)
        )
        with self._database.transaction() as connection:
            return tuple(_setup_row(connection, row) for row in connection.execute(query).all())

    def revisions(self, job: str, setup_number: int) -> tuple[Revision, ...]:
        """All revisions of a set-up, oldest first."""
        with self._database.transaction() as connection:
            keys = connection.scalars(_revisions(job, setup_number).order_by(models.RevisionTable.number)).all()
            found = setups.load(connection, keys)
        return tuple(found[key] for key in keys)

    def revision(self, job: str, label: str) -> tuple[Revision, str] | None:
        """The revision `07.3`, or the latest of set-up `7`, with its key; "" for a draft that stands at a view.

        Raises ValueError for a text that isn't a revision's or set-up's label.
        """
        setup_number, number = parse_label(label)
        query = _revisions(job, setup_number)
        if number is not None:
            query = query.where(models.RevisionTable.number == number)
        return self._revision(query.order_by(models.RevisionTable.number.desc())) or self._draft(
            job, setup_number, number
        )

    def _draft(self, job: str, setup_number: int, number: int | None) -> tuple[Revision, str] | None:
        with self._database.transaction() as connection:
            job_id = connection.scalar(select(JobTable.job_id).where(JobTable.name_key == name_key(job)))
            drafted = standing.drafts(connection, job_id) if job_id else ()
            found = [one for one in drafted if one.setup_number == setup_number and number in (None, one.revision)]
        return (found[0], "") if found else None

    def standing(self, place: Place) -> Standing | None:
        """The arrangement with which the view goes on, see `session.frame.ports.Log`."""
        with self._database.transaction() as connection:
            return standing.standing(connection, place)

    def latest_revision(self, job: str, setup_number: int | None = None) -> tuple[Revision, str] | None:
        """The job's revision made last, of one set-up or of all, with its key."""
        query = _revisions(job, setup_number)
        return self._revision(
            query.order_by(models.RevisionTable.created_at.desc(), models.RevisionTable.revision_id.desc())
        )

    def _revision(self, query: Select[str]) -> tuple[Revision, str] | None:
        with self._database.transaction() as connection:
            key = connection.scalar(query.limit(1))
            return (setups.load(connection, [key])[key], key) if key else None

    def set_pictures(self, job: str, revision: Revision) -> tuple[SetPicture, ...]:
        """Pictures of the set of a revision, else of the last one before it that has some; () in an archive."""
        if self._path is None:
            return ()
        query = select(models.RevisionTable.revision_id, models.RevisionTable.number).join(SetupTable).join(JobTable)
        of_setup = (JobTable.name_key == name_key(job), SetupTable.number == revision.setup_number)
        query = query.where(*of_setup, models.RevisionTable.number <= revision.revision)
        with self._database.transaction() as connection:
            rows = connection.execute(query.order_by(models.RevisionTable.number.desc())).all()
        for key, number in rows:
            found = stored_set_pictures(self._path, key)
            if found:
                setup = f"{revision.setup_number:02d}.{number}"
                return tuple(SetPicture(one.number, str(one.path), setup, one.whole) for one in found)
        return ()

    def stats(self, job: str = "", since: datetime | None = None, until: datetime | None = None) -> Stats:
        """Totals of a job, "" = of all jobs, over the frames asked for at or after `since` and before `until`."""
        with self._database.transaction() as connection:
            return stats(connection, job, since, until)

    # --- words ------------------------------------------------------------------------------------

    def notes(self, job: str = "") -> tuple[NoteRow, ...]:
        """Notes to frames, oldest first, of one job or of all."""
        query = (
            select(
                NoteTable.note_id,
                NoteTable.frame_id,
                FrameTable.number,
                JobTable.name,
                PieceTable.name,
                NoteTable.text,
                NoteTable.written_at,
            )
            .join(FrameTable, FrameTable.frame_id == NoteTable.frame_id)
            .join(JobTable, JobTable.job_id == FrameTable.job_id)
            .join(ViewTable, ViewTable.view_id == FrameTable.view_id)
            .join(PieceTable, PieceTable.piece_id == ViewTable.piece_id)
            .order_by(NoteTable.written_at, NoteTable.note_id)
        )
        if job:
            query = query.where(JobTable.name_key == name_key(job))
        with self._database.transaction() as connection:
            return tuple(NoteRow(*row) for row in connection.execute(query))

    def events(self, kind: str = "", frame_id: str = "") -> tuple[EventRow, ...]:
        """The log's events, oldest first; only those of a kind, or of a frame, where given."""
        query = select(EventTable.at, EventTable.kind, EventTable.text, EventTable.frame_id).order_by(
            EventTable.event_id
        )
        if kind:
            query = query.where(EventTable.kind == kind)
        if frame_id:
            query = query.where(EventTable.frame_id == frame_id)
        with self._database.transaction() as connection:
            return tuple(EventRow(*row) for row in connection.execute(query))

    def series_outcomes(self) -> dict[str, str]:
        """Frame's key → what its focus series came to when it was looked at last with that frame, in words."""
        return {event.frame_id: event.text for event in self.events(SERIES_OUTCOME) if event.frame_id}


def _places() -> Any:
    columns = (JobTable.job_id, PieceTable.piece_id, ViewTable.view_id, JobTable.name, PieceTable.name, ViewTable.name)
    return (
        select(*columns)
        .join(PieceTable, PieceTable.job_id == JobTable.job_id)
        .join(ViewTable, ViewTable.piece_id == PieceTable.piece_id)
    )


def _revisions(job: str, setup_number: int | None) -> Select[str]:
    query = (
        select(models.RevisionTable.revision_id)
        .join(SetupTable)
        .join(JobTable)
        .where(JobTable.name_key == name_key(job))
    )
    return query if setup_number is None else query.where(SetupTable.number == setup_number)


def _setup_row(connection: Connection, row: Any) -> SetupRow:
    of_setup = models.RevisionTable.setup_id == row.setup_id
    keys = connection.scalars(
        select(models.RevisionTable.revision_id).where(of_setup).order_by(models.RevisionTable.number)
    ).all()
    frames = select(func.count()).select_from(FrameTable).join(models.RevisionTable).where(of_setup)
    approved = select(PieceTable.name, FrameTable.number).select_from(ReferenceTable)
    approved = approved.join(PieceTable).join(FrameTable, FrameTable.frame_id == ReferenceTable.frame_id)
    references = connection.execute(approved.where(ReferenceTable.setup_id == row.setup_id)).all()
    return SetupRow(
        number=row.number,
        latest=setups.load(connection, keys[-1:])[keys[-1]],
        latest_id=keys[-1],
        revision_count=len(keys),
        frame_count=connection.scalar(frames) or 0,
        references={piece: number for piece, number in references},
    )
