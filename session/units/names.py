"""How names from people are matched: jobs, pieces and views."""

from __future__ import annotations

import unicodedata


def name_key(name: str) -> str:
    """The form in which a name is matched: composed, without case, single blanks. "" for an empty name."""
    folded = unicodedata.normalize("NFC", name).casefold()
    return " ".join(unicodedata.normalize("NFC", folded).split())
