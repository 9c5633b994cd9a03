"""The large line as a value: words, tone, and the sentence under the line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from session.frame.finding import Finding


class Tone(StrEnum):
    """How the large line sounds; a repetition of its words, never the only sign."""

    GO = "go"
    WAIT = "wait"
    BUSY = "busy"
    GOOD = "good"
    CAUTION = "caution"
    STOP = "stop"


@dataclass(frozen=True)
class Headline:
    """What stands three rows high, and the sentence under it.

    remedy  the end of the sentence that says what would settle it, with its key; "" when nothing would
    about   the finding whose number the sentence gives, in fewer words than its own
    """

    large: str
    sentence: str
    tone: Tone
    remedy: str = ""
    about: Finding | None = None
