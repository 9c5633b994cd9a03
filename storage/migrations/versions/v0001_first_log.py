"""The first log: places, set-ups, frames and all that belongs to them, and the triggers that guard these rows.

The tables are written out as SQL beside this file, so that a later change of the models leaves them as they were.
"""

from __future__ import annotations

from importlib import resources

from alembic import op

from storage.migrations import APPLICATION_ID

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

NEVER_CHANGED = {
    "revision": "a revision",
    "revision_light": "a light of a revision",
    "revision_passive": "a passive item of a revision",
    "camera_reading": "a camera reading",
    "judgement": "a judgement",
    "finding": "a finding",
    "overruling": "an overruling",
    "event": "an event",
}
"""Table → the name of its rows in a refusal."""

GUARDS = (
    (
        "revision_light_insert",
        "INSERT ON revision_light",
        "a revision is never changed",
        "NEW.position >= (SELECT light_count FROM revision WHERE revision_id = NEW.revision_id)",
    ),
    (
        "revision_passive_insert",
        "INSERT ON revision_passive",
        "a revision is never changed",
        "NEW.position >= (SELECT passive_count FROM revision WHERE revision_id = NEW.revision_id)",
    ),
    (
        "frame_identity",
        "UPDATE OF frame_id, job_id, number, view_id, revision_id, camera_id, folder, stem, asked_at, released_by"
        " ON frame",
        "what a frame began with is never changed",
        "1",
    ),
    (
        "frame_final",
        "UPDATE OF state ON frame",
        "a frame that is done moves no more",
        "OLD.state IN ('refused', 'called off', 'not fired', 'logged') AND NEW.state <> OLD.state",
    ),
    (
        "frame_insert",
        "INSERT ON frame",
        "the view and the set-up of a frame must be of its job",
        "NEW.job_id IS NOT (SELECT job_id FROM view JOIN piece USING (piece_id) WHERE view_id = NEW.view_id)"
        " OR NEW.job_id IS NOT"
        " (SELECT job_id FROM revision JOIN setup USING (setup_id) WHERE revision_id = NEW.revision_id)",
    ),
    ("frame_delete", "DELETE ON frame", "a frame is never removed", "1"),
    (
        "frame_file_update",
        "UPDATE OF frame_id, position, kind, bytes, sha256, saved_at, card_object_id ON frame_file",
        "of a saved file only the path may change",
        "1",
    ),
    ("frame_file_delete", "DELETE ON frame_file", "a saved file is never forgotten", "1"),
)
"""Name of the trigger, act that it watches, refusal, condition."""


def upgrade() -> None:
    """Make everything, in an empty file."""
    schema = resources.files("storage.migrations") / "versions" / "v0001_first_log.sql"
    for statement in schema.read_text(encoding="utf-8").split(";"):
        if statement.strip():
            op.execute(statement.strip())
    for table, name in NEVER_CHANGED.items():
        for act in ("UPDATE", "DELETE"):
            _guard(f"{table}_{act.lower()}", f"{act} ON {table}", f"{name} is never changed")
    for guard in GUARDS:
        _guard(*guard)
    op.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def _guard(name: str, act: str, refusal: str, condition: str = "1") -> None:
    body = f"FOR EACH ROW WHEN {condition} BEGIN SELECT RAISE(ABORT, '{refusal}'); END"
    op.execute(f"CREATE TRIGGER tr_{name} BEFORE {act} {body}")
