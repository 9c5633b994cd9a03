"""Fetch from the archive into a station's log: whole jobs with set-ups, frames and all that belongs to them.

Fetched jobs can be looked at, searched, marked, noted and shot again at this station; what machines know of a frame is
and stays the word of the station that took it. The pictures stay where they are; stored previews of references may
come along, of fetched frames alone. Jobs are taken some at a time: of each table the keys on both sides are compared
once, and only missing rows are read, in batches. The time a fetch takes grows with the rows; the next fetch completes a
broken one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, func, select, update
from sqlalchemy.dialects.postgresql import distinct_on

from session.frame.ports import Clock, LogError, SystemClock
from session.picture.stored_preview import MOST_BYTES
from session.units.names import name_key
from storage.archive import clocks, orders, previews, strangers
from storage.archive.archive_database import ArchiveDatabase, open_to_look
from storage.archive.archive_schema import ArchiveStation, ReferencePreview, SentFrame
from storage.archive.merge import Merge
from storage.archive.pictures_of_sets import fetch_set_pictures
from storage.archive.rows import as_dicts, batches, put, rows_of
from storage.archive.send import MACHINE, OF_FRAME, PLACES, unheard, update_frames
from storage.database.log_database import Database, open_for_writing
from storage.files.paths import previews_folder
from storage.schema import models
from storage.schema.frame_models import FOUND_BEFORE, CameraTable, CardObjectTable, FrameTable
from storage.schema.models import EventTable, JobTable, PieceTable, RevisionTable, SetupTable, ViewTable
from storage.schema.prepared import table_of
from storage.schema.station_models import FetchedFrameTable
from storage.writing import event_rows

UNKNOWN = "another station"

OF_NO_FRAME = (
    event_rows.CLIENT,
    event_rows.REVISION,
    event_rows.FOCUS_PEAK,
    event_rows.ARRANGED,
    event_rows.CHOSEN,
    event_rows.WISH,
    event_rows.STEP,
)
"""Kinds of events that tell of a job or its set-ups."""

FRAMES_AT_ONCE = 20_000
"""Frames whose keys are compared at a time, some 20 MB; a job isn't divided. Chosen, no source."""

MOST_TOLD = 20
"""Sentences on rows that were left out. Chosen: a screenful."""

KIND = "fetched"
"""Of the events that keep what a fetch had to tell."""

KEYED = (*map(table_of, PLACES), table_of(models.RevisionTable))
"""Tables of places, set-ups and revisions."""

Rows = list[dict[str, Any]]
Keys = list[str]


@dataclass
class Fetched:
    """The outcome of a fetch: jobs looked at, frames that are new here, previews and pictures of sets, and sentences.

    Sentences are on names, on rows that were left out, and on the clock.
    """

    jobs: int = 0
    frames: int = 0
    previews: int = 0
    set_pictures: int = 0
    told: list[str] = field(default_factory=list)


def fetch(
    log: Path,
    address: str,
    *,
    job: str = "",
    previews: bool = False,
    clock: Clock | None = None,
    tell: Callable[[int, int], None] = unheard,
) -> Fetched:
    """Bring one job of this name, or all, into the log, which is made when it is new.

    previews  also those of references and solos, and pictures of the set, stored beside the log, where none is
              written over
    tell      hears how many frames of the jobs were looked at, and how many there are
    Raises LogError: no such job, archive or log; another stillset has the log open.
    """
    archive = open_to_look(address)
    try:
        with archive.transaction() as there:
            jobs = _jobs(there, job)
        here = open_for_writing(log)
        try:
            return _Fetch(here, archive, clock or SystemClock(), tell).run(jobs, log if previews else None)
        finally:
            here.close()
    finally:
        archive.close()


def _jobs(there: Connection, name: str) -> list[tuple[str, int]]:
    """Key of each wanted job, oldest first, and how many frames it has.

    Raises LogError when the archive has no such job.
    """
    count = (
        select(func.count())
        .select_from(FrameTable)
        .where(FrameTable.job_id == JobTable.job_id)
        .correlate(JobTable)
        .scalar_subquery()
    )
    query = select(JobTable.job_id, count).order_by(JobTable.created_at, JobTable.job_id)
    found = there.execute(query.where(JobTable.name_key == name_key(name)) if name else query).all()
    if name and not found:
        raise LogError(f"The archive has no job of the name {name!r}.")
    return [(row[0], row[1]) for row in found]


