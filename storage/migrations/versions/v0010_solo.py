"""The light that alone fired in a frame of a series of solos."""

from __future__ import annotations

from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

IDENTITY = (
    "frame_id, job_id, number, view_id, revision_id, camera_id, folder, stem, asked_at, released_by, ambient, solo"
)


def upgrade() -> None:
    """Add the column; in the frames of an older log all lights were meant to fire, or none."""
    op.execute("ALTER TABLE frame ADD COLUMN solo TEXT DEFAULT '' NOT NULL")
    op.execute("DROP TRIGGER tr_frame_identity")
    op.execute(
        f"CREATE TRIGGER tr_frame_identity BEFORE UPDATE OF {IDENTITY} ON frame FOR EACH ROW WHEN 1"
        " BEGIN SELECT RAISE(ABORT, 'what a frame began with is never changed'); END"
    )
