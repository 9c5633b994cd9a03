"""The tables that machines fill: cameras and their cards, frames, files, readings, judgements, findings.

`frame.state`, `fired`, `mark` and the two verdicts change as the frame goes on; all else is written once.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    CheckConstraint,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    UniqueConstraint,
    false,
    func,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column

from session.frame.camera_messages import Fired
from session.frame.finding import FocusVerdict, Level, RemedyKind, Verdict
from session.frame.frame_facts import FrameFacts
from session.frame.series_plane import Approach, MovedBy, SeriesPlane
from session.frame.states import FrameState, Mark, ReleasedBy
from storage.schema.models import Base, Key, NewKey, Payload, filled_check, not_negative, one_of, positive

FOUND_BEFORE, SAVED, MISSING = "found before", "saved", "missing"
"""Dispositions of an object on a card: on the card before the shoot; a frame's saved file; announced for a frame and
not saved."""

FINAL = (FrameState.REFUSED, FrameState.CALLED_OFF, FrameState.NOT_FIRED, FrameState.LOGGED)
"""States that a frame never leaves, by a trigger."""

DONE = "(state IN ({}))".format(", ".join(f"'{state}'" for state in FINAL))
"""The condition in SQL that a frame is in one of FINAL."""

WHOLE_SERIES = (
    "(series_id IS NULL AND plane_mm IS NULL AND series_frames IS NULL AND series_step_mm IS NULL"
    " AND series_depth_mm IS NULL AND moved_by IS NULL AND approach IS NULL) OR (series_id IS NOT NULL"
    " AND plane_mm IS NOT NULL AND series_frames >= 1 AND series_step_mm > 0 AND series_depth_mm > 0"
    " AND moved_by IS NOT NULL AND approach IS NOT NULL)"
)
"""The condition in SQL that a frame's plane in a series is told whole, or not at all."""

MOVING = "state <> 'logged'"
"""The condition of the small index on unfinished frames; only a query with these very words is served by the index."""


class CameraTable(Base):
    """A body by its serial number. `card_noted_at`: since when what is on its card is known."""

    __tablename__ = "camera"
    __table_args__ = (UniqueConstraint("serial"),)
    camera_id: Mapped[NewKey]
    serial: Mapped[str]
    model: Mapped[str]
    first_seen_at: Mapped[datetime]
    card_noted_at: Mapped[datetime | None]


class FrameTable(Base):
    """One exposure. `folder` and `stem` say where its files are to go, `state_text` what a person should know.

    `sought_at`: when disk and card were looked through for it in vain. `ambient`: released with the lights off.
    `solo`: the light that alone fired, by its name; "" for none in particular.
    `series_id` and the columns after it: the frame's plane in a focus series, and the series' plan, see `SeriesPlane`;
    all are null in a frame outside of any series.
    """

    __tablename__ = "frame"
    __table_args__ = (
        UniqueConstraint("job_id", "number"),
        positive("number"),
        one_of("state", list(FrameState)),
        one_of("fired", list(Fired)),
        one_of("released_by", list(ReleasedBy)),
        one_of("mark", list(Mark)),
        one_of("focus_verdict", list(FocusVerdict)),
        one_of("verdict", list(Verdict)),
        *(Index(None, name) for name in ("view_id", "camera_id", "asked_at")),
        Index(None, "revision_id", "view_id", "asked_at"),
        Index(None, "focus_verdict", "asked_at", "revision_id", "view_id"),
        Index(None, "mark", "asked_at", sqlite_where=text("mark IS NOT NULL")),
        Index("ix_frame_flawed", "asked_at", sqlite_where=text("verdict = 'flawed'")),
        Index("ix_frame_by_body", "asked_at", sqlite_where=text("released_by = 'body'")),
        Index("ix_frame_moving", "state", sqlite_where=text(MOVING)),
        Index("ix_frame_series_id", "series_id", sqlite_where=text("series_id IS NOT NULL")),
    )
    frame_id: Mapped[Key] = mapped_column(primary_key=True)
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"))
    number: Mapped[int]
    view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"))
    revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"))
    camera_id: Mapped[Key] = mapped_column(ForeignKey("camera.camera_id"))
    folder: Mapped[str]
    stem: Mapped[str]
    asked_at: Mapped[datetime]
    released_by: Mapped[str]
    released_at: Mapped[datetime | None]
    saved_at: Mapped[datetime | None]
    sought_at: Mapped[datetime | None]
    state: Mapped[str]
    state_text: Mapped[str]
    fired: Mapped[str]
    focus_verdict: Mapped[str | None]
    verdict: Mapped[str | None]
    mark: Mapped[str | None]
    ambient: Mapped[bool] = mapped_column(server_default=false())
    solo: Mapped[str] = mapped_column(server_default="")
    series_id: Mapped[Key | None]
    plane_mm: Mapped[float | None]
    series_frames: Mapped[int | None]
    series_step_mm: Mapped[float | None]
    moved_by: Mapped[str | None] = mapped_column(one_of("moved_by", list(MovedBy)))
    approach: Mapped[str | None] = mapped_column(one_of("approach", list(Approach)))
    steps_per_mm: Mapped[float | None] = mapped_column(positive("steps_per_mm"))
    series_depth_mm: Mapped[float | None] = mapped_column(CheckConstraint(WHOLE_SERIES, name="series_whole"))


def facts_of(row: Any) -> FrameFacts:
    """The facts of a frame from a row that has the columns of `FrameTable`."""
    return FrameFacts(
        row.frame_id,
        row.number,
        FrameState(row.state),
        ReleasedBy(row.released_by),
        Fired(row.fired),
        row.state_text,
        row.ambient,
        row.solo,
        plane_of(row),
    )


