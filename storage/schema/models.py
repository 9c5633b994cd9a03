"""The tables of the log. Names carry units; times carry zones; every constraint has a name.

Places (`job`, `piece`, `view`), the whole arrangement (`setup`, `revision` with its lights and passive items),
and acts of people (`note`, `reference`, `event`). What machines write about a frame stands in `frame_models`.
Triggers in the migrations keep revisions, findings, readings and events from ever being changed.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, ClassVar

from sqlalchemy import JSON, CheckConstraint, Float, ForeignKey, Index, UniqueConstraint, Uuid
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from session.units.ids import new_id
from session.units.typed import TURNS
from storage.schema.columns import AnyText, Instant, metadata

Key = Annotated[str, mapped_column(Uuid(as_uuid=False))]
NewKey = Annotated[str, mapped_column(Uuid(as_uuid=False), primary_key=True, default=new_id)]
Payload = Annotated[dict[str, Any], mapped_column(JSON)]


class Base(DeclarativeBase):
    metadata = metadata()
    type_annotation_map: ClassVar = {str: AnyText(), datetime: Instant(), float: Float()}


def positive(column: str) -> CheckConstraint:
    return CheckConstraint(f"{column} > 0", name=f"{column}_positive")


def not_negative(column: str) -> CheckConstraint:
    return CheckConstraint(f"{column} >= 0", name=f"{column}_not_negative")


def one_of(column: str, values: list[str]) -> CheckConstraint:
    listed = ", ".join(f"'{value}'" for value in values)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def filled_check(column: str) -> CheckConstraint:
    return CheckConstraint(f"{column} <> ''", name=f"{column}_filled")


PATCH_IN_PICTURE = CheckConstraint(
    "(patch_left_fraction IS NULL) = (patch_top_fraction IS NULL)"
    " AND (patch_left_fraction IS NULL) = (patch_width_fraction IS NULL)"
    " AND (patch_left_fraction IS NULL) = (patch_height_fraction IS NULL)"
    " AND patch_left_fraction >= 0 AND patch_top_fraction >= 0"
    " AND patch_width_fraction > 0 AND patch_height_fraction > 0"
    " AND patch_left_fraction + patch_width_fraction <= 1 + 1e-9"
    " AND patch_top_fraction + patch_height_fraction <= 1 + 1e-9",
    name="patch_in_picture",
)
"""Stands with its last column, so that a migration can add it without making the table anew."""


class JobTable(Base):
    """An order. `name_key` is the name as it is matched: composed, without case."""

    __tablename__ = "job"
    __table_args__ = (UniqueConstraint("name_key"), filled_check("name_key"))
    job_id: Mapped[NewKey]
    name: Mapped[str]
    name_key: Mapped[str]
    client: Mapped[str]
    created_at: Mapped[datetime]


class PieceTable(Base):
    """One product in a job."""

    __tablename__ = "piece"
    __table_args__ = (UniqueConstraint("job_id", "name_key"), filled_check("name_key"))
    piece_id: Mapped[NewKey]
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"))
    name: Mapped[str]
    name_key: Mapped[str]
    created_at: Mapped[datetime]


class ViewTable(Base):
    """One picture wanted of a piece."""

    __tablename__ = "view"
    __table_args__ = (UniqueConstraint("piece_id", "name_key"), filled_check("name_key"))
    view_id: Mapped[NewKey]
    piece_id: Mapped[Key] = mapped_column(ForeignKey("piece.piece_id"))
    name: Mapped[str]
    name_key: Mapped[str]
    created_at: Mapped[datetime]


class SetupTable(Base):
    """A numbered arrangement of a job; the arrangement's values stand in its revisions."""

    __tablename__ = "setup"
    __table_args__ = (UniqueConstraint("job_id", "number"), positive("number"))
    setup_id: Mapped[NewKey]
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"))
    number: Mapped[int]
    created_at: Mapped[datetime]


