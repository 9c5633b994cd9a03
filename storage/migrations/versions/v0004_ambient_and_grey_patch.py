"""Frames of the ambient light alone, and where a grey card lies in the pictures of a set-up."""

from __future__ import annotations

from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

PATCH = (
    "patch_left_fraction FLOAT",
    "patch_top_fraction FLOAT",
    "patch_width_fraction FLOAT",
    "patch_height_fraction FLOAT CONSTRAINT ck_revision_patch_in_picture CHECK"
    " ((patch_left_fraction IS NULL) = (patch_top_fraction IS NULL)"
    " AND (patch_left_fraction IS NULL) = (patch_width_fraction IS NULL)"
    " AND (patch_left_fraction IS NULL) = (patch_height_fraction IS NULL)"
    " AND patch_left_fraction >= 0 AND patch_top_fraction >= 0"
    " AND patch_width_fraction > 0 AND patch_height_fraction > 0"
    " AND patch_left_fraction + patch_width_fraction <= 1 + 1e-9"
    " AND patch_top_fraction + patch_height_fraction <= 1 + 1e-9)",
)

IDENTITY = "frame_id, job_id, number, view_id, revision_id, camera_id, folder, stem, asked_at, released_by, ambient"


def upgrade() -> None:
    """Add the columns; no frame of an older log was one of the ambient light, and no patch was marked."""
    op.execute("ALTER TABLE frame ADD COLUMN ambient BOOLEAN DEFAULT 0 NOT NULL")
    for column in PATCH:
        op.execute(f"ALTER TABLE revision ADD COLUMN {column}")
    op.execute("DROP TRIGGER tr_frame_identity")
    op.execute(
        f"CREATE TRIGGER tr_frame_identity BEFORE UPDATE OF {IDENTITY} ON frame FOR EACH ROW WHEN 1"
        " BEGIN SELECT RAISE(ABORT, 'what a frame began with is never changed'); END"
    )
