"""The rules for rows that come to a database from another one, the same on the way to the archive and back.

1. Keys are unique for ever (RFC 9562, version 7), so the same row never comes twice: what is there already stays.
2. What is written once (set-ups' revisions, readings, judgements, findings, overrulings, events) is only added.
3. A name or a number that is taken: whoever comes second moves on. A job, piece or view of a name that is taken gets
   the sending station's name behind it; a set-up, revision or frame gets the next free number. Files keep their names,
   which hold the number that the frame was taken under. Its own station keeps what it has.
4. What machines know of a frame (state, shutter, verdicts, paths of files) is said by the station that took it alone.
5. Of acts of people about the same thing (a mark, a note, a reference, a client's name) the latest is in force,
   whichever station it came from: by the event's time, then by its key. Nothing of the others is lost, all are events.
6. A camera is known by its serial number, wherever it stands.

So the outcome doesn't depend on the order in which stations come, save for who keeps a name or number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select

from storage import acts
from storage.frame_models import Camera
from storage.models import Event
from storage.names import name_key
from storage.prepared import table_of

Rows = Sequence[Mapping[str, Any]]

NUMBERED = {"setup": "job_id", "revision": "setup_id", "frame": "job_id"}
"""Table → within what its numbers are unique."""

NAMED: dict[str, str | None] = {"job": None, "piece": "job_id", "view": "piece_id"}
"""Table → within what its names are unique."""


class Merge:
    """Adds rows to one database, in one transaction of it. `station` stands behind names that are taken.

    told   sentences on what was renamed or renumbered
    """

    def __init__(self, connection: Connection, station: str) -> None:
        self._connection = connection
        self._station = station
        self._cameras: dict[str, str] = {}
        self.told: list[str] = []

    def add(self, table: Table, rows: Rows) -> list[dict[str, Any]]:
        """Add those of the rows that aren't there; returns them as they went in."""
        missing = [dict(row) for row in self._missing(table, rows)]
        for row in missing:
            if "camera_id" in row and table.name != "camera":
                row["camera_id"] = self._cameras.get(row["camera_id"], row["camera_id"])
        second = self._who_comes_second(table, missing)
        first = [row for row in missing if row not in second]
        if first:
            self._connection.execute(insert(table), first)
        for late in second:
            if table.name in NAMED:
                self._name(table, late)
            else:
                self._number(table, late)
            self._connection.execute(insert(table), [late])
        return first + second

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
        """Cameras that are new by their serial numbers; from now on rows point to the one that is there."""
        known = {row.serial: row.camera_id for row in self._connection.execute(select(Camera))}
        new = [dict(row) | {"card_noted_at": None} for row in rows if row["serial"] not in known]
        self.add(table_of(Camera), new)
        known |= {row["serial"]: row["camera_id"] for row in new}
        self._cameras = {row["camera_id"]: known[row["serial"]] for row in rows}

    def add_events(self, rows: Rows) -> int:
        """Events, and what is in force after them; returns how many were new."""
        fresh = self.add(table_of(Event), rows)
        subjects: dict[acts.Subject, Mapping[str, Any]] = {}
        for row in fresh:
            if row["kind"] in acts.KINDS and row["payload"]:
                subjects[acts.subject(row["kind"], row["frame_id"], row["payload"])] = row
        for about, act in subjects.items():
            last = self._last(about, act)
            acts.put(self._connection, about, last.frame_id, last.payload["new"], last.at)
        return len(fresh)

    def _last(self, about: acts.Subject, row: Mapping[str, Any]) -> Any:
        """The event about this subject that is in force."""
        query = select(Event).where(Event.kind.in_(acts.KINDS))
        if about[0] in ("mark", "note"):
            query = query.where(Event.frame_id == row["frame_id"])
        else:
            query = query.where(Event.kind == row["kind"])
        found = self._connection.execute(query.order_by(Event.at.desc(), Event.event_id.desc()))
        return next(e for e in found if e.payload and acts.subject(e.kind, e.frame_id, e.payload) == about)

    def _missing(self, table: Table, rows: Rows) -> list[Mapping[str, Any]]:
        keys = list(table.primary_key.columns)
        wanted = [tuple(row[key.name] for key in keys) for row in rows]
        if not wanted:
            return []
        first = keys[0].in_({key[0] for key in wanted})
        there = {tuple(row) for row in self._connection.execute(select(*keys).where(first))}
        return [row for row, key in zip(rows, wanted, strict=True) if key not in there]

    def _name(self, table: Table, row: dict[str, Any]) -> None:
        within, name, count = NAMED[table.name], row["name"], 1
        while self._taken(table, within, row):
            count += 1
            row["name"] = f"{name} ({self._station})" if count == 2 else f"{name} ({self._station} {count})"
            row["name_key"] = name_key(row["name"])
        if count > 1:
            self.told.append(f"The {table.name} {name} is called {row['name']} there: its name was taken.")

    def _taken(self, table: Table, within: str | None, row: Mapping[str, Any]) -> bool:
        query = select(func.count()).select_from(table).where(table.c.name_key == row["name_key"])
        if within is not None:
            query = query.where(table.c[within] == row[within])
        return bool(self._connection.scalar(query))

    def _number(self, table: Table, row: dict[str, Any]) -> None:
        within = NUMBERED[table.name]
        scope = table.c[within] == row[within]
        last = self._connection.scalar(select(func.max(table.c.number)).where(scope)) or 0
        what = {"setup": "Set-up", "revision": "Revision", "frame": "Frame"}[table.name]
        self.told.append(f"{what} {row['number']} is {last + 1} there: its number was taken.")
        row["number"] = last + 1


def rows_of(connection: Connection, table: Table, column: str, keys: Iterable[str]) -> list[dict[str, Any]]:
    """The rows whose column holds one of the keys, in the order of their own keys."""
    query = select(table).where(table.c[column].in_(list(keys))).order_by(*table.primary_key.columns)
    return [dict(row._mapping) for row in connection.execute(query)]
