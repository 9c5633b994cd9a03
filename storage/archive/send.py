"""Send to the archive the rows that a station's log has gained since the last sending, in small batches.

How far a station has sent stands in the archive and is written in the same transaction as the rows, so a batch arrives
once or not at all, wherever the connection breaks; the next sending goes on behind it. The log is only read, so another
stillset may shoot meanwhile. Rows are taken in the order in which they were written; frames that were unfinished, and
frames that new events are about, are sent again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, delete, func, insert, literal_column, select, update

from session.frame.ports import Clock, SystemClock
from storage.archive import archive_schema, archive_versions, clocks, orders
from storage.archive.archive_database import ArchiveDatabase, ArchiveUnreachableError, open_to_write
from storage.archive.archive_schema import ArchiveStation, ReferencePreview, SentFrame, StationProgress, Told
from storage.archive.merge import Merge
from storage.archive.pictures_of_sets import put_set_picture, whole_set_pictures
from storage.archive.previews import compared_frames, preview
from storage.archive.rows import BATCH, as_dicts, batches, put, rows_of
from storage.database.log_database import Database, open_for_reading
from storage.files.paths import previews_folder
from storage.schema import frame_models, models
from storage.schema.frame_models import FINAL, CameraTable, CardObjectTable, FileCopyTable, FrameFileTable, FrameTable
from storage.schema.models import Base, EventTable
from storage.schema.prepared import table_of
from storage.schema.station_models import FetchedFrameTable, StationTable

PLACES: tuple[type[Base], ...] = (models.JobTable, models.PieceTable, models.ViewTable, models.SetupTable)

OF_FRAME = (
    table_of(FrameFileTable),
    table_of(FileCopyTable),
    table_of(frame_models.CameraReadingTable),
    table_of(frame_models.JudgementTable),
    table_of(frame_models.FindingTable),
    table_of(frame_models.OverrulingTable),
)

MACHINE = ("released_at", "saved_at", "sought_at", "state", "state_text", "fired", "focus_verdict", "verdict")
"""Columns of a frame that its own station alone says."""


@dataclass
class Sent:
    """The outcome of a sending: rows that were new in the archive by table, and sentences on names, numbers and clocks.

    Sentences of an earlier sending that was cut are among them.
    """

    new: dict[str, int] = field(default_factory=dict)
    told: list[str] = field(default_factory=list)

    def count(self, table: str, rows: int) -> None:
        self.new[table] = self.new.get(table, 0) + rows


def unheard(done: int, of: int) -> None:
    """Nobody asks how far it is."""


def send(
    log: Path,
    address: str,
    *,
    station: str = "",
    previews: bool = False,
    again: bool = False,
    clock: Clock | None = None,
    tell: Callable[[int, int], None] = unheard,
) -> Sent:
    """Send what the archive hasn't got.

    station   the table's name for others, kept for the next time; "" for the one it has
    previews  also stored previews of references and solos, made where there are none, and pictures of the set
    again     look at every row anew, after a log was taken from a copy
    tell      hears after each batch how many rows are sent, and how many there are to send
    Raises LogError; after ArchiveUnreachableError the next sending goes on where this one was.
    """
    local = open_for_reading(log)
    try:
        archive = open_to_write(address)
        try:
            sending = _Send(local, archive, station, clock or SystemClock(), again, tell)
            return sending.run(log if previews else None)
        finally:
            archive.close()
    finally:
        local.close()


class _Send:
    def __init__(
        self,
        local: Database,
        archive: ArchiveDatabase,
        station: str,
        clock: Clock,
        again: bool,
        tell: Callable[[int, int], None],
    ) -> None:
        self._local, self._archive, self._tell = local, archive, tell
        self._done = self._of = 0
        self._sent = Sent()
        self._fresh: set[str] = set()
        with local.transaction() as here:
            self._id = here.scalar(select(StationTable.station_id)) or ""
            self._last_event = (
                here.scalar(select(func.max(row_number(table_of(EventTable)))).select_from(EventTable)) or 0
            )
            cameras = here.execute(select(table_of(CameraTable))).all()
        self._cameras = [dict(row._mapping) for row in cameras]
        with archive.transaction() as there:
            brought_up = archive_schema.make(there)
            ahead_s = clocks.ahead_s(there, clock)
            self._name = self._write_station(there, station, ahead_s)
            if again:
                there.execute(delete(StationProgress).where(StationProgress.station_id == self._id))
        self._sent.told += [told for told in (brought_up, clocks.sentence(ahead_s)) if told]

    def run(self, pictures_of: Path | None) -> Sent:
        """Send all of it. pictures_of: the log whose previews and pictures of the set go along; None: they don't."""
        self._of = self._to_send()
        for model in PLACES:
            self._send(table_of(model), self._send_rows)
        self._send(table_of(models.RevisionTable), self._send_revisions)
        self._look_again_at_unfinished()
        self._send(table_of(FrameTable), self._send_frames)
        self._send(table_of(EventTable), self._send_events, self._last_event)
        self._send_orders()
        if pictures_of:
            self._send_previews(previews_folder(pictures_of))
            self._send_set_pictures(pictures_of)
        self._tell_kept()
        return self._sent

    def _send_orders(self) -> None:
        with self._archive.transaction() as there, self._local.transaction() as here:
            archive_schema.take_turn(there)
            archive_versions.check(there)
            self._sent.count("order", orders.send_orders(here, there))

    def _to_send(self) -> int:
        """Rows that the archive hasn't got."""
        sent: tuple[type[Base], ...] = (*PLACES, models.RevisionTable, FrameTable, EventTable)
        tables = [table_of(model) for model in sent]
        with self._archive.transaction() as there, self._local.transaction() as here:
            last = {table: self._come_to(there, here, table) for table in tables}
            counts = [
                here.scalar(select(func.count()).select_from(table).where(row_number(table) > last[table]))
                for table in tables
            ]
        return sum(count or 0 for count in counts)

    def _write_station(self, there: Connection, wanted: str, ahead_s: float) -> str:
        known = there.scalar(select(ArchiveStation.name).where(ArchiveStation.station_id == self._id))
        name = wanted or known or f"station {self._id[-4:]}"
        values = {"name": name, "pushed_at": func.now(), "clock_ahead_s": ahead_s}
        if known is None:
            there.execute(insert(ArchiveStation).values(station_id=self._id, **values))
        else:
            there.execute(update(ArchiveStation).where(ArchiveStation.station_id == self._id).values(**values))
        return name

    def _keep(self, there: Connection, told: list[str]) -> None:
        """Write sentences for the person in the same transaction as their rows, so that a cut connection loses none."""
        put(there, table_of(Told), [{"station_id": self._id, "sentence": sentence} for sentence in told])

    def _tell_kept(self) -> None:
        """Add the kept sentences to the outcome, oldest first; each is deleted in the archive only after that."""
        with self._archive.transaction() as there:
            query = select(Told.told_id, Told.sentence).where(Told.station_id == self._id)
            kept = there.execute(query.order_by(Told.told_id)).all()
        self._sent.told += [row.sentence for row in kept]
        if kept:
            with suppress(ArchiveUnreachableError), self._archive.transaction() as there:  # else told once more
                there.execute(delete(Told).where(Told.station_id == self._id, Told.told_id <= kept[-1].told_id))

    # --- batches ----------------------------------------------------------------------------------

    def _send(self, table: Table, step: Any, most: int | None = None) -> None:
        """Send a table batch by batch; a batch and the progress after it are one transaction."""
        while True:
            with self._archive.transaction() as there, self._local.transaction() as here:
                archive_schema.take_turn(there)
                archive_versions.check(there)  # a newer stillset may have brought it up since
                rows = self._after(here, table, self._come_to(there, here, table), most)
                if not rows:
                    return
                merge = Merge(there, self._name)
                merge.add_cameras(self._cameras)
                numbers = [row.pop("row_") for row in rows]
                new = step(merge, here, there, table, rows)
                key = str(rows[-1][next(iter(table.primary_key.columns)).name])
                self._note_progress(there, table, numbers[-1], key)
                self._keep(there, merge.told)
            self._sent.count(table.name, new)
            self._done += len(rows)
            self._tell(self._done, self._of)

    def _come_to(self, there: Connection, here: Connection, table: Table) -> int:
        """The number of the last row sent from this log; 0 when another log sent it."""
        of_table = (StationProgress.station_id == self._id, StationProgress.table_name == table.name)
        last = there.execute(select(StationProgress.last_row, StationProgress.last_key).where(*of_table)).first()
        if last is None:
            return 0
        key = here.scalar(select(next(iter(table.primary_key.columns))).where(row_number(table) == last.last_row))
        return int(last.last_row) if key == last.last_key else 0

    def _after(self, here: Connection, table: Table, last: int, most: int | None) -> list[dict[str, Any]]:
        query = select(table, row_number(table).label("row_")).where(row_number(table) > last)
        if most is not None:
            query = query.where(row_number(table) <= most)
        return as_dicts(here.execute(query.order_by(row_number(table)).limit(BATCH)))

    def _note_progress(self, there: Connection, table: Table, row: int, key: str) -> None:
        of_table = (StationProgress.station_id == self._id, StationProgress.table_name == table.name)
        values = {"last_row": row, "last_key": key}
        if not there.execute(update(StationProgress).where(*of_table).values(values)).rowcount:
            there.execute(insert(StationProgress).values(station_id=self._id, table_name=table.name, **values))

    # --- what is in a batch -----------------------------------------------------------------------

    def _send_rows(self, merge: Merge, _: Connection, __: Connection, table: Table, rows: list[dict[str, Any]]) -> int:
        return len(merge.add(table, rows))

    def _send_revisions(
        self, merge: Merge, here: Connection, _: Connection, table: Table, rows: list[dict[str, Any]]
    ) -> int:
        fresh = merge.add(table, rows)
        for model in (models.RevisionLightTable, models.RevisionPassiveTable):
            merge.add(table_of(model), rows_of(here, table_of(model), "revision_id", [r["revision_id"] for r in fresh]))
        return len(fresh)

    def _send_frames(
        self, merge: Merge, here: Connection, there: Connection, table: Table, rows: list[dict[str, Any]]
    ) -> int:
        own = self._own(here, [row["frame_id"] for row in rows])
        fresh = merge.add(table, [row for row in rows if row["frame_id"] in own])
        keys = [row["frame_id"] for row in fresh]
        put(there, table_of(SentFrame), [{"frame_id": key, "station_id": self._id} for key in keys])
        add_details(merge, here, keys, new=True)
        add_details(merge, here, sorted(own.difference(keys)))
        self._fresh.update(keys)
        return len(fresh)

    def _send_events(
        self, merge: Merge, here: Connection, there: Connection, _: Table, rows: list[dict[str, Any]]
    ) -> int:
        told_of = {row["frame_id"] for row in rows if row["frame_id"]}  # a frame sent just now was read after these
        self._look_again(merge, here, there, sorted(told_of - self._fresh))
        return merge.add_events(rows)

    def _own(self, here: Connection, frame_ids: Sequence[str]) -> set[str]:
        fetched = select(FetchedFrameTable.frame_id).where(FetchedFrameTable.frame_id.in_(frame_ids))
        return set(frame_ids) - set(here.scalars(fetched))

    # --- frames that went on since ----------------------------------------------------------------

    def _look_again_at_unfinished(self) -> None:
        with self._archive.transaction() as there:
            query = select(FrameTable.frame_id).join(SentFrame, SentFrame.frame_id == FrameTable.frame_id)
            query = query.where(SentFrame.station_id == self._id, FrameTable.state.not_in(FINAL))
            unfinished = list(there.scalars(query))
        for batch in batches(unfinished):
            with self._archive.transaction() as there, self._local.transaction() as here:
                archive_schema.take_turn(there)
                merge = Merge(there, self._name)
                merge.add_cameras(self._cameras)
                self._look_again(merge, here, there, batch)
                self._keep(there, merge.told)

    def _look_again(self, merge: Merge, here: Connection, there: Connection, frame_ids: Sequence[str]) -> None:
        """Send again the machines' facts on this station's own frames; fetched frames are left out."""
        own = sorted(self._own(here, frame_ids))
        if not own:
            return
        update_frames(there, rows_of(here, table_of(FrameTable), "frame_id", own))
        there.execute(delete(FileCopyTable).where(FileCopyTable.frame_id.in_(own)))  # one may lie elsewhere since
        add_details(merge, here, own)
        file = table_of(FrameFileTable)
        lie = {(row.frame_id, row.position): row.path for row in there.execute(_paths(file, own))}
        for row in here.execute(_paths(file, own)):
            if lie.get((row.frame_id, row.position), row.path) != row.path:
                this = (file.c.frame_id == row.frame_id, file.c.position == row.position)
                there.execute(update(file).where(*this).values(path=row.path))

    def _send_previews(self, folder: Path) -> None:
        for frame_id, path in self._files_of_then():
            with self._archive.transaction() as there:
                archive_schema.take_turn(there)
                known = select(func.count()).where(ReferencePreview.frame_id == frame_id)
                picture = None if there.scalar(known) else preview(folder, frame_id, path)
                if picture is not None:
                    there.execute(insert(ReferencePreview).values(frame_id=frame_id, jpeg=picture))
                    self._sent.count("preview", 1)

    def _send_set_pictures(self, log: Path) -> None:
        for key, jpeg in whole_set_pictures(log):
            with self._archive.transaction() as there:
                archive_schema.take_turn(there)
                if put_set_picture(there, key, jpeg, self._sent.told):
                    self._sent.count("set picture", 1)

    def _files_of_then(self) -> list[tuple[str, str]]:
        """This station's frames that a reshoot is compared with, each with the path of a file."""
        query = select(FrameFileTable.frame_id, FrameFileTable.path, FrameFileTable.kind)
        query = query.where(FrameFileTable.frame_id.in_(compared_frames()))
        with self._local.transaction() as here:
            found = here.execute(query.order_by(FrameFileTable.kind.desc(), FrameFileTable.position)).all()
            own = self._own(here, [row.frame_id for row in found])
        return list({row.frame_id: row.path for row in found if row.frame_id in own}.items())  # a JPEG before a raw


