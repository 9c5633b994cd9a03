"""The order of a job: the terms, pieces and views that a client wants."""

from __future__ import annotations

from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

TABLES = (
    """
CREATE TABLE job_order (
    job_id CHAR(32) NOT NULL,
    due_on TEXT,
    rights TEXT NOT NULL,
    credit TEXT NOT NULL,
    width_px INTEGER,
    height_px INTEGER,
    width_mm FLOAT,
    height_mm FLOAT,
    ppi FLOAT,
    crop_ratio FLOAT,
    margin_percent FLOAT,
    file_format TEXT,
    colour_space TEXT NOT NULL,
    read_from TEXT NOT NULL,
    read_at DATETIME NOT NULL,
    CONSTRAINT pk_job_order PRIMARY KEY (job_id),
    CONSTRAINT ck_job_order_width_px_positive CHECK (width_px > 0),
    CONSTRAINT ck_job_order_height_px_positive CHECK (height_px > 0),
    CONSTRAINT ck_job_order_width_mm_positive CHECK (width_mm > 0),
    CONSTRAINT ck_job_order_height_mm_positive CHECK (height_mm > 0),
    CONSTRAINT ck_job_order_ppi_positive CHECK (ppi > 0),
    CONSTRAINT ck_job_order_crop_ratio_positive CHECK (crop_ratio > 0),
    CONSTRAINT ck_job_order_margin_percent_not_negative CHECK (margin_percent >= 0),
    CONSTRAINT ck_job_order_file_format_known CHECK (file_format IN ('jpeg', 'tiff')),
    CONSTRAINT fk_job_order_job_id FOREIGN KEY(job_id) REFERENCES job (job_id)
)
    """,
    """
CREATE TABLE ordered_piece (
    piece_id CHAR(32) NOT NULL,
    position INTEGER NOT NULL,
    article_number TEXT NOT NULL,
    width_mm FLOAT,
    height_mm FLOAT,
    depth_mm FLOAT,
    surface TEXT NOT NULL,
    CONSTRAINT pk_ordered_piece PRIMARY KEY (piece_id),
    CONSTRAINT ck_ordered_piece_width_mm_positive CHECK (width_mm > 0),
    CONSTRAINT ck_ordered_piece_height_mm_positive CHECK (height_mm > 0),
    CONSTRAINT ck_ordered_piece_depth_mm_positive CHECK (depth_mm > 0),
    CONSTRAINT ck_ordered_piece_position_not_negative CHECK (position >= 0),
    CONSTRAINT fk_ordered_piece_piece_id FOREIGN KEY(piece_id) REFERENCES piece (piece_id)
)
    """,
    """
CREATE TABLE ordered_view (
    view_id CHAR(32) NOT NULL,
    position INTEGER NOT NULL,
    wanted BOOLEAN NOT NULL,
    CONSTRAINT pk_ordered_view PRIMARY KEY (view_id),
    CONSTRAINT ck_ordered_view_position_not_negative CHECK (position >= 0),
    CONSTRAINT fk_ordered_view_view_id FOREIGN KEY(view_id) REFERENCES "view" (view_id)
)
    """,
)


def upgrade() -> None:
    """Make the tables; jobs of before have no order."""
    for table in TABLES:
        op.execute(table)