def _groups(jobs: Iterable[tuple[str, int]]) -> Iterator[Keys]:
    """Jobs that are looked at together."""
    group: Keys = []
    frames = 0
    for job_id, count in jobs:
        if group and frames + count > FRAMES_AT_ONCE:
            yield group
            group, frames = [], 0
        group.append(job_id)
        frames += count
    if group:
        yield group


class _Fetch:
    def __init__(
        self, here: Database, archive: ArchiveDatabase, clock: Clock, tell: Callable[[int, int], None]
    ) -> None:
        self._here, self._archive, self._clock, self._tell = here, archive, clock, tell
        self._done = self._of = 0
        self._fetched = Fetched()
        self._cameras: Rows = []
        self._left_out: list[str] = []

    def run(self, jobs: list[tuple[str, int]], pictures_of: Path | None) -> Fetched:
        """Bring the jobs. pictures_of: the log beside which their pictures are stored, too; None: they aren't."""
        self._of = sum(frames for _, frames in jobs)
        with self._archive.transaction() as there:
            told = clocks.sentence(clocks.ahead_s(there, self._clock))
            self._cameras = _rows_of(there, table_of(CameraTable))
        self._fetched.told += [told] if told else []
        for group in _groups(jobs):
            with self._archive.transaction() as there:  # one unchanging state, so that no row lacks what it points to
                self._group(there, group)
        with self._archive.transaction() as there:
            self._events_of_no_frame(there, {job_id for job_id, _ in jobs})
        with self._archive.transaction() as there, self._here.transaction() as here:
            self._left_out += orders.fetch_orders(there, here, [job_id for job_id, _ in jobs])
        if pictures_of is not None:
            for group in _groups(jobs):
                self._previews(group, previews_folder(pictures_of))
                with self._archive.transaction() as there, self._here.transaction() as here:
                    found = fetch_set_pictures(there, here, pictures_of, group, self._left_out)
                self._fetched.set_pictures += found
        self._fetched.jobs = len(jobs)
        self._fetched.told += self._left_out[:MOST_TOLD]
        if (more := len(self._left_out) - MOST_TOLD) > 0:
            self._fetched.told.append(f"{more} more rows of the archive were left out.")
        return self._fetched

    def _group(self, there: Connection, job_ids: Keys) -> None:
        self._places_and_set_ups(there, job_ids)
        missing = self._missing_events(there, job_ids)
        self._frames(there, job_ids, set(missing.values()))
        for batch in batches(list(missing)):
            with self._here.transaction() as here:
                merge = self._merge(here)
                merge.add_events(_rows_by_keys(there, table_of(EventTable), "event_id", batch))
                self._keep(here, merge)

    def _merge(self, here: Connection, station: str = UNKNOWN) -> Merge:
        merge = Merge(here, station, from_archive=True)
        merge.add_cameras(self._cameras)
        return merge

    def _keep(self, here: Connection, merge: Merge) -> None:
        """Record in the log, with the rows, what was renamed, so that a cut connection loses no sentence.

        Rows that were left out are told at each fetch instead.
        """
        for sentence in merge.told:
            event_rows.record(here, self._clock.now(), KIND, sentence)
        self._fetched.told += merge.told
        self._left_out += merge.left_out

    # --- places and set-ups -----------------------------------------------------------------------

    def _places_and_set_ups(self, there: Connection, job_ids: Keys) -> None:
        """Fetch places and set-ups job by job, of the jobs that have new ones."""
        with self._here.transaction() as here:
            new = [job_id for job_id, keys in _keys_by_job(there, job_ids).items() if keys - _keys_here(here, keys)]
        stations = _stations(there, new)
        for job_id in new:
            self._places_and_set_ups_of(there, job_id, stations.get(job_id, UNKNOWN))

    def _places_and_set_ups_of(self, there: Connection, job_id: str, station: str) -> None:
        job, piece, view, setup = (table_of(model) for model in PLACES)
        revision, light, item = map(
            table_of, (models.RevisionTable, models.RevisionLightTable, models.RevisionPassiveTable)
        )
        jobs = _rows_by_keys(there, job, "job_id", [job_id])
        pieces = _rows_by_keys(there, piece, "job_id", [job_id])
        views = _rows_by_keys(there, view, "piece_id", [row["piece_id"] for row in pieces])
        setups = _rows_by_keys(there, setup, "job_id", [job_id])
        revisions = _rows_by_keys(there, revision, "setup_id", [row["setup_id"] for row in setups])
        keys = [row["revision_id"] for row in revisions]
        parts = [(table, _rows_by_keys(there, table, "revision_id", keys)) for table in (light, item)]
        with self._here.transaction() as here:
            merge = self._merge(here, station)
            for table, rows in ((job, jobs), (piece, pieces), (view, views), (setup, setups)):
                merge.add(table, rows)
            new = {row["revision_id"] for row in merge.add(revision, revisions)}
            for table, rows in parts:
                merge.add(table, [row for row in rows if row["revision_id"] in new])
            self._keep(here, merge)

    # --- frames -----------------------------------------------------------------------------------

    def _frames(self, there: Connection, job_ids: Keys, told_of: set[str]) -> None:
        """Fetch new frames, and frames that went on at their own station since; `told_of` have new events."""
        frame = table_of(FrameTable)
        theirs = {column.name: column for column in strangers.asked_for(frame)}
        of_jobs = frame.c.job_id.in_(job_ids)
        with self._here.transaction() as here:
            known = select(*(frame.c[name] for name in ("frame_id", *MACHINE))).where(of_jobs)
            ours = {row.frame_id: tuple(row)[1:] for row in here.execute(known)}
            theirs_here = select(FetchedFrameTable.frame_id).join(
                FrameTable, FrameTable.frame_id == FetchedFrameTable.frame_id
            )
            fetched = set(here.scalars(theirs_here.where(FrameTable.job_id.in_(job_ids))))
        query = select(*(theirs[name] for name in ("frame_id", *MACHINE))).where(of_jobs)
        found, changed = there.execute(query.order_by(frame.c.job_id, frame.c.number)).all(), []
        for row in found:
            before = ours.get(row.frame_id)
            if before is None or (row.frame_id in fetched and (before != tuple(row)[1:] or row.frame_id in told_of)):
                changed.append(row.frame_id)
        self._done += len(found) - len(changed)
        for batch in batches(changed):
            self._frames_of(there, list(batch))
            self._done += len(batch)
            self._tell(self._done, self._of)

    def _frames_of(self, there: Connection, frame_ids: Keys) -> None:
        frames = _rows_by_keys(there, table_of(FrameTable), "frame_id", frame_ids)
        details = [(table, _rows_by_keys(there, table, "frame_id", frame_ids)) for table in OF_FRAME]
        objects = {row["card_object_id"] for row in details[0][1]}
        card = _rows_by_keys(there, table_of(CardObjectTable), "card_object_id", objects)
        with self._here.transaction() as here:
            merge = self._merge(here)
            new = {row["frame_id"] for row in merge.add(table_of(FrameTable), frames)}
            put(here, table_of(FetchedFrameTable), [{"frame_id": key} for key in sorted(new)])
            for row in frames:
                if row["frame_id"] not in new:
                    self._update_frame(merge, here, row)
            there_too = set(rows["frame_id"] for rows in rows_of(here, table_of(FrameTable), "frame_id", frame_ids))
            stands_for = self._card_objects(merge, here, [row for row in card if row["frame_id"] in there_too])
            for table, rows in details:
                merge.add(table, [_point_to_known(row, stands_for) for row in rows if row["frame_id"] in there_too])
            self._fetched.frames += len(new)
            self._keep(here, merge)

    def _update_frame(self, merge: Merge, here: Connection, row: dict[str, Any]) -> None:
        why = strangers.fault(table_of(FrameTable), row) or merge.attempt(lambda: update_frames(here, [row]))
        if why:
            merge.leave_out(table_of(FrameTable), row, why)

    def _card_objects(self, merge: Merge, here: Connection, rows: Rows) -> dict[str, str]:
        """Add objects of cards; the key in the archive → the key here, where a card of theirs was seen here too."""
        table, stands_for = table_of(CardObjectTable), {}
        serials = {camera["camera_id"]: camera["serial"] for camera in self._cameras}
        known = _known_objects(here, rows, {serials.get(row["camera_id"]) for row in rows})
        new, owned = [], []
        for row in rows:
            same = (serials.get(row["camera_id"]), *(row[name] for name in IDENTITY))
            if same not in known:
                new.append(row)
                known[same] = (row["card_object_id"], row["frame_id"])
            elif (found := known[same])[0] != row["card_object_id"]:
                stands_for[row["card_object_id"]] = found[0]
                owned += [(found[0], row)] if found[1] is None else []
        merge.add(table, new)
        for key, row in owned:  # it lay on the card before, and now we know whose it is
            owner = {"disposition": row["disposition"], "frame_id": row["frame_id"]}
            here.execute(update(table).where(table.c.card_object_id == key, OF_NOBODY).values(owner))
        return stands_for

    # --- events -----------------------------------------------------------------------------------

    def _missing_events(self, there: Connection, job_ids: Keys) -> dict[str, str]:
        """Key of an event about the jobs' frames → the frame's key, for events missing in this log; oldest first."""
        query = select(EventTable.event_id, EventTable.frame_id).join(
            FrameTable, FrameTable.frame_id == EventTable.frame_id
        )
        of_jobs = query.where(FrameTable.job_id.in_(job_ids))
        with self._here.transaction() as here:
            ours = set(here.scalars(of_jobs))
        found = there.execute(of_jobs.order_by(EventTable.at, EventTable.event_id))
        return {row.event_id: row.frame_id for row in found if row.event_id not in ours}

    def _events_of_no_frame(self, there: Connection, job_ids: set[str]) -> None:
        """Fetch the events about the jobs' set-ups and clients."""
        told = [EventTable.payload[name].as_string().label(name) for name in ("job_id", "revision_id")]
        query = select(EventTable.event_id, *told).where(
            EventTable.kind.in_(OF_NO_FRAME), EventTable.frame_id.is_(None)
        )
        with self._here.transaction() as here:
            ours = set(here.scalars(select(EventTable.event_id).where(EventTable.kind.in_(OF_NO_FRAME))))
        set_ups = there.execute(select(RevisionTable.revision_id, SetupTable.job_id).join(SetupTable))
        revisions = {row.revision_id: row.job_id for row in set_ups}
        small = func.json_typeof(EventTable.payload) == "object"
        missing = [
            row.event_id
            for row in there.execute(query.where(small).order_by(EventTable.at, EventTable.event_id))
            if row.event_id not in ours and (row.job_id or revisions.get(row.revision_id)) in job_ids
        ]
        for batch in batches(missing):
            with self._here.transaction() as here:
                merge = self._merge(here)
                merge.add_events(_rows_by_keys(there, table_of(EventTable), "event_id", batch))
                self._keep(here, merge)

    # --- previews ---------------------------------------------------------------------------------

    def _previews(self, job_ids: Keys, folder: Path) -> None:
        query = select(ReferencePreview.frame_id).join(FrameTable, FrameTable.frame_id == ReferencePreview.frame_id)
        query = query.where(FrameTable.frame_id.in_(previews.compared_frames()))
        query = query.where(FrameTable.job_id.in_(job_ids), func.length(ReferencePreview.jpeg) <= MOST_BYTES)
        with self._archive.transaction() as there:
            for key in self._fetched_of(there.scalars(query.distinct()).all()):
                jpeg = there.scalar(select(ReferencePreview.jpeg).where(ReferencePreview.frame_id == key))
                if jpeg is None or not previews.is_small(jpeg):
                    continue
                self._fetched.previews += previews.store(folder, key, jpeg)

    def _fetched_of(self, frame_ids: Sequence[str]) -> list[str]:
        """Those of the frames that came from an archive: of this station's own no archive has anything to show."""
        found: list[str] = []
        with self._here.transaction() as here:
            for batch in batches(frame_ids):
                found += here.scalars(select(FetchedFrameTable.frame_id).where(FetchedFrameTable.frame_id.in_(batch)))
        return found


