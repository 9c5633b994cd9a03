"""The archive's tables: those of the log, and who sent what.

Left out: what is a station's own (objects on cards that are nobody's frame, what was looked for on its disk), and what
SQLite keeps to search quickly, which is worked out here by views. A camera and an object on a card may be seen by
several stations, so they aren't unique here.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import (
    BigInteger,
    Connection,
    ForeignKey,
    LargeBinary,
    MetaData,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from storage import frame_models, models
from storage.archive import versions
from storage.columns import AnyText, Instant, metadata
from storage.models import Key

SHARED = (
    models.Job,
    models.Piece,
    models.View,
    models.Setup,
    models.Revision,
    models.RevisionLight,
    models.RevisionPassive,
    frame_models.Camera,
    frame_models.Frame,
    frame_models.CardObject,
    frame_models.FrameFile,
    frame_models.FileCopy,
    frame_models.CameraReading,
    frame_models.Judgement,
    frame_models.Finding,
    frame_models.Overruling,
    models.Note,
    models.Reference,
    models.Event,
)

NOT_UNIQUE = ("uq_camera_serial", "uq_card_object_identity")

LOCK = 0x53544C53
"""The advisory lock that stations take in turn; the letters STLS."""

VIEWS = (
    """CREATE VIEW revision_use AS
    SELECT view_id, revision_id, job_id, min(asked_at) AS first_asked_at, max(asked_at) AS last_asked_at,
           count(*) AS frame_count
    FROM frame GROUP BY view_id, revision_id, job_id""",
    """CREATE VIEW use_words AS
    SELECT u.view_id, u.revision_id, concat_ws(E'\\n', j.name, j.client, p.name, v.name,
            r.notes, r.must_be_sharp, r.may_fall_off, r.lens,
            (SELECT string_agg(concat_ws(E'\\n', l.name, l.shaper, l.note), E'\\n')
             FROM revision_light l WHERE l.revision_id = r.revision_id),
            (SELECT string_agg(concat_ws(E'\\n', i.kind, i.name, i.note), E'\\n')
             FROM revision_passive i WHERE i.revision_id = r.revision_id)) AS text
    FROM revision_use u JOIN revision r USING (revision_id) JOIN view v ON v.view_id = u.view_id
    JOIN piece p USING (piece_id) JOIN job j ON j.job_id = p.job_id""",
    """CREATE VIEW searchable AS
    SELECT view_id, revision_id, NULL::uuid AS frame_id, text FROM use_words
    UNION ALL SELECT f.view_id, f.revision_id, f.frame_id, concat_ws(E'\\n', w.text,
            (SELECT string_agg(n.text, E'\\n') FROM note n WHERE n.frame_id = f.frame_id),
            (SELECT string_agg(o.reason, E'\\n') FROM overruling o WHERE o.frame_id = f.frame_id))
    FROM frame f JOIN use_words w ON w.view_id = f.view_id AND w.revision_id = f.revision_id
    WHERE EXISTS (SELECT 1 FROM note n WHERE n.frame_id = f.frame_id)
       OR EXISTS (SELECT 1 FROM overruling o WHERE o.frame_id = f.frame_id)""",
)


class Base(DeclarativeBase):
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


_log_tables(Base.metadata)


class ArchiveVersion(Base):
    """Which of `versions` these tables are."""

    __tablename__ = versions.TABLE
    version: Mapped[str] = mapped_column(primary_key=True)


class ArchiveStation(Base):
    """A station that has sent; its name tells its jobs from others of the same name."""

    __tablename__ = "archive_station"
    station_id: Mapped[Key] = mapped_column(primary_key=True)
    name: Mapped[str]
    pushed_at: Mapped[datetime]


class Progress(Base):
    """How far a station's table has come: the last row's number there, and its key, which proves the number."""

    __tablename__ = "archive_progress"
    station_id: Mapped[Key] = mapped_column(ForeignKey("archive_station.station_id"), primary_key=True)
    table_name: Mapped[str] = mapped_column(primary_key=True)
    last_row: Mapped[int] = mapped_column(BigInteger)
    last_key: Mapped[str]


class SentFrame(Base):
    """Which station took a frame: the only one whose word counts for what machines know of it."""

    __tablename__ = "archive_frame"
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    station_id: Mapped[Key] = mapped_column(ForeignKey("archive_station.station_id"), index=True)


class ReferencePreview(Base):
    """A small JPEG of an approved frame, for looking at where the file itself isn't."""

    __tablename__ = "archive_preview"
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
    jpeg: Mapped[bytes] = mapped_column(LargeBinary)


def make(connection: Connection) -> str:
    """Make the archive where there is none, or bring an older one up; one station at a time.

    Returns a sentence on what was brought up, "" when nothing was. Raises LogError for a newer one.
    """
    take_turn(connection)
    version = versions.version_of(connection)
    if version is None:
        Base.metadata.create_all(connection)
        for view in VIEWS:
            connection.execute(text(view))
        connection.execute(ArchiveVersion.__table__.insert().values(version=versions.HEAD))  # type: ignore[attr-defined]
        return ""
    if version == versions.HEAD:
        return ""
    versions.bring_up(connection, version)
    return f"The archive was brought from schema {version} to {versions.HEAD}."


def take_turn(connection: Connection) -> None:
    """Nobody else writes until this transaction ends."""
    connection.execute(text("SELECT pg_advisory_xact_lock(:lock)").bindparams(lock=LOCK))
