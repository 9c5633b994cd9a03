"""The large line as a value: words, tone, and the sentence under the line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from session.frame.finding import Finding


class Tone(StrEnum):
    """The tone of the large line, shown as its colour: it repeats the words, and is never the only sign."""

    GO = "go"
    WAIT = "wait"
    BUSY = "busy"
    GOOD = "good"
    CAUTION = "caution"
    STOP = "stop"


@dataclass(frozen=True)
class Headline:
    """The large line, three rows high, and the sentence under it.

    remedy  the sentence's end, a remedy with its key; "" without a remedy
    about   the finding whose number the sentence gives, in fewer words than its own
    """

    large: str
    sentence: str
    tone: Tone
    remedy: str = ""
    about: Finding | None = None