IDENTITY = ("folder", "name", "bytes", "modified_at_s")
"""Columns by which an object on a camera's card is the same."""

OF_NOBODY = CardObjectTable.disposition == FOUND_BEFORE


def _known_objects(
    here: Connection, rows: Rows, serials: set[str | None]
) -> dict[tuple[Any, ...], tuple[str, str | None]]:
    """Serial number, folder, name, size and time → key and frame, of objects here that may be the same as these."""
    names = [getattr(CardObjectTable, name) for name in IDENTITY]
    query = select(CameraTable.serial, *names, CardObjectTable.card_object_id, CardObjectTable.frame_id).join(
        CameraTable
    )
    query = query.where(
        CardObjectTable.camera_id.in_(select(CameraTable.camera_id).where(CameraTable.serial.in_(serials)))
    )
    query = query.where(CardObjectTable.folder.in_({row["folder"] for row in rows}))
    query = query.where(CardObjectTable.name.in_({row["name"] for row in rows}))
    return {tuple(row)[:-2]: tuple(row)[-2:] for row in here.execute(query)}


def _keys_by_job(there: Connection, job_ids: Keys) -> dict[str, set[str]]:
    """Job → the keys of all its places, set-ups and revisions."""
    found: dict[str, set[str]] = {job_id: {job_id} for job_id in job_ids}
    for query in (
        select(PieceTable.job_id, PieceTable.piece_id).where(PieceTable.job_id.in_(job_ids)),
        select(PieceTable.job_id, ViewTable.view_id)
        .join(ViewTable, ViewTable.piece_id == PieceTable.piece_id)
        .where(PieceTable.job_id.in_(job_ids)),
        select(SetupTable.job_id, SetupTable.setup_id).where(SetupTable.job_id.in_(job_ids)),
        select(SetupTable.job_id, RevisionTable.revision_id).join(RevisionTable).where(SetupTable.job_id.in_(job_ids)),
    ):
        for job_id, key in there.execute(query):
            found[job_id].add(key)
    return found


