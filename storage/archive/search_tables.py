"""The tables by which an archive is searched; triggers of the server fill them, as the log's own triggers do.

`revision_use` and `searchable` mean what they mean in the log (`storage.schema.search_models`), save that words stand
there as PostgreSQL's own vector, in which a GIN index finds their beginnings. Each trigger works on all rows of a
statement at once, so that a batch of frames costs one look. Source: PostgreSQL documentation, "Text Search Indexes",
"CREATE TRIGGER" (transition tables).
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import BigInteger, ForeignKey, Identity, Index, MetaData, text
from sqlalchemy.dialects.postgresql import TSVECTOR
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from storage.schema.columns import Instant
from storage.schema.models import Key

LONGEST_CHARS = 100_000
"""Characters of one entry that are searched. A vector holds 1 MB at most; one character is up to four bytes."""


def define(target: MetaData) -> None:
    """Define the two tables in `target`, which has the tables that they point to."""

    class SearchTable(DeclarativeBase):
        metadata = target
        type_annotation_map = {datetime: Instant()}  # noqa: RUF012 - SQLAlchemy's own form

    class ArchivedRevisionUse(SearchTable):
        __tablename__ = "revision_use"
        __table_args__ = (Index(None, "last_asked_at"), Index(None, "job_id"))
        revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"), primary_key=True)
        view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"), primary_key=True)
        job_id: Mapped[Key] = mapped_column(ForeignKey("job.job_id"), primary_key=True)
        first_asked_at: Mapped[datetime]
        last_asked_at: Mapped[datetime]
        frame_count: Mapped[int] = mapped_column(BigInteger)

    class ArchivedWords(SearchTable):
        __tablename__ = "searchable"
        __table_args__ = (
            Index(
                "uq_searchable_use", "revision_id", "view_id", unique=True, postgresql_where=text("frame_id IS NULL")
            ),
            Index("uq_searchable_frame_id", "frame_id", unique=True),
            Index(None, "words", postgresql_using="gin"),
        )
        searchable_id: Mapped[int] = mapped_column(BigInteger, Identity(), primary_key=True)
        revision_id: Mapped[Key] = mapped_column(ForeignKey("revision.revision_id"))
        view_id: Mapped[Key] = mapped_column(ForeignKey("view.view_id"))
        frame_id: Mapped[Key | None] = mapped_column(ForeignKey("frame.frame_id"))
        words: Mapped[object] = mapped_column(TSVECTOR)


def _words(entry: str) -> str:
    return f"to_tsvector('simple', left({entry}, {LONGEST_CHARS}))"


USES = """INSERT INTO revision_use AS known (view_id, revision_id, job_id, first_asked_at, last_asked_at, frame_count)
    SELECT view_id, revision_id, job_id, min(asked_at), max(asked_at), count(*) FROM {added}
    GROUP BY view_id, revision_id, job_id
    ON CONFLICT (revision_id, view_id, job_id) DO UPDATE SET
        first_asked_at = least(known.first_asked_at, excluded.first_asked_at),
        last_asked_at = greatest(known.last_asked_at, excluded.last_asked_at),
        frame_count = known.frame_count + excluded.frame_count"""

WORDS_OF_USES = f"""INSERT INTO searchable (revision_id, view_id, words)
    SELECT DISTINCT ON (revision_id, view_id) revision_id, view_id, {_words("text")} FROM use_words
    WHERE revision_id IN (SELECT revision_id FROM {{changed}})
    ON CONFLICT DO NOTHING"""

WORDS_OF_FRAMES = f"""INSERT INTO searchable (revision_id, view_id, frame_id, words)
    SELECT DISTINCT ON (frame_id) revision_id, view_id, frame_id, {_words("text")} FROM frame_words
    WHERE frame_id IN (SELECT frame_id FROM {{changed}})"""

VIEWS = (
    """CREATE VIEW use_words AS
    SELECT u.view_id, u.revision_id, concat_ws(E'\\n', j.name, j.client, p.name, v.name,
            r.notes, r.must_be_sharp, r.may_fall_off, r.lens,
            (SELECT string_agg(concat_ws(E'\\n', l.name, l.shaper, l.note), E'\\n')
             FROM revision_light l WHERE l.revision_id = r.revision_id),
            (SELECT string_agg(concat_ws(E'\\n', i.kind, i.name, i.note), E'\\n')
             FROM revision_passive i WHERE i.revision_id = r.revision_id)) AS text
    FROM revision_use u JOIN revision r USING (revision_id) JOIN view v ON v.view_id = u.view_id
    JOIN piece p USING (piece_id) JOIN job j ON j.job_id = p.job_id""",
    """CREATE VIEW frame_words AS
    SELECT f.view_id, f.revision_id, f.frame_id, concat_ws(E'\\n', w.text,
            (SELECT string_agg(n.text, E'\\n') FROM note n WHERE n.frame_id = f.frame_id),
            (SELECT string_agg(o.reason, E'\\n') FROM overruling o WHERE o.frame_id = f.frame_id)) AS text
    FROM frame f JOIN use_words w ON w.view_id = f.view_id AND w.revision_id = f.revision_id
    WHERE EXISTS (SELECT 1 FROM note n WHERE n.frame_id = f.frame_id)
       OR EXISTS (SELECT 1 FROM overruling o WHERE o.frame_id = f.frame_id)""",
)


def _function(name: str, *statements: str) -> str:
    body = ";\n    ".join(statements)
    return (
        f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN\n    {body};\n    RETURN NULL; END $$"
    )


def _trigger(table: str, act: str, side: str, function: str) -> str:
    return (
        f"CREATE TRIGGER tr_{table}_{act.lower()}_words AFTER {act} ON {table} REFERENCING {side} TABLE AS changed"
        f" FOR EACH STATEMENT EXECUTE FUNCTION {function}()"
    )


TRIGGERS = (
    _function("note_uses", USES.format(added="changed"), WORDS_OF_USES.format(changed="changed")),
    _function(
        "note_words_of_frames",
        "DELETE FROM searchable WHERE frame_id IN (SELECT frame_id FROM changed)",
        WORDS_OF_FRAMES.format(changed="changed"),
    ),
    _function(
        "note_words_of_jobs",
        "CREATE TEMPORARY TABLE worded ON COMMIT DROP AS SELECT revision_id, frame_id FROM searchable"
        " WHERE revision_id IN (SELECT revision_id FROM revision_use WHERE job_id IN (SELECT job_id FROM changed))",
        "DELETE FROM searchable WHERE revision_id IN (SELECT revision_id FROM worded)",
        WORDS_OF_USES.format(changed="worded"),
        WORDS_OF_FRAMES.format(changed="worded"),
        "DROP TABLE worded",
    ),
    _trigger("frame", "INSERT", "NEW", "note_uses"),
    *(_trigger("note", act, side, "note_words_of_frames") for act, side in (("INSERT", "NEW"), ("UPDATE", "NEW"))),
    _trigger("note", "DELETE", "OLD", "note_words_of_frames"),
    _trigger("overruling", "INSERT", "NEW", "note_words_of_frames"),
    _trigger("job", "UPDATE", "NEW", "note_words_of_jobs"),
)
