"""Full text search, quick look-ups among very many frames, and who this station is in a studio's archive.

The words that can be searched for, and the uses of set-ups, are kept by triggers, so that no part of the program can
forget them; `upgrade` fills them from what an older log holds.
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
INTO = "INSERT INTO searchable (kind, source_id, owner_id, text)"

WORDS = {
    "job": ("job_id", "job_id", "{row}name || char(10) || {row}client"),
    "piece": ("piece_id", "piece_id", "{row}name"),
    "view": ("view_id", "view_id", "{row}name"),
    "revision": (
        "revision_id",
        "revision_id",
        "{row}notes || char(10) || {row}must_be_sharp || char(10) || {row}may_fall_off || char(10) || {row}lens",
    ),
    "note": ("note_id", "frame_id", "{row}text"),
    "overruling": ("frame_id", "frame_id", "{row}reason"),
}
"""Table, which is the kind too → columns of the source and of what is found, and its words."""

PARTS = {
    "revision_light": "{row}name || char(10) || {row}shaper || char(10) || {row}note",
    "revision_passive": "{row}kind || char(10) || {row}name || char(10) || {row}note",
}
"""Tables whose words belong to those of their revision."""

USED = """
INSERT INTO revision_use SELECT NEW.view_id, NEW.revision_id, piece_id, NEW.job_id, NEW.asked_at, NEW.asked_at, 1
    FROM "view" WHERE view_id = NEW.view_id
    ON CONFLICT (view_id, revision_id) DO UPDATE SET frame_count = frame_count + 1,
    first_asked_at = min(first_asked_at, NEW.asked_at), last_asked_at = max(last_asked_at, NEW.asked_at)
"""

USED_UNTIL_NOW = """
INSERT INTO revision_use
    SELECT view_id, revision_id, piece_id, frame.job_id, min(asked_at), max(asked_at), count(*)
    FROM frame JOIN "view" USING (view_id) GROUP BY view_id, revision_id
"""


def upgrade() -> None:
    """Make the tables, the index and the triggers, and fill them."""
    schema = resources.files("storage.migrations") / "versions" / "v0002_search_and_archive.sql"
    for statement in schema.read_text(encoding="utf-8").split(";"):
        if statement.strip():
            op.execute(statement.strip())
    op.execute(INDEX)
    _trigger("searchable_insert", "INSERT ON searchable", INTO_INDEX)
    _trigger("searchable_delete", "DELETE ON searchable", OUT_OF_INDEX)
    _trigger("searchable_update", "UPDATE ON searchable", f"{OUT_OF_INDEX}; {INTO_INDEX}")
    for table, (source, owner, words) in WORDS.items():
        values = f"'{table}', {{row}}{source}, {{row}}{owner}, {words}"
        _trigger(f"{table}_words", f"INSERT ON {_quoted(table)}", f"{INTO} VALUES ({values.format(row='NEW.')})")
        op.execute(text(f"{INTO} SELECT {values.format(row='')} FROM {_quoted(table)}"))
    for table, words in PARTS.items():
        _trigger(f"{table}_words", f"INSERT ON {table}", _added(words.format(row="NEW."), "NEW.revision_id"))
        joined = (
            f"(SELECT group_concat({words.format(row='')}, char(10)) FROM {table} p WHERE p.revision_id = source_id)"
        )
        op.execute(f"UPDATE searchable SET text = text || char(10) || coalesce({joined}, '') WHERE kind = 'revision'")
    for table, column in (("job", "client"), ("note", "text")):
        source, _, words = WORDS[table]
        of_row = f"kind = '{table}' AND source_id = OLD.{source}"
        renewed = f"UPDATE searchable SET text = {words.format(row='NEW.')} WHERE {of_row}"
        _trigger(f"{table}_words_update", f"UPDATE OF {column} ON {table}", renewed)
    _trigger("note_words_delete", "DELETE ON note", "DELETE FROM searchable WHERE source_id = OLD.note_id")
    _trigger("frame_use", "INSERT ON frame", USED)
    op.execute(USED_UNTIL_NOW)
    op.execute(text("INSERT INTO station VALUES (:station_id)").bindparams(station_id=uuid7().hex))


def _trigger(name: str, act: str, body: str) -> None:
    op.execute(text(f"CREATE TRIGGER tr_{name} AFTER {act} FOR EACH ROW BEGIN {body.strip()}; END"))


def _added(words: str, revision_id: str) -> str:
    of_revision = f"kind = 'revision' AND source_id = {revision_id}"
    return f"UPDATE searchable SET text = text || char(10) || {words} WHERE {of_revision}"


def _quoted(table: str) -> str:
    return '"view"' if table == "view" else table
