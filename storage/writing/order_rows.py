"""Writing an order into the log, in one transaction: new places are made, known places and shot frames stay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, exists, insert, select, update

from session.frame.ports import Agreement, LogError, Place
from session.order.client_order import Delivery, Order, OrderedPiece
from session.set.client_standard import VALUES, ShadowSide, Standard
from session.units.ids import new_id
from session.units.names import name_key
from storage.schema.frame_models import FrameTable
from storage.schema.models import JobTable, PieceTable, ViewTable
from storage.schema.order_models import JobOrderTable, OrderedPieceTable, OrderedViewTable, StandardTable
from storage.writing import event_rows, people, places

DELIVERY = tuple(one.name for one in fields(Delivery))
OF_PIECE = tuple(one.name for one in fields(OrderedPiece) if one.name not in ("name", "views", "standards"))


@dataclass(frozen=True)
class OrderKept:
    """The changes of an order by reading it again: views added, views dropped, and shot views that it no longer names.

    Views are (piece, view) by name.
    """

    job: str
    pieces: int
    views: int
    added: tuple[tuple[str, str], ...]
    dropped: tuple[tuple[str, str], ...]
    shot: tuple[tuple[str, str], ...]


def keep_read_order(connection: Connection, order: Order, read_from: str, now: datetime) -> OrderKept:
    """Keep an order that is read or typed here, after the order that the log holds, whatever the clocks say.

    So it also wins over an order that came from a station whose clock is ahead. Raises LogError as `keep_order` does.
    """
    known = select(JobOrderTable.read_at).join(JobTable, JobTable.job_id == JobOrderTable.job_id)
    before = connection.scalar(known.where(JobTable.name_key == name_key(order.job)))
    at = now if before is None else max(now, before + event_rows.TICK)
    return keep_order(connection, order, read_from, at)


def keep_order(connection: Connection, order: Order, read_from: str, at: datetime) -> OrderKept:
    """Keep the order as the one in force for its job. Raises LogError for a job or piece without a name."""
    job_id, job = places.find_or_make_job(connection, order.job, order.client, at)
    before = _ordered_views(connection, job_id)
    pieces = _make_pieces(connection, job_id, order, at)
    views = _make_views(connection, pieces, order, at)
    _write_job(connection, job_id, order, read_from, at)
    _write_pieces(connection, job_id, pieces, order)
    wanted = [views[piece_key, name_key(view)] for piece_key, view in _keys(order)]
    gone = [view_id for view_id in before if view_id not in set(wanted)]
    frames = exists().where(FrameTable.view_id == ViewTable.view_id)
    shot = (
        set(connection.scalars(select(ViewTable.view_id).where(ViewTable.view_id.in_(gone), frames))) if gone else set()
    )
    standards = _write_standards(connection, job_id, order)
    agreed = {
        views[name_key(piece.name), name_key(view)]: standards[name_key(name)]
        for piece in order.pieces
        for view, name in piece.standards
    }
    kept = {view_id: before[view_id].standard_id for view_id in gone if view_id in shot}
    _write_views(connection, before, wanted, {**kept, **agreed}, list(kept))
    _drop_standards(connection, job_id, {*standards.values(), *filter(None, kept.values())})
    names = {
        views[key, name_key(view)]: (piece.name, view)
        for (key, view), (piece, _) in zip(_keys(order), order.views(), strict=True)
    }
    text = f"order of {job}: {len(order.pieces)} pieces, {len(wanted)} views"
    event_rows.record(connection, at, event_rows.ORDER, text, payload={"job_id": job_id, "read_from": read_from})
    return OrderKept(
        job,
        len(order.pieces),
        len(wanted),
        tuple(names[view_id] for view_id in wanted if view_id not in before or not before[view_id].wanted),
        tuple((before[v].piece, before[v].view) for v in gone if v not in shot),
        tuple((before[v].piece, before[v].view) for v in gone if v in shot),
    )


def _keys(order: Order) -> list[tuple[str, str]]:
    return [(name_key(piece.name), view) for piece, view in order.views()]


def _ordered_views(connection: Connection, job_id: str) -> dict[str, Any]:
    """view_id → its row in the order that was in force until now."""
    query = select(
        OrderedViewTable.view_id,
        OrderedViewTable.wanted,
        OrderedViewTable.standard_id,
        PieceTable.name.label("piece"),
        ViewTable.name.label("view"),
    )
    query = query.join(ViewTable, ViewTable.view_id == OrderedViewTable.view_id).join(
        PieceTable, PieceTable.piece_id == ViewTable.piece_id
    )
    found = connection.execute(query.where(PieceTable.job_id == job_id).order_by(OrderedViewTable.position))
    return {row.view_id: row for row in found}


def _make_pieces(connection: Connection, job_id: str, order: Order, at: datetime) -> dict[str, str]:
    """name key → piece_id of every piece of the job, the new ones made."""
    query = select(PieceTable.name_key, PieceTable.piece_id).where(PieceTable.job_id == job_id)
    known = {row.name_key: row.piece_id for row in connection.execute(query)}
    new = {name_key(piece.name): piece.name.strip() for piece in order.pieces if name_key(piece.name) not in known}
    if "" in new:
        raise LogError(f"A piece of the order of {order.job} has no name; nothing was kept.")
    rows = [
        {"piece_id": new_id(), "job_id": job_id, "name": name, "name_key": key, "created_at": at}
        for key, name in new.items()
    ]
    if rows:
        connection.execute(insert(PieceTable), rows)
    return known | {row["name_key"]: row["piece_id"] for row in rows}


def _make_views(
    connection: Connection, pieces: Mapping[str, str], order: Order, at: datetime
) -> dict[tuple[str, str], str]:
    """(piece's key, view's key) → view_id of every view of these pieces, the new ones made."""
    by_id = {piece_id: key for key, piece_id in pieces.items()}
    jobs_views = select(ViewTable.piece_id, ViewTable.name_key, ViewTable.view_id).join(
        PieceTable, PieceTable.piece_id == ViewTable.piece_id
    )
    of_job = jobs_views.where(
        PieceTable.job_id.in_(select(PieceTable.job_id).where(PieceTable.piece_id.in_([*by_id][:1])))
    )
    known = {(by_id[row.piece_id], row.name_key): row.view_id for row in connection.execute(of_job)}
    rows = {
        (key, name_key(view)): {
            "view_id": new_id(),
            "piece_id": pieces[key],
            "name": view.strip(),
            "name_key": name_key(view),
            "created_at": at,
        }
        for key, view in _keys(order)
        if (key, name_key(view)) not in known
    }
    if any(not key for _, key in rows):
        raise LogError(f"A view of the order of {order.job} has no name; nothing was kept.")
    if rows:
        connection.execute(insert(ViewTable), list(rows.values()))
    return known | {key: str(row["view_id"]) for key, row in rows.items()}


def _write_job(connection: Connection, job_id: str, order: Order, read_from: str, at: datetime) -> None:
    row = {
        "due_on": order.due_on.isoformat() if order.due_on else None,
        "rights": order.rights,
        "credit": order.credit,
        **{name: getattr(order.delivery, name) for name in DELIVERY},
        "read_from": read_from,
        "read_at": at,
    }
    known = connection.scalar(select(JobOrderTable.job_id).where(JobOrderTable.job_id == job_id))
    if known is None:
        connection.execute(insert(JobOrderTable).values(job_id=job_id, **row))
    else:
        connection.execute(update(JobOrderTable).where(JobOrderTable.job_id == job_id).values(**row))


def _write_pieces(connection: Connection, job_id: str, pieces: Mapping[str, str], order: Order) -> None:
    """Write the order's pieces in its sequence; pieces that a later reading lacks keep their rows, behind the rest."""
    own = [pieces[name_key(piece.name)] for piece in order.pieces]
    of_job = OrderedPieceTable.piece_id.in_(select(PieceTable.piece_id).where(PieceTable.job_id == job_id))
    behind = connection.execute(select(OrderedPieceTable).where(of_job).order_by(OrderedPieceTable.position)).all()
    connection.execute(delete(OrderedPieceTable).where(of_job))
    rows = [
        {"piece_id": piece_id, "position": position, **{name: getattr(piece, name) for name in OF_PIECE}}
        for position, (piece_id, piece) in enumerate(zip(own, order.pieces, strict=True))
    ]
    kept = [row for row in behind if row.piece_id not in set(own)]
    rows += [
        {"piece_id": row.piece_id, "position": position, **{name: getattr(row, name) for name in OF_PIECE}}
        for position, row in enumerate(kept, len(rows))
    ]
    if rows:
        connection.execute(insert(OrderedPieceTable), rows)


