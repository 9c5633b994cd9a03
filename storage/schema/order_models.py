"""The tables of an order: what a client wants of a job, its pieces and their views.

They change when an order is read again, and are the station's own: an archive has the places and what was shot for
them, not what is wanted.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from session.order.client_order import DeliveredFormat
from storage.schema.models import Base, Key, not_negative, one_of, positive


class JobOrderTable(Base):
    """An order's terms for the whole job. `due_on`: the day, ISO 8601. `read_from`: the file's name, "" where typed."""

    __tablename__ = "job_order"
    __table_args__ = (
        *(positive(name) for name in ("width_px", "height_px", "width_mm", "height_mm", "ppi", "crop_ratio")),
        not_negative("margin_percent"),
        one_of("file_format", list(DeliveredFormat)),
    )
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"), primary_key=True)
    due_on: Mapped[str | None]
    rights: Mapped[str]
    credit: Mapped[str]
    width_px: Mapped[int | None]
    height_px: Mapped[int | None]
    width_mm: Mapped[float | None]
    height_mm: Mapped[float | None]
    ppi: Mapped[float | None]
    crop_ratio: Mapped[float | None]
    margin_percent: Mapped[float | None]
    file_format: Mapped[str | None]
    colour_space: Mapped[str]
    read_from: Mapped[str]
    read_at: Mapped[datetime]


class OrderedPieceTable(Base):
    """A product of the order; `position` is its place in the order, from 0."""

    __tablename__ = "ordered_piece"
    __table_args__ = (
        *(positive(name) for name in ("width_mm", "height_mm", "depth_mm")),
        not_negative("position"),
    )
    piece_id: Mapped[Key] = mapped_column(ForeignKey("piece.piece_id"), primary_key=True)
    position: Mapped[int]
    article_number: Mapped[str]
    width_mm: Mapped[float | None]
    height_mm: Mapped[float | None]
    depth_mm: Mapped[float | None]
    surface: Mapped[str]


class OrderedViewTable(Base):
    """A view of the order. `wanted` is false for a view that was shot and that a later reading of the order lacks."""

    __tablename__ = "ordered_view"
    __table_args__ = (not_negative("position"),)
    view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"), primary_key=True)
    position: Mapped[int]
    wanted: Mapped[bool]
