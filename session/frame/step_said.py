"""What a person said of a step of building a set-up again, where the picture alone can't settle the step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class StepWord(StrEnum):
    """A person's word on a step, or on what stands in the place of a thing; the values stand in the log."""

    CONFIRMED = "confirmed"
    SKIPPED = "skipped"
    INSTEAD = "instead"


@dataclass(frozen=True)
class StepSaid:
    """The word that is in force on a step, for one revision of a set-up and one piece; a substitute's for all pieces.

    step    the step's key: `camera`, `light fill`; of a substitute the thing's: `instead of lens`
    reason  why it was skipped; the name of a substitute; "" for a confirmed step
    at      when it was said, with zone
    elsewhere  said at another piece of the job, where only a substitute holds too
    """

    step: str
    word: StepWord
    reason: str
    at: datetime
    elsewhere: bool = False
