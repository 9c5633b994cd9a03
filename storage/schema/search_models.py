"""Tables that make looking back quick: the searchable words, and the use of each set-up for a view, with times.

Triggers fill both tables as the log is written (migration 0002); nothing in them is known nowhere else. SQLite's full
text index `search_index` stands beside `searchable` and holds no text of its own.
Source: https://www.sqlite.org/fts5.html, "External Content Tables".
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from storage.schema.models import Base, Key

FIRST_OF_FRAME = 10**15
"""Texts of frames are numbered from here by the time the frame was asked for, so that the index gives the newest first;
those of uses have the number of the use, far below."""


class RevisionUseTable(Base):
    """A revision in use for a view: when its first and its last frame were asked for, and how many there are.

    The newest frames that fit any condition on places and set-ups lie in the uses with the newest last frames, so that
    a screenful is found among a million frames without walking along them.
    """

    __tablename__ = "revision_use"
    __table_args__ = (
        UniqueConstraint("revision_id", "view_id"),
        Index(None, "last_asked_at", "first_asked_at"),
        Index(None, "view_id"),
        Index(None, "job_id"),
    )
    use_id: Mapped[int] = mapped_column(primary_key=True)
    view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"))
    revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"))
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"))
    first_asked_at: Mapped[datetime]
    last_asked_at: Mapped[datetime]
    frame_count: Mapped[int]


class SearchableTable(Base):
    """The searchable words of a set-up's use, or, with `frame_id`, of a frame that has notes or overrulings.

    Names of job, client, piece and view, the set-up's notes, lens, lights, passive items; then the frame's own words.
    """

    __tablename__ = "searchable"
    __table_args__ = (
        Index("uq_searchable_frame_id", "frame_id", unique=True, sqlite_where=text("frame_id IS NOT NULL")),
    )
    searchable_id: Mapped[int] = mapped_column(primary_key=True)
    frame_id: Mapped[Key | None] = mapped_column(ForeignKey("frame.frame_id"))
    text: Mapped[str]
