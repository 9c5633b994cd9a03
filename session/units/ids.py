"""Keys for the things that stillset makes: frames, revisions, acts, rows of the log."""

from __future__ import annotations

from uuid_utils.compat import uuid7


def new_id() -> str:
    """A key that nobody else makes, growing with time (UUID version 7, RFC 9562), as text."""
    return str(uuid7())
