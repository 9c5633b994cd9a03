"""What makes looking back quick: the words that can be searched for, and which set-up was used for which view when.

Triggers fill both tables as the log is written (migration 0002); nothing in them is known nowhere else. SQLite's full
text index `search_index` stands beside `searchable` and holds no text of its own.
Source: https://www.sqlite.org/fts5.html, "External Content Tables".
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from storage.models import Base, Key, one_of

JOB, PIECE, VIEW, SET_UP, NOTE, OVERRULED = "job", "piece", "view", "revision", "note", "overruling"
KINDS = (JOB, PIECE, VIEW, SET_UP, NOTE, OVERRULED)


class Searchable(Base):
    """Words of one source: the names of a job and its client, of a piece or a view; a revision's lights, passive items
    and notes together; a note; the reason of an overruling.

    source_id  the row that the words stand in, so that they can be replaced (of an overruling: the frame)
    owner_id   what is found by them: a job, a piece, a view, a revision or a frame
    """

    __tablename__ = "searchable"
    __table_args__ = (one_of("kind", list(KINDS)), Index(None, "source_id"))
    searchable_id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    source_id: Mapped[Key]
    owner_id: Mapped[Key]
    text: Mapped[str]


class RevisionUse(Base):
    """A revision in use for a view: when its first and its last frame were asked for, and how many there are.

    The newest frames that fit any condition on places and set-ups lie in the uses with the newest last frames, so that
    a screenful is found among a million frames without walking along them.
    """

    __tablename__ = "revision_use"
    __table_args__ = (Index(None, "last_asked_at"), Index(None, "revision_id"), Index(None, "job_id"))
    view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"), primary_key=True)
    revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"), primary_key=True)
    piece_id: Mapped[Key] = mapped_column(ForeignKey("piece.piece_id"))
    job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"))
    first_asked_at: Mapped[datetime]
    last_asked_at: Mapped[datetime]
    frame_count: Mapped[int]
