"""The tables of an order: the client's wishes for a job, the pieces and their views.

They change when an order is read again, and are the station's own; in an archive an order is the text of its table.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from session.order.client_order import DeliveredFormat
from session.set.client_standard import ShadowSide
from storage.schema.models import Base, Key, NewKey, filled_check, not_negative, one_of, positive


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


class StandardTable(Base):
    """How a view of the job shall look, under the name that the client calls it by."""

    __tablename__ = "client_standard"
    __table_args__ = (
        UniqueConstraint("job_id", "name_key"),
        filled_check("name_key"),
        one_of("shadow_side", list(ShadowSide)),
        *(positive(name) for name in ("framing_tolerance_percent", "background_tolerance_ev")),
        *(positive(name) for name in ("exposure_tolerance_ev", "colour_tolerance_de2000", "size_tolerance_percent")),
        not_negative("margin_percent"),
        positive("blur_limit_px"),
    )
    standard_id: Mapped[NewKey]
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"))
    name: Mapped[str]
    name_key: Mapped[str]
    across_percent: Mapped[float | None]
    down_percent: Mapped[float | None]
    framing_tolerance_percent: Mapped[float | None]
    margin_percent: Mapped[float | None]
    shadow_side: Mapped[str | None]
    background_ev: Mapped[float | None]
    background_tolerance_ev: Mapped[float | None]
    exposure_tolerance_ev: Mapped[float | None]
    colour_tolerance_de2000: Mapped[float | None]
    size_tolerance_percent: Mapped[float | None]
    blur_limit_px: Mapped[float | None]


class OrderedViewTable(Base):
    """A view of the order. `wanted` is false for a view that was shot and that a later reading of the order lacks."""

    __tablename__ = "ordered_view"
    __table_args__ = (not_negative("position"),)
    view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"), primary_key=True)
    position: Mapped[int]
    wanted: Mapped[bool]
    standard_id: Mapped[Key | None] = mapped_column(ForeignKey("client_standard.standard_id"))
