"""Tables for the station of this log, and for the rows that came from the studio's archive."""

from __future__ import annotations

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from storage.schema.models import Base, Key, NewKey


class StationTable(Base):
    """The archive's key for this log, in a single row, made with the log, or when an older log is brought up."""

    __tablename__ = "station"
    station_id: Mapped[NewKey]


class FetchedFrameTable(Base):
    """A frame of another station: only its own station says what machines know of the frame."""

    __tablename__ = "pulled_frame"
    frame_id: Mapped[Key] = mapped_column(ForeignKey("frame.frame_id"), primary_key=True)