def update_frames(connection: Connection, rows: Iterable[dict[str, Any]]) -> None:
    """Update the machine columns of the archive's frames, where a row of the station's log differs."""
    table = table_of(FrameTable)
    wanted = {row["frame_id"]: {name: row[name] for name in MACHINE} for row in rows}
    known = select(table.c.frame_id, *(table.c[name] for name in MACHINE)).where(table.c.frame_id.in_(wanted))
    for row in connection.execute(known).all():
        values = wanted[row.frame_id]
        if tuple(values.values()) != tuple(row)[1:]:
            connection.execute(update(table).where(table.c.frame_id == row.frame_id).values(values))


def add_details(merge: Merge, source: Connection, frame_ids: Sequence[str], *, new: bool = False) -> None:
    """Files with their objects on cards, readings, judgements, findings and overrulings of these frames."""
    if not frame_ids:
        return
    files = {row["card_object_id"]: row["frame_id"] for row in rows_of(source, OF_FRAME[0], "frame_id", frame_ids)}
    objects = rows_of(source, table_of(CardObjectTable), "card_object_id", files)
    owned = [row | {"frame_id": files[row["card_object_id"]], "disposition": frame_models.SAVED} for row in objects]
    merge.add(table_of(CardObjectTable), owned, new=new)
    for table in OF_FRAME:
        merge.add(table, rows_of(source, table, "frame_id", frame_ids), new=new)


def _paths(file: Table, frame_ids: Sequence[str]) -> Any:
    return select(file.c.frame_id, file.c.position, file.c.path).where(file.c.frame_id.in_(frame_ids))


def row_number(table: Table) -> Any:
    """SQLite's own number of a row, which grows with time in a table that loses none."""
    return literal_column(f'"{table.name}".rowid')
