"""How large what shines is, and how far reflectors, flags and glass are turned from the piece."""

from __future__ import annotations

from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

COLUMNS = (
    ("revision_light", "width_mm FLOAT CONSTRAINT ck_revision_light_width_mm_positive CHECK (width_mm > 0)"),
    ("revision_light", "height_mm FLOAT CONSTRAINT ck_revision_light_height_mm_positive CHECK (height_mm > 0)"),
    (
        "revision_passive",
        "turned_deg FLOAT CONSTRAINT ck_revision_passive_turned_deg_not_negative CHECK (turned_deg >= 0)",
    ),
    (
        "revision_passive",
        "turned_to TEXT DEFAULT '' NOT NULL CONSTRAINT ck_revision_passive_turned_to_known"
        " CHECK (turned_to IN ('', 'left', 'right', 'up', 'down'))",
    ),
)


def upgrade() -> None:
    """Add the columns; nobody wrote any of it down before."""
    for table, column in COLUMNS:
        op.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
