"""Full text search, quick look-ups among very many frames, and who this station is in a studio's archive.

The words that can be searched for, and the uses of set-ups, are kept by triggers, so that no part of the program can
forget them; `upgrade` fills them from what an older log holds. All words that belong to a use of a set-up for a view
are one text; those of a frame with notes or overrulings are another, with the words of its use before them. So the
index answers a search of several words by itself, whichever note, name or light each of them stands in.
"""

from __future__ import annotations

from importlib import resources

from alembic import op
from sqlalchemy import text
from uuid_utils.compat import uuid7

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

INDEX = """
CREATE VIRTUAL TABLE search_index USING fts5
    (text, content='searchable', content_rowid='searchable_id', tokenize='unicode61 remove_diacritics 2', prefix='2 3')
"""

INTO_INDEX = "INSERT INTO search_index (rowid, text) VALUES (NEW.searchable_id, NEW.text)"
OUT_OF_INDEX = "INSERT INTO search_index (search_index, rowid, text) VALUES ('delete', OLD.searchable_id, OLD.text)"

WORDS_OF_USE = """
(SELECT j.name || char(10) || j.client || char(10) || p.name || char(10) || v.name || char(10) ||
        r.notes || char(10) || r.must_be_sharp || char(10) || r.may_fall_off || char(10) || r.lens || char(10) ||
        coalesce((SELECT group_concat(name || char(10) || shaper || char(10) || note, char(10))
                  FROM revision_light l WHERE l.revision_id = r.revision_id), '') || char(10) ||
        coalesce((SELECT group_concat(kind || char(10) || name || char(10) || note, char(10))
                  FROM revision_passive i WHERE i.revision_id = r.revision_id), '')
 FROM "view" v JOIN piece p ON p.piece_id = v.piece_id JOIN job j ON j.job_id = p.job_id, revision r
 WHERE v.view_id = {use}.view_id AND r.revision_id = {use}.revision_id)
"""

WORDS_OF_FRAME = """
(SELECT s.text FROM searchable s JOIN revision_use u ON s.searchable_id = u.use_id
 WHERE u.revision_id = {frame}.revision_id AND u.view_id = {frame}.view_id) || char(10) ||
coalesce((SELECT group_concat(n.text, char(10)) FROM note n WHERE n.frame_id = {frame}.frame_id), '') || char(10) ||
coalesce((SELECT group_concat(o.reason, char(10)) FROM overruling o WHERE o.frame_id = {frame}.frame_id), '')
"""

SINCE_1970 = (
    "max(1000000000000000, CAST(round((julianday({frame}.asked_at) - 2440587.5) * 86400000) AS INTEGER) * 1000000)"
)
"""Milliseconds in steps that leave room for a million frames in each; SQLite's julianday knows no more. So numbers of
frames' texts grow with the time at which the frame was asked for, and begin far above those of uses, which are counted;
a clock that stands at 1970 changes neither."""

FRAME_WORDS = f"""
INSERT INTO searchable
    SELECT (SELECT max({SINCE_1970.format(frame="f")}, coalesce(max(searchable_id) + 1, 0)) FROM searchable
            WHERE searchable_id BETWEEN {SINCE_1970.format(frame="f")} AND {SINCE_1970.format(frame="f")} + 999999),
           f.frame_id, {WORDS_OF_FRAME.format(frame="f")}
    FROM frame f WHERE f.frame_id = {{key}}
        AND (EXISTS (SELECT 1 FROM note n WHERE n.frame_id = f.frame_id)
             OR EXISTS (SELECT 1 FROM overruling o WHERE o.frame_id = f.frame_id))
"""

USED = """
INSERT INTO revision_use (view_id, revision_id, job_id, first_asked_at, last_asked_at, frame_count)
    VALUES (NEW.view_id, NEW.revision_id, NEW.job_id, NEW.asked_at, NEW.asked_at, 1)
    ON CONFLICT (revision_id, view_id) DO UPDATE SET frame_count = frame_count + 1,
    first_asked_at = min(first_asked_at, NEW.asked_at), last_asked_at = max(last_asked_at, NEW.asked_at)
"""

USED_UNTIL_NOW = """
INSERT INTO revision_use (view_id, revision_id, job_id, first_asked_at, last_asked_at, frame_count)
    SELECT view_id, revision_id, job_id, min(asked_at), max(asked_at), count(*)
    FROM frame GROUP BY view_id, revision_id
"""

CLIENT_CHANGED = f"""
UPDATE searchable SET text = (SELECT {WORDS_OF_USE.format(use="u")} FROM revision_use u WHERE u.use_id = searchable_id)
    WHERE searchable_id IN (SELECT use_id FROM revision_use WHERE job_id = NEW.job_id);
UPDATE searchable SET text = (SELECT {WORDS_OF_FRAME.format(frame="f")} FROM frame f
                              WHERE f.frame_id = searchable.frame_id)
    WHERE frame_id IN (SELECT frame_id FROM frame WHERE job_id = NEW.job_id)
"""


def upgrade() -> None:
    """Make the tables, the index and the triggers, and fill them."""
    schema = resources.files("storage.migrations") / "versions" / "v0002_search_and_archive.sql"
    for statement in schema.read_text(encoding="utf-8").split(";"):
        if statement.strip():
            op.execute(statement.strip())
    make_search()
    op.execute(text("INSERT INTO station VALUES (:station_id)").bindparams(station_id=uuid7().hex))


def make_search() -> None:
    """Make the index, the triggers that keep it and the uses of set-ups up to date, and fill both."""
    op.execute(INDEX)
    _trigger("searchable_insert", "INSERT ON searchable", INTO_INDEX)
    _trigger("searchable_delete", "DELETE ON searchable", OUT_OF_INDEX)
    _trigger("searchable_update", "UPDATE OF text ON searchable", f"{OUT_OF_INDEX}; {INTO_INDEX}")
    words = f"INSERT INTO searchable VALUES (NEW.use_id, NULL, {WORDS_OF_USE.format(use='NEW')})"
    _trigger("revision_use_words", "INSERT ON revision_use", words)
    op.execute(USED_UNTIL_NOW)
    _trigger("frame_use", "INSERT ON frame", USED)
    for table, act, key in (
        ("note", "INSERT", "NEW.frame_id"),
        ("note", "UPDATE", "NEW.frame_id"),
        ("note", "DELETE", "OLD.frame_id"),
        ("overruling", "INSERT", "NEW.frame_id"),
    ):
        renewed = f"DELETE FROM searchable WHERE frame_id = {key}; {FRAME_WORDS.format(key=key)}"
        _trigger(f"{table}_words_{act.lower()}", f"{act} ON {table}", renewed)
    _trigger("job_words_update", "UPDATE OF client ON job", CLIENT_CHANGED)
    noted = "SELECT frame_id FROM note UNION SELECT frame_id FROM overruling"
    for (frame_id,) in op.get_bind().exec_driver_sql(noted).fetchall():
        op.get_bind().exec_driver_sql(FRAME_WORDS.format(key="?"), (frame_id,))


def _trigger(name: str, act: str, body: str) -> None:
    sql = f"CREATE TRIGGER tr_{name} AFTER {act} FOR EACH ROW BEGIN {body.strip()}; END"
    op.get_bind().exec_driver_sql(sql)
