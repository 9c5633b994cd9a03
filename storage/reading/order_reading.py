"""The order of a job out of the log, with what was shot for each of its views."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from session.frame.finding import FocusVerdict, Verdict
from session.frame.states import FrameState
from session.order.client_order import DeliveredFormat, Delivery, Order, OrderedPiece
from session.order.order_progress import Progress, ShotFrame, ViewProgress
from session.set.client_standard import Standard
from session.units.names import name_key
from storage.schema.frame_models import FrameTable
from storage.schema.models import JobTable, PieceTable, ViewTable
from storage.schema.order_models import JobOrderTable, OrderedPieceTable, OrderedViewTable, StandardTable
from storage.writing.order_rows import DELIVERY, OF_PIECE, standard_from


def progress_of(connection: Connection, job: str) -> Progress | None:
    """The job's order and how far its shooting is; None for a job without an order."""
    query = select(JobTable.name, JobTable.client, JobOrderTable).join(JobOrderTable)
    row = connection.execute(query.where(JobTable.name_key == name_key(job))).first()
    if row is None:
        return None
    views = _view_rows(connection, row.job_id)
    frames = _frames(connection, row.job_id)
    standards = _standards(connection, row.job_id)
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
        for one in _piece_rows(connection, row.job_id)
    }
    return Progress(
        _order(row, tuple(piece for piece in pieces.values() if piece.views), tuple(standards.values())),
        tuple(
            ViewProgress(pieces[view.piece_id], view.name, tuple(frames[view.view_id]), view.wanted) for view in views
        ),
    )


def _order(row: Any, pieces: tuple[OrderedPiece, ...], standards: tuple[Standard, ...]) -> Order:
    told = {name: getattr(row, name) for name in DELIVERY}
    told["file_format"] = DeliveredFormat(row.file_format) if row.file_format else None
    due_on = date.fromisoformat(row.due_on) if row.due_on else None
    return Order(row.name, row.client, due_on, row.rights, row.credit, Delivery(**told), pieces, standards)


def _standards(connection: Connection, job_id: str) -> dict[str, Standard]:
    """standard_id → the standard, in the order in which they came."""
    query = select(StandardTable).where(StandardTable.job_id == job_id).order_by(StandardTable.standard_id)
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


def _frames(connection: Connection, job_id: str) -> dict[str, list[ShotFrame]]:
    """view_id → its frames by number."""
    columns = ("number", "state", "mark", "focus_verdict", "verdict", "ambient", "view_id")
    query = select(*(getattr(FrameTable, name) for name in columns)).where(FrameTable.job_id == job_id)
    found: dict[str, list[ShotFrame]] = defaultdict(list)
    for row in connection.execute(query.order_by(FrameTable.number)):
        found[row.view_id].append(
            ShotFrame(
                row.number,
                FrameState(row.state),
                row.mark,
                FocusVerdict(row.focus_verdict) if row.focus_verdict else None,
                Verdict(row.verdict) if row.verdict else None,
                row.ambient,
            )
        )
    return found
