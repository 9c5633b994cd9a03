"""The order of a job as the log holds it: read from its rows."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from session.order.client_order import DeliveredFormat, Delivery, Order, OrderedPiece, standards_in_use
from session.set.client_standard import Standard
from storage.schema.models import JobTable, PieceTable, ViewTable
from storage.schema.order_models import JobOrderTable, OrderedPieceTable, OrderedViewTable, StandardTable
from storage.writing.order_rows import DELIVERY, OF_PIECE, standard_from


@dataclass(frozen=True)
class KeptOrder:
    """An order with its pieces by their keys, and the rows of its views, wanted or shot, in their order."""

    order: Order
    pieces: dict[str, OrderedPiece]
    views: list[Any]


def kept_order(connection: Connection, job_id: str) -> KeptOrder | None:
    """The order of the job with this key, None for a job without an order."""
    query = select(JobTable.name, JobTable.client, JobOrderTable).join(JobOrderTable)
    row = connection.execute(query.where(JobTable.job_id == job_id)).first()
    if row is None:
        return None
    views = _view_rows(connection, job_id)
    standards = _standards(connection, job_id)
    by_piece: dict[str, list[Any]] = defaultdict(list)
    for view in views:
        by_piece[view.piece_id].append(view)
    pieces = {
        one.piece_id: OrderedPiece(
            one.name,
            **{name: getattr(one, name) for name in OF_PIECE},
            views=tuple(view.name for view in by_piece[one.piece_id] if view.wanted),
            standards=tuple(
                (view.name, standards[view.standard_id].name)
                for view in by_piece[one.piece_id]
                if view.wanted and view.standard_id
            ),
        )
        for one in _piece_rows(connection, job_id)
    }
    wanted = tuple(piece for piece in pieces.values() if piece.views)
    return KeptOrder(_order(row, wanted, standards_in_use(wanted, standards.values())), pieces, views)


def _order(row: Any, pieces: tuple[OrderedPiece, ...], standards: tuple[Standard, ...]) -> Order:
    told = {name: getattr(row, name) for name in DELIVERY}
    told["file_format"] = DeliveredFormat(row.file_format) if row.file_format else None
    due_on = date.fromisoformat(row.due_on) if row.due_on else None
    return Order(row.name, row.client, due_on, row.rights, row.credit, Delivery(**told), pieces, standards)


def _standards(connection: Connection, job_id: str) -> dict[str, Standard]:
    """standard_id → the standard."""
    query = select(StandardTable).where(StandardTable.job_id == job_id)
    return {row.standard_id: standard_from(row) for row in connection.execute(query)}


def _piece_rows(connection: Connection, job_id: str) -> list[Any]:
    query = select(PieceTable.name, OrderedPieceTable).join(PieceTable)
    of_job = query.where(PieceTable.job_id == job_id).order_by(OrderedPieceTable.position)
    return list(connection.execute(of_job))


def _view_rows(connection: Connection, job_id: str) -> list[Any]:
    query = select(
        ViewTable.view_id, ViewTable.piece_id, ViewTable.name, OrderedViewTable.wanted, OrderedViewTable.standard_id
    )
    query = query.join(OrderedViewTable, OrderedViewTable.view_id == ViewTable.view_id).join(
        PieceTable, PieceTable.piece_id == ViewTable.piece_id
    )
    return list(connection.execute(query.where(PieceTable.job_id == job_id).order_by(OrderedViewTable.position)))
