"""The plane of a frame in a focus series, and the plan that the series was begun with."""

from __future__ import annotations

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

COLUMNS = (
    "series_id CHAR(32)",
    "plane_mm FLOAT",
    "series_frames INTEGER",
    "series_step_mm FLOAT",
    "moved_by TEXT CONSTRAINT ck_frame_moved_by_known CHECK (moved_by IN ('drive', 'rail', 'ring'))",
    "approach TEXT CONSTRAINT ck_frame_approach_known CHECK (approach IN ('near', 'far'))",
    "steps_per_mm FLOAT CONSTRAINT ck_frame_steps_per_mm_positive CHECK (steps_per_mm > 0)",
    "series_depth_mm FLOAT CONSTRAINT ck_frame_series_whole CHECK ("
    "(series_id IS NULL AND plane_mm IS NULL AND series_frames IS NULL AND series_step_mm IS NULL"
    " AND series_depth_mm IS NULL AND moved_by IS NULL AND approach IS NULL) OR (series_id IS NOT NULL"
    " AND plane_mm IS NOT NULL AND series_frames >= 1 AND series_step_mm > 0 AND series_depth_mm > 0"
    " AND moved_by IS NOT NULL AND approach IS NOT NULL))",
)

IDENTITY = (
    "frame_id, job_id, number, view_id, revision_id, camera_id, folder, stem, asked_at, released_by, ambient, solo,"
    " series_id, plane_mm, series_frames, series_step_mm, series_depth_mm, moved_by, approach, steps_per_mm"
)


def upgrade() -> None:
    """Add the columns; no frame of an older log was one of a focus series."""
    for column in COLUMNS:
        op.execute(f"ALTER TABLE frame ADD COLUMN {column}")
    op.execute("CREATE INDEX ix_frame_series_id ON frame (series_id) WHERE series_id IS NOT NULL")
    op.execute("DROP TRIGGER tr_frame_identity")
    op.execute(
        f"CREATE TRIGGER tr_frame_identity BEFORE UPDATE OF {IDENTITY} ON frame FOR EACH ROW WHEN 1"
        " BEGIN SELECT RAISE(ABORT, 'what a frame began with is never changed'); END"
    )
