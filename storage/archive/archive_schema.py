"""The archive's tables: the tables of the log, and a table of which station sent which rows.

Left out: what is a station's own (objects on cards that are nobody's frame, what was looked for on its disk), and what
SQLite keeps to search quickly, for which PostgreSQL has its own (`search_tables`). A camera and an object on a card may
be seen by several stations, so they aren't unique here.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import (
    BigInteger,
    Connection,
    ForeignKey,
    Identity,
    LargeBinary,
    MetaData,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from storage.archive import archive_versions, search_tables
from storage.schema import frame_models, models
from storage.schema.columns import AnyText, Instant, metadata
from storage.schema.models import Key

SHARED = (
    models.JobTable,
    models.PieceTable,
    models.ViewTable,
    models.SetupTable,
    models.RevisionTable,
    models.RevisionLightTable,
    models.RevisionPassiveTable,
    frame_models.CameraTable,
    frame_models.FrameTable,
    frame_models.CardObjectTable,
    frame_models.FrameFileTable,
    frame_models.FileCopyTable,
    frame_models.CameraReadingTable,
    frame_models.JudgementTable,
    frame_models.FindingTable,
    frame_models.OverrulingTable,
    models.NoteTable,
    models.ReferenceTable,
    models.EventTable,
)

NOT_UNIQUE = ("uq_camera_serial", "uq_card_object_identity")

LOCK = 0x53544C53
"""The advisory lock that stations take in turn; the letters STLS."""


class ArchiveTable(DeclarativeBase):
    metadata = metadata()
    type_annotation_map = {str: AnyText(), datetime: Instant()}  # noqa: RUF012 - SQLAlchemy's own form


def _log_tables(target: MetaData) -> None:
    """The shared tables in the archive's metadata, with other names for nothing."""
    for model in SHARED:
        table = model.metadata.tables[model.__tablename__].to_metadata(target)
        for index in [index for index in table.indexes if index.name in NOT_UNIQUE]:
            table.indexes.remove(index)
        for unique in [c for c in table.constraints if isinstance(c, UniqueConstraint) and c.name in NOT_UNIQUE]:
            table.constraints.remove(unique)


_log_tables(ArchiveTable.metadata)
search_tables.define(ArchiveTable.metadata)


class ArchiveVersion(ArchiveTable):
    """The version of the archive's tables, from `archive_versions`."""

    __tablename__ = archive_versions.TABLE
    version: Mapped[str] = mapped_column(primary_key=True)


class ArchiveStation(ArchiveTable):
    """A station that has sent rows; the station's name follows the name of a job that another station has too.

    `pushed_at` is by the server's clock; `clock_ahead_s` is the station's clock minus the server's, s.
    """

    __tablename__ = "archive_station"
    station_id: Mapped[Key] = mapped_column(primary_key=True)
    name: Mapped[str]
    pushed_at: Mapped[datetime]
    clock_ahead_s: Mapped[float | None]


class StationProgress(ArchiveTable):
    """How far a station has sent a table: number of the last row sent, and its key, by which the number is checked."""

    __tablename__ = "archive_progress"
    station_id: Mapped[Key] = mapped_column(ForeignKey("archive_station.station_id"), primary_key=True)
    table_name: Mapped[str] = mapped_column(primary_key=True)
    last_row: Mapped[int] = mapped_column(BigInteger)
    last_key: Mapped[str]


class Told(ArchiveTable):
    """A sentence on a name or number that was taken, written with the rows, until a sending came to its end with it."""

    __tablename__ = "archive_told"
    told_id: Mapped[int] = mapped_column(BigInteger, Identity(), primary_key=True)
    station_id: Mapped[Key] = mapped_column(ForeignKey("archive_station.station_id"), index=True)
    sentence: Mapped[str]


class SentFrame(ArchiveTable):
    """The station that took a frame: only that station's word counts for what machines know of the frame."""

    __tablename__ = "archive_frame"
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    station_id: Mapped[Key] = mapped_column(ForeignKey("archive_station.station_id"), index=True)


class ReferencePreview(ArchiveTable):
    """A small JPEG of an approved frame, for looking at where the file itself isn't."""

    __tablename__ = "archive_preview"
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    jpeg: Mapped[bytes] = mapped_column(LargeBinary)


class SetPictureSent(ArchiveTable):
    """A picture of the set of a revision, as it is stored beside a log; `sha256` is of its bytes."""

    __tablename__ = "archive_set_picture"
    revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"), primary_key=True)
    sha256: Mapped[str] = mapped_column(primary_key=True)
    jpeg: Mapped[bytes] = mapped_column(LargeBinary)


class ArchiveOrder(ArchiveTable):
    """The order of a job that was read last at any station, as the text of its table (CSV)."""

    __tablename__ = "archive_order"
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"), primary_key=True)
    read_at: Mapped[datetime]
    order_table: Mapped[str]


def make(connection: Connection) -> str:
    """Make the archive where there is none, or bring an older one up; one station at a time.

    Returns a sentence on what was brought up, "" when nothing was. Raises LogError for a newer one.
    """
    take_turn(connection)
    version = archive_versions.version_of(connection)
    if version is None:
        ArchiveTable.metadata.create_all(connection)
        for statement in (*search_tables.VIEWS, *search_tables.TRIGGERS):
            connection.execute(text(statement))
        connection.execute(ArchiveVersion.__table__.insert().values(version=archive_versions.HEAD))  # type: ignore[attr-defined]
        return ""
    if version == archive_versions.HEAD:
        return ""
    archive_versions.bring_up(connection, version)
    return f"The archive was brought from schema {version} to {archive_versions.HEAD}."


def take_turn(connection: Connection) -> None:
    """Nobody else writes until this transaction ends."""
    connection.execute(text("SELECT pg_advisory_xact_lock(:lock)").bindparams(lock=LOCK))
