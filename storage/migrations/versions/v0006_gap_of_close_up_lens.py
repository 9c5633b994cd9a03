"""How far before the lens's front principal plane a close-up lens stands."""

from __future__ import annotations

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; older set-ups were counted with the close-up lens in contact, as 0 says."""
    op.execute("ALTER TABLE revision ADD COLUMN gap_mm FLOAT DEFAULT '0' NOT NULL")