class RevisionTable(Base):
    """One immutable state of a set-up, made for a view. `light_count` and `passive_count` seal its rows."""

    __tablename__ = "revision"
    __table_args__ = (
        UniqueConstraint("setup_id", "number"),
        Index(None, "view_id"),
        Index(None, "magnification"),
        *(positive(name) for name in ("number", "exposure_s", "f_number", "focal_length_mm")),
        *(positive(name) for name in ("pupil_magnification", "blur_limit_px", "converter", "depth_needed_mm")),
        *(not_negative(name) for name in ("iso", "magnification", "extension_mm", "hold_off_s")),
        CheckConstraint(
            "region_left_fraction >= 0 AND region_top_fraction >= 0"
            " AND region_width_fraction > 0 AND region_height_fraction > 0"
            " AND region_left_fraction + region_width_fraction <= 1 + 1e-9"
            " AND region_top_fraction + region_height_fraction <= 1 + 1e-9",
            name="region_in_picture",
        ),
    )
    revision_id: Mapped[NewKey]
    setup_id: Mapped[Key] = mapped_column(ForeignKey("setup.setup_id"))
    number: Mapped[int]
    view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"))
    created_at: Mapped[datetime]
    exposure_s: Mapped[float]
    f_number: Mapped[float | None]
    iso: Mapped[int]
    white_balance: Mapped[str | None]
    file_format: Mapped[str | None]
    lens: Mapped[str]
    focal_length_mm: Mapped[float]
    magnification: Mapped[float]
    pupil_magnification: Mapped[float]
    reversed: Mapped[bool]
    extension_mm: Mapped[float]
    dioptres: Mapped[float]
    gap_mm: Mapped[float] = mapped_column(server_default="0")
    converter: Mapped[float]
    region_left_fraction: Mapped[float]
    region_top_fraction: Mapped[float]
    region_width_fraction: Mapped[float]
    region_height_fraction: Mapped[float]
    body: Mapped[str]
    trigger: Mapped[str]
    stand: Mapped[str]
    """The support, by the word that it had when the table was made; `ticked` likewise is what was confirmed."""
    hold_off_s: Mapped[float]
    blur_limit_px: Mapped[float]
    depth_needed_mm: Mapped[float | None]
    must_be_sharp: Mapped[str]
    may_fall_off: Mapped[str]
    ambient_ev: Mapped[float | None]
    ticked: Mapped[list[str]] = mapped_column(JSON)
    notes: Mapped[str]
    light_count: Mapped[int]
    passive_count: Mapped[int]
    patch_left_fraction: Mapped[float | None]
    patch_top_fraction: Mapped[float | None]
    patch_width_fraction: Mapped[float | None]
    patch_height_fraction: Mapped[float | None] = mapped_column(PATCH_IN_PICTURE)
    working_distance_mm: Mapped[float | None] = mapped_column(positive("working_distance_mm"))
    camera_height_mm: Mapped[float | None] = mapped_column(positive("camera_height_mm"))
    view_down_deg: Mapped[float | None]
    view_around_deg: Mapped[float | None]


class RevisionLightTable(Base):
    """A light of the kit where it stands; `position` is its place in the list, from 0."""

    __tablename__ = "revision_light"
    __table_args__ = (
        UniqueConstraint("revision_id", "name"),
        Index(None, "name"),
        Index(None, "shaper"),
        Index(None, "power_ev"),
        positive("distance_mm"),
    )
    revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    power_ev: Mapped[float]
    distance_mm: Mapped[float | None]
    azimuth_deg: Mapped[float | None]
    elevation_deg: Mapped[float | None]
    shaper: Mapped[str]
    note: Mapped[str]
    width_mm: Mapped[float | None] = mapped_column(positive("width_mm"))
    height_mm: Mapped[float | None] = mapped_column(positive("height_mm"))
    distance_sd_mm: Mapped[float | None] = mapped_column(not_negative("distance_sd_mm"))
    azimuth_sd_deg: Mapped[float | None] = mapped_column(not_negative("azimuth_sd_deg"))
    elevation_sd_deg: Mapped[float | None] = mapped_column(not_negative("elevation_sd_deg"))


class RevisionPassiveTable(Base):
    """A bounce, flag, plate or other passive item of the set."""

    __tablename__ = "revision_passive"
    __table_args__ = (positive("distance_mm"),)
    revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    name: Mapped[str]
    distance_mm: Mapped[float | None]
    azimuth_deg: Mapped[float | None]
    elevation_deg: Mapped[float | None]
    note: Mapped[str]
    width_mm: Mapped[float | None] = mapped_column(positive("width_mm"))
    height_mm: Mapped[float | None] = mapped_column(positive("height_mm"))
    turned_deg: Mapped[float | None] = mapped_column(not_negative("turned_deg"))
    turned_to: Mapped[str] = mapped_column(one_of("turned_to", ["", *TURNS]), server_default="")
    distance_sd_mm: Mapped[float | None] = mapped_column(not_negative("distance_sd_mm"))
    azimuth_sd_deg: Mapped[float | None] = mapped_column(not_negative("azimuth_sd_deg"))
    elevation_sd_deg: Mapped[float | None] = mapped_column(not_negative("elevation_sd_deg"))


class ReferenceTable(Base):
    """The approved frame of a set-up for a piece."""

    __tablename__ = "reference"
    __table_args__ = (Index(None, "frame_id"),)
    setup_id: Mapped[Key] = mapped_column(ForeignKey("setup.setup_id"), primary_key=True)
    piece_id: Mapped[Key] = mapped_column(ForeignKey("piece.piece_id"), primary_key=True)
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"))
    approved_at: Mapped[datetime]


class NoteTable(Base):
    """A person's note to a frame; it can be rewritten, and the event table keeps the old words."""

    __tablename__ = "note"
    __table_args__ = (Index(None, "frame_id"), filled_check("text"))
    note_id: Mapped[NewKey]
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"))
    text: Mapped[str]
    written_at: Mapped[datetime]


class EventTable(Base):
    """Events in their order, never changed; `payload` of a person's act holds `old` and `new`, for undo."""

    __tablename__ = "event"
    __table_args__ = (Index(None, "frame_id"), Index(None, "kind", "at"))
    event_id: Mapped[NewKey]
    at: Mapped[datetime]
    kind: Mapped[str]
    text: Mapped[str]
    frame_id: Mapped[Key | None] = mapped_column(ForeignKey("frame.frame_id"))
    payload: Mapped[Payload | None]
