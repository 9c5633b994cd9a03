"""Where second copies of frames' files lie, on another disk."""

from __future__ import annotations

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TABLE = """
CREATE TABLE file_copy (
    frame_id CHAR(32) NOT NULL,
    sha256 TEXT NOT NULL,
    path TEXT NOT NULL,
    saved_at DATETIME NOT NULL,
    CONSTRAINT pk_file_copy PRIMARY KEY (frame_id, sha256, path),
    CONSTRAINT ck_file_copy_sha256_length CHECK (length(sha256) = 64),
    CONSTRAINT fk_file_copy_frame_id FOREIGN KEY(frame_id) REFERENCES frame (frame_id)
)
"""

GUARDS = {
    "file_copy_update": (
        "UPDATE OF frame_id, sha256, saved_at ON file_copy",
        "of a second copy only the path may change",
    ),
    "file_copy_delete": ("DELETE ON file_copy", "a second copy is never forgotten"),
}
"""Name of the trigger → act that it watches, refusal."""


def upgrade() -> None:
    """Make the table and the triggers that guard its rows."""
    op.execute(TABLE)
    for name, (act, refusal) in GUARDS.items():
        op.execute(f"CREATE TRIGGER tr_{name} BEFORE {act} FOR EACH ROW BEGIN SELECT RAISE(ABORT, '{refusal}'); END")
