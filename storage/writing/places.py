"""Jobs, pieces and views: found by name without regard to case, made where they are new."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from session.frame.ports import Place, RefusedForGoodError
from session.units.ids import new_id
from session.units.names import name_key
from storage.schema.models import JobTable, PieceTable, ViewTable
from storage.writing import event_rows


def open_place(connection: Connection, job: str, piece: str, view: str, client: str, at: datetime) -> Place:
    """The place of these names, made as far as it is new; a client that is given replaces the job's."""
    job_id, job = find_or_make_job(connection, job, client, at)
    piece_id, piece = _piece(connection, job_id, piece, at)
    view_id, view = _view(connection, piece_id, view, at)
    place = Place(job_id, piece_id, view_id, job, piece, view)
    event_rows.record(connection, at, event_rows.PLACE, f"{job}, {piece}, {view}", payload={"view_id": view_id})
    return place


def find_or_make_job(connection: Connection, name: str, client: str, at: datetime) -> tuple[str, str]:
    """Key and name of the job of that name, made where it is new; a given client replaces the job's client.

    Raises LogError for an empty name.
    """
    key, client = _require_name("job", name), client.strip()
    found = connection.execute(
        select(JobTable.job_id, JobTable.name, JobTable.client).where(JobTable.name_key == key)
    ).first()
    if found is None:
        job_id, name = new_id(), name.strip()
        row = {"job_id": job_id, "name": name, "name_key": key, "client": client, "created_at": at}
        connection.execute(insert(JobTable).values(**row))
        return job_id, name
    if client and client != found.client:
        connection.execute(update(JobTable).where(JobTable.job_id == found.job_id).values(client=client))
        at = event_rows.time_of_act(connection, found.job_id, at)
        payload = {"job_id": found.job_id, "old": found.client, "new": client}
        event_rows.record(connection, at, event_rows.CLIENT, f"{found.name} is for {client}", payload=payload)
    return found.job_id, found.name


def _piece(connection: Connection, job_id: str, name: str, at: datetime) -> tuple[str, str]:
    key = _require_name("piece", name)
    query = select(PieceTable.piece_id, PieceTable.name).where(PieceTable.job_id == job_id, PieceTable.name_key == key)
    found = connection.execute(query).first()
    if found is not None:
        return found.piece_id, found.name
    piece_id, name = new_id(), name.strip()
    row = {"piece_id": piece_id, "job_id": job_id, "name": name, "name_key": key, "created_at": at}
    connection.execute(insert(PieceTable).values(**row))
    return piece_id, name


def _view(connection: Connection, piece_id: str, name: str, at: datetime) -> tuple[str, str]:
    key = _require_name("view", name)
    query = select(ViewTable.view_id, ViewTable.name).where(ViewTable.piece_id == piece_id, ViewTable.name_key == key)
    found = connection.execute(query).first()
    if found is not None:
        return found.view_id, found.name
    view_id, name = new_id(), name.strip()
    row = {"view_id": view_id, "piece_id": piece_id, "name": name, "name_key": key, "created_at": at}
    connection.execute(insert(ViewTable).values(**row))
    return view_id, name


def _require_name(what: str, name: str) -> str:
    key = name_key(name)
    if not key:
        raise RefusedForGoodError(f"A {what} needs a name.")
    return key