def _keys_here(here: Connection, keys: set[str]) -> set[str]:
    """The keys, among these, of places, set-ups and revisions that this log has."""
    found: set[str] = set()
    for batch in batches(list(keys)):
        for table in KEYED:
            column = next(iter(table.primary_key.columns))
            found.update(here.scalars(select(column).where(column.in_(batch))))
    return found


def _stations(there: Connection, job_ids: Keys) -> dict[str, str]:
    """Job → the name of the station that took its first frame."""
    query = select(FrameTable.job_id, ArchiveStation.name).join(SentFrame, SentFrame.frame_id == FrameTable.frame_id)
    query = query.join(ArchiveStation, ArchiveStation.station_id == SentFrame.station_id)
    query = (
        query.where(FrameTable.job_id.in_(job_ids))
        .order_by(FrameTable.job_id, FrameTable.number)
        .ext(distinct_on(FrameTable.job_id))
    )
    return {row.job_id: row.name for row in there.execute(query)}


def _rows_of(there: Connection, table: Table) -> Rows:
    return as_dicts(there.execute(select(*strangers.asked_for(table))))


def _rows_by_keys(there: Connection, table: Table, column: str, keys: Iterable[str]) -> Rows:
    """The rows as `rows_of` gives them, from an archive into which anybody may have written."""
    query = select(*strangers.asked_for(table)).where(table.c[column].in_(list(keys)))
    return as_dicts(there.execute(query.order_by(*table.primary_key.columns)))


def _point_to_known(row: dict[str, Any], stands_for: Mapping[str, str]) -> dict[str, Any]:
    if "card_object_id" not in row:
        return row
    return row | {"card_object_id": stands_for.get(row["card_object_id"], row["card_object_id"])}
