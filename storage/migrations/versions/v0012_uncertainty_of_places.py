"""How well the place of a light, reflector, flag or glass is known, by the tape that measured it."""

from __future__ import annotations

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

TABLES = ("revision_light", "revision_passive")
COLUMNS = ("distance_sd_mm", "azimuth_sd_deg", "elevation_sd_deg")


def upgrade() -> None:
    """Add the columns; nobody wrote down before how finely a tape was read."""
    for table in TABLES:
        for column in COLUMNS:
            check = f"CONSTRAINT ck_{table}_{column}_not_negative CHECK ({column} >= 0)"
            op.execute(f"ALTER TABLE {table} ADD COLUMN {column} FLOAT {check}")
