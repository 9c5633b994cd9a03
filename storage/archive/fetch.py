"""From the archive into a station's log: whole jobs with set-ups, frames and all that belongs to them.

what is fetched can be looked at, searched, marked, noted and shot again here; what machines know of its frames is and
stays the word of the station that took them. The pictures stay where they are; small ones of references may come along.
A job comes in batches, and what is there already is left out, so a fetch that broke goes on at the next one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from session.ports import LogError
from storage import events, models
from storage.archive.database import ArchiveDatabase, open_to_look
from storage.archive.merge import Merge, rows_of
from storage.archive.schema import ArchiveStation, ReferencePreview, SentFrame
from storage.archive.send import MACHINE, OF_FRAME, PLACES, batches, unheard, update_frames
from storage.database import Database, open_for_writing
from storage.frame_models import Camera, CardObject, Frame
from storage.models import Event, Job, Piece, Setup
from storage.names import name_key
from storage.prepared import table_of
from storage.station_models import FetchedFrame

UNKNOWN = "another station"

OF_NO_FRAME = (events.CLIENT, events.REVISION, events.FOCUS_PEAK, events.ARRANGED, events.CHOSEN)
"""Kinds of events that tell of a job or its set-ups."""

Rows = list[dict[str, Any]]


@dataclass
class Fetched:
    """What a fetch came to: jobs looked at, frames that are new here, previews written, and sentences on names."""

    jobs: int = 0
    frames: int = 0
    previews: int = 0
    told: list[str] = field(default_factory=list)


def fetch(
    log: Path,
    address: str,
    *,
    job: str = "",
    previews: Path | None = None,
    tell: Callable[[int, int], None] = unheard,
) -> Fetched:
    """Bring one job of this name, or all, into the log, which is made when it is new.

    previews  a folder for small pictures of references, each under its frame's key
    tell      hears how many frames of the jobs were looked at, and how many there are
    Raises LogError: no such job, archive or log; another stillset has the log open.
    """
    archive = open_to_look(address)
    try:
        with archive.transaction() as there:
            jobs = [row._mapping for row in there.execute(select(table_of(Job)).order_by(Job.created_at))]
        wanted = [dict(row) for row in jobs if not job or row["name_key"] == name_key(job)]
        if job and not wanted:
            raise LogError(f"The archive has no job of the name {job!r}.")
        here = open_for_writing(log)
        try:
            fetched, done = Fetched(), 0
            of = _frames_in(archive, [row["job_id"] for row in wanted])
            for row in wanted:
                done += _Fetch(here, archive, row, fetched, partial(_tell_after, done, of, tell)).run(previews)
            return fetched
        finally:
            here.close()
    finally:
        archive.close()


def _tell_after(before: int, of: int, tell: Callable[[int, int], None], count: int) -> None:
    tell(before + count, of)


def _frames_in(archive: ArchiveDatabase, job_ids: list[str]) -> int:
    with archive.transaction() as there:
        return there.scalar(select(func.count()).select_from(Frame).where(Frame.job_id.in_(job_ids))) or 0


class _Fetch:
    """One job. `tell` hears how many of its frames were looked at."""

    def __init__(
        self,
        here: Database,
        archive: ArchiveDatabase,
        job: dict[str, Any],
        fetched: Fetched,
        tell: Callable[[int], None],
    ) -> None:
        self._here, self._archive, self._job, self._fetched = here, archive, job, fetched
        self._tell = tell
        with archive.transaction() as there:
            self._cameras = [dict(row._mapping) for row in there.execute(select(table_of(Camera)))]
            query = select(ArchiveStation.name).join(SentFrame, SentFrame.station_id == ArchiveStation.station_id)
            query = query.join(Frame, Frame.frame_id == SentFrame.frame_id).where(Frame.job_id == job["job_id"])
            self._station = there.scalar(query.order_by(Frame.number).limit(1)) or UNKNOWN

    def run(self, previews: Path | None) -> int:
        """Returns how many frames the job has."""
        self._places_and_set_ups()
        frame_ids = self._frames()
        self._events(frame_ids)
        self._fetched.jobs += 1
        if previews is not None:
            self._previews(previews)
        return len(frame_ids)

    def _merge(self, connection: Connection) -> Merge:
        merge = Merge(connection, self._station)
        merge.add_cameras(self._cameras)
        self._fetched.told += merge.told
        return merge

    def _places_and_set_ups(self) -> None:
        job, piece, view, setup = (table_of(model) for model in PLACES)
        revision, light, item = map(table_of, (models.Revision, models.RevisionLight, models.RevisionPassive))
        with self._archive.transaction() as there:
            pieces = rows_of(there, piece, "job_id", [self._job["job_id"]])
            views = rows_of(there, view, "piece_id", [row["piece_id"] for row in pieces])
            setups = rows_of(there, setup, "job_id", [self._job["job_id"]])
            revisions = rows_of(there, revision, "setup_id", [row["setup_id"] for row in setups])
            keys = [row["revision_id"] for row in revisions]
            parts = [(table, rows_of(there, table, "revision_id", keys)) for table in (light, item)]
        with self._here.transaction() as connection:
            merge = self._merge(connection)
            merge.add(job, [self._job])
            for table, rows in ((piece, pieces), (view, views), (setup, setups)):
                merge.add(table, rows)
            new = {row["revision_id"] for row in merge.add(revision, revisions)}
            for table, rows in parts:
                merge.add(table, [row for row in rows if row["revision_id"] in new])
            self._fetched.told += merge.told

    def _frames(self) -> list[str]:
        """Frames that are new here, or went on at their own station since; returns the keys of all."""
        columns = [getattr(Frame, name) for name in ("frame_id", *MACHINE)]
        of_job = select(*columns).where(Frame.job_id == self._job["job_id"]).order_by(Frame.number)
        with self._archive.transaction() as there:
            theirs = {row.frame_id: tuple(row) for row in there.execute(of_job)}
        with self._here.transaction() as connection:
            ours = {row.frame_id: tuple(row) for row in connection.execute(of_job)}
            fetched = set(connection.scalars(select(FetchedFrame.frame_id)))
        changed = [key for key, row in theirs.items() if key not in ours or (key in fetched and ours[key] != row)]
        left = len(changed)
        for batch in batches(changed):
            self._frames_of(batch)
            left -= len(batch)
            self._tell(len(theirs) - left)
        return list(theirs)

    def _frames_of(self, frame_ids: list[str]) -> None:
        with self._archive.transaction() as there:
            frames = rows_of(there, table_of(Frame), "frame_id", frame_ids)
            details = [(table, rows_of(there, table, "frame_id", frame_ids)) for table in OF_FRAME]
            objects = {row["card_object_id"] for row in details[0][1]}
            card = rows_of(there, table_of(CardObject), "card_object_id", objects)
        with self._here.transaction() as connection:
            merge = self._merge(connection)
            new = {row["frame_id"] for row in merge.add(table_of(Frame), frames)}
            if new:
                connection.execute(insert(FetchedFrame), [{"frame_id": key} for key in sorted(new)])
            update_frames(connection, [row for row in frames if row["frame_id"] not in new])
            stands_for = self._card_objects(merge, connection, card)
            for table, rows in details:
                merge.add(table, [_pointing(row, stands_for) for row in rows])
            self._fetched.frames += len(new)
            self._fetched.told += merge.told

    def _card_objects(self, merge: Merge, connection: Connection, rows: Rows) -> dict[str, str]:
        """Add objects of cards; the key in the archive → the key here, where a card of theirs was seen here too."""
        table, stands_for = table_of(CardObject), {}
        for row in rows:
            serial = next(camera["serial"] for camera in self._cameras if camera["camera_id"] == row["camera_id"])
            same = [table.c[name] == row[name] for name in ("folder", "name", "bytes")]
            same.append(table.c.modified_at_s.is_not_distinct_from(row["modified_at_s"]))
            same.append(table.c.camera_id.in_(select(Camera.camera_id).where(Camera.serial == serial)))
            known = connection.scalar(select(table.c.card_object_id).where(*same))
            if known is None:
                merge.add(table, [row])
                continue
            stands_for[row["card_object_id"]] = known
            owner = {"disposition": row["disposition"], "frame_id": row["frame_id"]}
            connection.execute(update(table).where(table.c.card_object_id == known).values(owner))
        return stands_for

    def _events(self, frame_ids: list[str]) -> None:
        """What happened to the job's frames, set-ups and client; acts of people come into force."""
        table = table_of(Event)
        with self._here.transaction() as connection:
            query = select(models.Revision.revision_id).join(Setup).where(Setup.job_id == self._job["job_id"])
            of_job = {*connection.scalars(query), self._job["job_id"]}
        for batch in batches(frame_ids):
            with self._archive.transaction() as there:
                rows = rows_of(there, table, "frame_id", batch)
            with self._here.transaction() as connection:
                self._merge(connection).add_events(rows)
        with self._archive.transaction() as there:
            plain = rows_of(there, table, "kind", OF_NO_FRAME)
        about = [row for row in plain if {row["payload"].get("revision_id"), row["payload"].get("job_id")} & of_job]
        with self._here.transaction() as connection:
            self._merge(connection).add_events(about)

    def _previews(self, folder: Path) -> None:
        query = select(ReferencePreview.frame_id, ReferencePreview.jpeg)
        query = query.join(Frame, Frame.frame_id == ReferencePreview.frame_id)
        query = query.join(models.Reference, models.Reference.frame_id == Frame.frame_id)
        query = query.join(Piece, Piece.piece_id == models.Reference.piece_id)
        with self._archive.transaction() as there:
            found = there.execute(query.where(Frame.job_id == self._job["job_id"]).distinct()).all()
        if found:
            folder.mkdir(parents=True, exist_ok=True)
        for row in found:
            (folder / f"{row.frame_id}.jpg").write_bytes(row.jpeg)
            self._fetched.previews += 1


def _pointing(row: dict[str, Any], stands_for: dict[str, str]) -> dict[str, Any]:
    if "card_object_id" not in row:
        return row
    return row | {"card_object_id": stands_for.get(row["card_object_id"], row["card_object_id"])}