def plane_of(row: Any) -> SeriesPlane | None:
    """The frame's plane in a focus series, from such a row; None for a frame outside of any series."""
    if row.series_id is None:
        return None
    return SeriesPlane(
        row.series_id,
        row.plane_mm,
        row.series_frames,
        row.series_step_mm,
        row.series_depth_mm,
        MovedBy(row.moved_by),
        Approach(row.approach),
        row.steps_per_mm,
    )


def plane_columns(plane: SeriesPlane | None) -> dict[str, Any]:
    """Column → value of a frame's plane in a series; all None for a frame outside of any series."""
    return {
        "series_id": plane and plane.series_id,
        "plane_mm": plane and plane.plane_mm,
        "series_frames": plane and plane.frames,
        "series_step_mm": plane and plane.step_mm,
        "series_depth_mm": plane and plane.depth_mm,
        "moved_by": plane and plane.moved_by.value,
        "approach": plane and plane.approach.value,
        "steps_per_mm": plane and plane.steps_per_mm,
    }


class CardObjectTable(Base):
    """A file on a camera's card, and what became of it. `modified_at_s`: seconds since 1970 by the camera's clock."""

    __tablename__ = "card_object"
    __table_args__ = (
        Index(None, "frame_id"),
        one_of("disposition", [FOUND_BEFORE, SAVED, MISSING]),
        CheckConstraint("(frame_id IS NULL) = (disposition = 'found before')", name="frame_named"),
    )
    card_object_id: Mapped[NewKey]
    camera_id: Mapped[Key] = mapped_column(ForeignKey("camera.camera_id"))
    folder: Mapped[str]
    name: Mapped[str]
    bytes: Mapped[int] = mapped_column(BigInteger)
    modified_at_s: Mapped[float | None]
    disposition: Mapped[str]
    frame_id: Mapped[Key | None] = mapped_column(ForeignKey("frame.frame_id"))
    noted_at: Mapped[datetime]


Index(
    "uq_card_object_identity",
    CardObjectTable.camera_id,
    CardObjectTable.folder,
    CardObjectTable.name,
    CardObjectTable.bytes,
    func.coalesce(CardObjectTable.modified_at_s, text("-1")),  # SQLite takes two NULLs for different
    unique=True,
)


class FrameFileTable(Base):
    """A file of a frame, whole on disk when the row was written. Only `path` may change, when it was moved."""

    __tablename__ = "frame_file"
    __table_args__ = (
        Index(None, "path"),
        Index(None, "sha256"),
        Index(None, "card_object_id"),
        not_negative("bytes"),
        CheckConstraint("length(sha256) = 64", name="sha256_length"),
    )
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    path: Mapped[str]
    bytes: Mapped[int] = mapped_column(BigInteger)
    sha256: Mapped[str]
    saved_at: Mapped[datetime]
    card_object_id: Mapped[Key] = mapped_column(ForeignKey("card_object.card_object_id"))


class FileCopyTable(Base):
    """Where else a file of a frame lies, whole on another disk. Only `path` may change, when it was moved."""

    __tablename__ = "file_copy"
    __table_args__ = (CheckConstraint("length(sha256) = 64", name="sha256_length"),)
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    sha256: Mapped[str] = mapped_column(primary_key=True)
    path: Mapped[str] = mapped_column(primary_key=True)
    saved_at: Mapped[datetime]


class CameraReadingTable(Base):
    """Settings as the camera reported them; `settings` holds all of them, name → value and the camera's text."""

    __tablename__ = "camera_reading"
    __table_args__ = (positive("exposure_s"), positive("f_number"), not_negative("iso"))
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    read_at: Mapped[datetime]
    exposure_s: Mapped[float | None]
    f_number: Mapped[float | None]
    iso: Mapped[int | None] = mapped_column(BigInteger)
    settings: Mapped[Payload]


class JudgementTable(Base):
    """A judgement of a frame: the focus check's measurements; its findings have the same position."""

    __tablename__ = "judgement"
    __table_args__ = (one_of("verdict", list(FocusVerdict)),)
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    judged_at: Mapped[datetime]
    verdict: Mapped[str]
    blur_px: Mapped[float | None]
    blur_sd_px: Mapped[float | None]
    defocus_mm: Mapped[float | None]
    scale: Mapped[float | None]
    sharpest_x_fraction: Mapped[float | None]
    sharpest_y_fraction: Mapped[float | None]
    reason: Mapped[str]


class FindingTable(Base):
    """A finding of a rule before the release (`judgement_position` is null) or of a check after it.

    `value` and `limit_value` are in `unit`.
    """

    __tablename__ = "finding"
    __table_args__ = (
        ForeignKeyConstraint(["frame_id", "judgement_position"], ["judgement.frame_id", "judgement.position"]),
        Index(None, "name"),
        filled_check("name"),
        one_of("level", list(Level)),
        one_of("remedy_kind", list(RemedyKind)),
    )
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    judgement_position: Mapped[int | None]
    found_at: Mapped[datetime]
    name: Mapped[str]
    level: Mapped[str]
    text: Mapped[str]
    value: Mapped[float | None]
    limit_value: Mapped[float | None]
    unit: Mapped[str]
    remedy_kind: Mapped[str | None]
    remedy_text: Mapped[str]
    remedy_settings: Mapped[Payload]
    remedy_wait_s: Mapped[float]
    details: Mapped[Payload] = mapped_column(JSON, server_default="{}")
    """`kind`: which of the check's findings; `move`: right, down, turn_deg, unit."""


class OverrulingTable(Base):
    """A stop that the photographer overruled, and why."""

    __tablename__ = "overruling"
    __table_args__ = (filled_check("reason"),)
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    rule: Mapped[str] = mapped_column(primary_key=True)
    reason: Mapped[str]
    overruled_at: Mapped[datetime]
