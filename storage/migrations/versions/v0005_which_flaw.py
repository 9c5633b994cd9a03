"""Which flaw a finding is about, by name; until then it stood in the finding's sentence only."""

from __future__ import annotations

from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

FLAWS = (
    ("drift", "All of the picture%", "camera moved"),
    ("drift", "The piece moved%", "piece moved"),
    ("drift", "Camera or piece%", "camera or piece moved"),
    ("drift", "The picture is%", "size changed"),
    ("drift", "A part of%", "part moved"),
    ("drift", "Move the camera%", "move camera"),
    ("drift", "Move the piece%", "move piece"),
    ("flash", "A light is missing or weak%", "one of several"),
    ("evenness", "%hot spot%", "hot spot"),
    ("evenness", "%centre%", "centre"),
)
"""Check, how its sentence read, the flaw."""


def upgrade() -> None:
    """Add the column, and fill it from the sentences that older stillsets wrote."""
    op.execute("ALTER TABLE finding ADD COLUMN details JSON DEFAULT '{}' NOT NULL")
    op.execute("DROP TRIGGER tr_finding_update")
    for name, sentence, flaw in FLAWS:
        op.execute(
            f"UPDATE finding SET details = json_object('kind', '{flaw}')"
            f" WHERE name = '{name}' AND text LIKE '{sentence}' AND details = '{{}}'"
        )
    op.execute(
        "CREATE TRIGGER tr_finding_update BEFORE UPDATE ON finding FOR EACH ROW WHEN 1"
        " BEGIN SELECT RAISE(ABORT, 'a finding is never changed'); END"
    )
