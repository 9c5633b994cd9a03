"""The rules for rows that come to a database from another one, the same on the way to the archive and back.

1. Keys are unique for ever (RFC 9562, version 7), so a row whose key is known is the same row: the known row stays.
2. What is written once (set-ups' revisions, readings, judgements, findings, overrulings, events) is only added.
3. A name or a number that is taken: whoever comes second moves on. A job, piece or view of a name that is taken gets
   the sending station's name behind it; a set-up, revision or frame gets the next free number. Files keep their names,
   which hold the number that the frame was taken under. The sending station's own log keeps its names and numbers.
4. What machines know of a frame (state, shutter, verdicts, paths of files) is said by the station that took it alone.
5. Of acts of people about the same thing (a mark, a note, a reference, a client's name) the latest is in force,
   whichever station it came from: by the event's time, then by its key. Nothing of the others is lost, all are events.
6. A camera is known by its serial number, wherever it stands.
7. On the way from the archive a row that a log's constraints refuse is left out, and said; the rest comes.

So the outcome doesn't depend on the order in which stations come, save for who keeps a name or number.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from typing import Any

from sqlalchemy import ColumnElement, Connection, Table, and_, func, or_, select
from sqlalchemy.exc import DBAPIError, StatementError

from session.units.names import name_key
from storage.archive import strangers
from storage.archive.rows import Rows, put
from storage.schema.columns import UnstorableError
from storage.schema.frame_models import CameraTable
from storage.schema.models import EventTable, NoteTable
from storage.schema.prepared import table_of
from storage.writing import acts_in_force, event_rows

VALUES_REFUSED = (sqlite3.IntegrityError, sqlite3.DataError, sqlite3.InterfaceError, sqlite3.ProgrammingError)
"""Errors of SQLite and its driver that are about a value, not about the disk. Source: PEP 249, "Exceptions"."""

NUMBERED = {"setup": "job_id", "revision": "setup_id", "frame": "job_id"}
"""Table → the column within which its numbers are unique."""

NAMED: dict[str, str | None] = {"job": None, "piece": "job_id", "view": "piece_id"}
"""Table → the column within which its names are unique; None: in the whole table."""


class Merge:
    """Adds rows to a database, in one transaction. `station` is put behind names that are taken.

    from_archive   the rows are from an archive, where anybody may have written anything
    told       sentences on what was renamed or renumbered
    left_out   sentences on rows that were not taken
    """

    def __init__(self, connection: Connection, station: str, *, from_archive: bool = False) -> None:
        self._connection = connection
        self._station = station
        self._from_archive = from_archive
        self._where = "here" if from_archive else "there"
        self._cameras: dict[str, str] = {}
        self.told: list[str] = []
        self.left_out: list[str] = []

    def add(self, table: Table, rows: Rows, *, new: bool = False) -> list[dict[str, Any]]:
        """Add the rows that the archive lacks; returns the added rows as they went in.

        new  True: the archive has none of these rows
        """
        missing = [dict(row) for row in (rows if new else self._rows_to_add(table, rows)) if self._is_sound(table, row)]
        for row in missing:
            if "camera_id" in row and table.name != "camera":
                row["camera_id"] = self._cameras.get(row["camera_id"], row["camera_id"])
        second = self._who_comes_second(table, missing)
        first = self._put(table, [row for row in missing if row not in second] if second else missing)
        for late in second:
            if table.name in NAMED:
                self._name(table, late)
            else:
                self._number(table, late)
            first += self._put(table, [late])
        return first

    def _is_sound(self, table: Table, row: Mapping[str, Any]) -> bool:
        why = strangers.fault(table, row) if self._from_archive else ""
        if why:
            self.leave_out(table, row, why)
        return not why

    def leave_out(self, table: Table, row: Mapping[str, Any], why: str) -> None:
        """Say that the row isn't taken, and why."""
        key = "/".join(str(row[column.name]) for column in table.primary_key.columns)
        self.left_out.append(f"Left out of what the archive holds: {table.name} {key}, {why}.")

    def _put(self, table: Table, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Insert rows, from an archive only those that the log's constraints let in. Returns the inserted rows."""
        if not self._from_archive:
            put(self._connection, table, rows)
            return rows
        if self.attempt(lambda: put(self._connection, table, rows)) is None:
            return rows
        went_in = []
        for row in rows:
            why = self.attempt(lambda row=row: put(self._connection, table, [row]))  # type: ignore[misc]
            if why is None:
                went_in.append(row)
            else:
                self.leave_out(table, row, why)
        return went_in

    def attempt(self, step: Callable[[], object]) -> str | None:
        """Run a step, or undo the step when the log refuses a value. Returns the reason, None when the step is done."""
        try:
            with self._connection.begin_nested():
                step()
        except (DBAPIError, StatementError, UnstorableError) as error:
            if isinstance(error, DBAPIError) and not isinstance(error.orig, VALUES_REFUSED):
                raise
            return f"the log refuses it ({getattr(error, 'orig', None) or error})"
        return None

    def _who_comes_second(self, table: Table, rows: Rows) -> list[dict[str, Any]]:
        """Rows whose number may be taken; of names all, since a batch is small and names are matched in many ways."""
        if table.name in NAMED:
            return [dict(row) for row in rows]
        if table.name not in NUMBERED or not rows:
            return []
        within = table.c[NUMBERED[table.name]]
        asked = within.in_({row[within.name] for row in rows}), table.c.number.in_({row["number"] for row in rows})
        taken = {tuple(row) for row in self._connection.execute(select(within, table.c.number).where(*asked))}
        return [dict(row) for row in rows if (row[within.name], row["number"]) in taken]

    def add_cameras(self, rows: Rows) -> None:
        """Add the cameras whose serial numbers are new; rows added later point to the camera known by that number."""
        known = {row.serial: row.camera_id for row in self._connection.execute(select(CameraTable))}
        new = {row["serial"]: dict(row) | {"card_noted_at": None} for row in rows if row["serial"] not in known}
        known |= {row["serial"]: row["camera_id"] for row in self.add(table_of(CameraTable), list(new.values()))}
        self._cameras = {row["camera_id"]: known[row["serial"]] for row in rows if row["serial"] in known}

    def add_events(self, rows: Rows) -> int:
        """Add events, and bring into force what the newest about each subject set; returns how many were new."""
        fresh = self.add(table_of(EventTable), rows)
        subjects = {about for row in fresh if (about := _subject(row)) is not None}
        in_force = acts_in_force.in_force(self._connection, subjects)
        new_notes = []
        for about, last in self._last(subjects).items():
            value = last.payload["new"]
            if about in in_force and in_force[about] == value:
                continue
            if last.kind == event_rows.NOTE and value is not None:
                note = {"note_id": about[1], "frame_id": last.frame_id, "text": value, "written_at": last.at}
                new_notes.append(note)
            else:
                self._bring_into_force(about, last)
        self.add(table_of(NoteTable), new_notes)
        return len(fresh)

    def _last(self, subjects: set[acts_in_force.Subject]) -> dict[acts_in_force.Subject, Any]:
        """The newest event about every subject."""
        kinds = {about[0] for about in subjects}
        of_kinds: ColumnElement[bool] = EventTable.kind.in_(
            [kind for kind in (event_rows.REFERENCE, event_rows.CLIENT) if kind in kinds]
        )
        if not kinds <= {event_rows.REFERENCE, event_rows.CLIENT}:
            of_frames = EventTable.frame_id.in_({about[-1] for about in subjects if about[0] in ("mark", "note")})
            of_kinds = or_(of_kinds, and_(EventTable.kind.in_(acts_in_force.KINDS), of_frames))
        found = self._connection.execute(
            select(EventTable).where(of_kinds).order_by(EventTable.at, EventTable.event_id)
        )
        by_subject = {_subject(dict(row._mapping)): row for row in found}
        return {about: by_subject[about] for about in subjects}

    def _bring_into_force(self, about: acts_in_force.Subject, last: Any) -> None:
        def step() -> None:
            acts_in_force.put(self._connection, about, last.frame_id, last.payload["new"], last.at)

        if not self._from_archive:
            step()
        elif (why := self.attempt(step)) is not None:
            self.leave_out(table_of(EventTable), dict(last._mapping), why)

    def _rows_to_add(self, table: Table, rows: Rows) -> list[Mapping[str, Any]]:
        keys = list(table.primary_key.columns)
        wanted = [tuple(row[key.name] for key in keys) for row in rows]
        if not wanted:
            return []
        first = keys[0].in_({key[0] for key in wanted})
        there = {tuple(row) for row in self._connection.execute(select(*keys).where(first))}
        return [row for row, key in zip(rows, wanted, strict=True) if key not in there]

    def _name(self, table: Table, row: dict[str, Any]) -> None:
        within, name, count = NAMED[table.name], row["name"], 1
        while self._is_taken(table, within, row):
            count += 1
            row["name"] = f"{name} ({self._station})" if count == 2 else f"{name} ({self._station} {count})"
            row["name_key"] = name_key(row["name"])
        if count > 1:
            self.told.append(f"The {table.name} {name} is called {row['name']} {self._where}: its name was taken.")

    def _is_taken(self, table: Table, within: str | None, row: Mapping[str, Any]) -> bool:
        query = select(func.count()).select_from(table).where(table.c.name_key == row["name_key"])
        if within is not None:
            query = query.where(table.c[within] == row[within])
        return bool(self._connection.scalar(query))

    def _number(self, table: Table, row: dict[str, Any]) -> None:
        within = NUMBERED[table.name]
        scope = table.c[within] == row[within]
        last = self._connection.scalar(select(func.max(table.c.number)).where(scope)) or 0
        what = {"setup": "Set-up", "revision": "Revision", "frame": "Frame"}[table.name]
        self.told.append(f"{what} {row['number']} is {last + 1} {self._where}: its number was taken.")
        row["number"] = last + 1


def _subject(row: Mapping[str, Any]) -> acts_in_force.Subject | None:
    """The subject of a person's act that replaces a value by another; None for other events."""
    if row["kind"] not in acts_in_force.KINDS or not row["payload"] or strangers.fault(table_of(EventTable), row):
        return None
    return acts_in_force.subject(row["kind"], row["frame_id"], row["payload"])
