"""A client's standard for views, where the camera stands by tape, and how large reflectors, flags and glass are."""

from __future__ import annotations

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

STANDARD = """
CREATE TABLE client_standard (
    standard_id CHAR(32) NOT NULL,
    job_id CHAR(32) NOT NULL,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    across_percent FLOAT,
    down_percent FLOAT,
    framing_tolerance_percent FLOAT,
    margin_percent FLOAT,
    shadow_side TEXT,
    background_ev FLOAT,
    background_tolerance_ev FLOAT,
    exposure_tolerance_ev FLOAT,
    colour_tolerance_de2000 FLOAT,
    size_tolerance_percent FLOAT,
    blur_limit_px FLOAT,
    CONSTRAINT pk_client_standard PRIMARY KEY (standard_id),
    CONSTRAINT uq_client_standard_job_id_name_key UNIQUE (job_id, name_key),
    CONSTRAINT ck_client_standard_name_key_filled CHECK (name_key <> ''),
    CONSTRAINT ck_client_standard_shadow_side_known CHECK (shadow_side IN ('left', 'right', 'above', 'below')),
    CONSTRAINT ck_client_standard_framing_tolerance_percent_positive CHECK (framing_tolerance_percent > 0),
    CONSTRAINT ck_client_standard_background_tolerance_ev_positive CHECK (background_tolerance_ev > 0),
    CONSTRAINT ck_client_standard_exposure_tolerance_ev_positive CHECK (exposure_tolerance_ev > 0),
    CONSTRAINT ck_client_standard_colour_tolerance_de2000_positive CHECK (colour_tolerance_de2000 > 0),
    CONSTRAINT ck_client_standard_size_tolerance_percent_positive CHECK (size_tolerance_percent > 0),
    CONSTRAINT ck_client_standard_margin_percent_not_negative CHECK (margin_percent >= 0),
    CONSTRAINT ck_client_standard_blur_limit_px_positive CHECK (blur_limit_px > 0),
    CONSTRAINT fk_client_standard_job_id FOREIGN KEY(job_id) REFERENCES job (job_id)
)
"""

ORDERED_VIEWS = (
    "ALTER TABLE ordered_view RENAME TO ordered_view_of_before",
    """
CREATE TABLE ordered_view (
    view_id CHAR(32) NOT NULL,
    position INTEGER NOT NULL,
    wanted BOOLEAN NOT NULL,
    standard_id CHAR(32),
    CONSTRAINT pk_ordered_view PRIMARY KEY (view_id),
    CONSTRAINT ck_ordered_view_position_not_negative CHECK (position >= 0),
    CONSTRAINT fk_ordered_view_view_id FOREIGN KEY(view_id) REFERENCES "view" (view_id),
    CONSTRAINT fk_ordered_view_standard_id FOREIGN KEY(standard_id) REFERENCES client_standard (standard_id)
)
""",
    "INSERT INTO ordered_view SELECT view_id, position, wanted, NULL FROM ordered_view_of_before",
    "DROP TABLE ordered_view_of_before",
)
"""SQLite adds no named constraint to a table that is there, so the table is made anew."""

COLUMNS = (
    ("revision", "working_distance_mm", True),
    ("revision", "camera_height_mm", True),
    ("revision", "view_down_deg", False),
    ("revision", "view_around_deg", False),
    ("revision_passive", "width_mm", True),
    ("revision_passive", "height_mm", True),
)
"""Table, column, and whether its numbers must be above 0."""


def upgrade() -> None:
    """Make the table and the columns; nothing of it was known before."""
    for statement in (STANDARD, *ORDERED_VIEWS):
        op.execute(statement)
    for table, column, above_0 in COLUMNS:
        check = f" CONSTRAINT ck_{table}_{column}_positive CHECK ({column} > 0)" if above_0 else ""
        op.execute(f"ALTER TABLE {table} ADD COLUMN {column} FLOAT{check}")