def standard_from(row: Any) -> Standard:
    """A standard from its row."""
    values = {name: getattr(row, name) for name in VALUES}
    return Standard(row.name, **values | {"shadow_side": ShadowSide(row.shadow_side) if row.shadow_side else None})


def agreement(connection: Connection, place: Place) -> Agreement | None:
    """The standard of the view on the table, with the frame that was approved first for it; None for a view without.

    The frame shows another piece's view of the same name and standard; None before the first frame.
    """
    query = select(StandardTable).join(OrderedViewTable, OrderedViewTable.standard_id == StandardTable.standard_id)
    row = connection.execute(query.where(OrderedViewTable.view_id == place.view_id)).first()
    if row is None:
        return None
    example = people.first_reference(connection, row.standard_id, place)
    return Agreement(standard_from(row), example)


def _write_standards(connection: Connection, job_id: str, order: Order) -> dict[str, str]:
    """Write the order's standards; name key → key of the row. A standard of a known name keeps its row."""
    query = select(StandardTable.name_key, StandardTable.standard_id).where(StandardTable.job_id == job_id)
    known = {row.name_key: row.standard_id for row in connection.execute(query)}
    found = {}
    for standard in order.standards:
        key = name_key(standard.name)
        row = {"name": standard.name.strip(), **{name: getattr(standard, name) for name in VALUES}}
        if not key:
            raise LogError(f"A standard of the order of {order.job} has no name; nothing was kept.")
        if key in known:
            connection.execute(update(StandardTable).where(StandardTable.standard_id == known[key]).values(**row))
        else:
            known[key] = new_id()
            values = {"standard_id": known[key], "job_id": job_id, "name_key": key}
            connection.execute(insert(StandardTable).values(**values, **row))
        found[key] = known[key]
    return found


def _drop_standards(connection: Connection, job_id: str, kept: set[str]) -> None:
    of_job = (StandardTable.job_id == job_id, StandardTable.standard_id.not_in(kept))
    connection.execute(delete(StandardTable).where(*of_job))


def _write_views(
    connection: Connection,
    before: Mapping[str, Any],
    wanted: list[str],
    agreed: Mapping[str, str | None],
    shot: list[str],
) -> None:
    """Write the order's views; `agreed`: view → the key of its standard; `shot`: views outside the order by now."""
    for view_id in before:
        connection.execute(delete(OrderedViewTable).where(OrderedViewTable.view_id == view_id))
    rows = [
        {
            "view_id": view_id,
            "position": position,
            "wanted": position < len(wanted),
            "standard_id": agreed.get(view_id),
        }
        for position, view_id in enumerate([*wanted, *shot])
    ]
    if rows:
        connection.execute(insert(OrderedViewTable), rows)
