"""Runs a sweep against the camera's answers: which drive to ask for, which live frames count, when to give up."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from session.live.decode import Codes
from session.live.sweep import Answer, Driven, LookAt, Part, Seen, SweepOutcome, SweepStopped
from session.units.numbers import left_text

PATIENCE_S = 6.0
"""A look at one place ends when no frame could be judged for so long: a hand that reaches in is out again. Chosen."""


class SweepRun:
    """A sweep under way. A call returns the steps that the focus is to be driven now, 0 for none.

    outcome   None until the end
    """

    def __init__(self, plan: Part[SweepOutcome], looks_for: str = "Looking for the peak") -> None:
        """looks_for: the words on the sweep's purpose, to be read before its progress."""
        self._plan, self.looks_for = plan, looks_for
        self._look: LookAt | None = None
        self._logs: list[float] = []
        self._codes: list[Codes] = []
        self._left_out = 0
        self._since_s = self._began_s = 0.0
        self._looks = 0
        self.outcome: SweepOutcome | None = None

    def begin(self, now_s: float) -> int:
        """The first step of the drive, at `now_s` seconds."""
        self._began_s = now_s
        return self._go_on(None, now_s)

    def after_drive(self, now_s: float, *, end_stop: bool = False) -> int:
        """The drive has stopped, at `now_s` seconds; returns the next step."""
        return self._go_on(Driven(end_stop), now_s) if self._look is None else 0

    def after_frame(self, contrast: float | None, now_s: float, codes: Codes | None = None) -> int:
        """A live frame came that was taken after the drive had stopped; returns the next step.

        contrast  fine contrast of the region, no unit; None: it could not be judged
        now_s     when the frame came, s
        codes     (height, width) uint8, the picture; None: it could not be read
        """
        if self._look is None or self.outcome is not None:
            return 0
        self._left_out += 1
        if contrast is not None and self._left_out > self._look.settle:
            self._logs.append(math.log(contrast))
            if self._look.kept and codes is not None:
                self._codes.append(codes)
        if len(self._logs) >= self._look.frames:
            return self._go_on(Seen(math.exp(sum(self._logs) / len(self._logs)), mean_codes(self._codes)), now_s)
        if now_s - self._since_s > PATIENCE_S:
            return self._go_on(Seen(None), now_s)
        return 0

    def stop(self, now_s: float) -> None:
        """A key was pressed, or the camera went, at `now_s` seconds: nothing more is driven."""
        if self.outcome is None:
            self._go_on(SweepStopped(), now_s)

    def progress_text(self) -> str:
        """`place 7 of about 25, about 9 s`, as it was when this place was reached; "" at the first, and between two."""
        if not self._looks or self._look is None:
            return ""
        left = self._look.left + 1
        left_s = (self._since_s - self._began_s) / self._looks * left
        return f"place {self._looks + 1} of about {self._looks + left}, {left_text(left_s)}"

    def _go_on(self, answer: Answer | None, now_s: float) -> int:
        try:
            act = next(self._plan) if answer is None else self._plan.send(answer)
        except StopIteration as end:
            self.outcome, self._look = end.value, None
            return 0
        self._looks += isinstance(answer, Seen)
        self._logs, self._codes, self._left_out, self._since_s = [], [], 0, now_s
        self._look = act if isinstance(act, LookAt) else None
        return 0 if isinstance(act, LookAt) else act.steps


def mean_codes(pictures: Sequence[Codes]) -> Codes | None:
    """The mean of pictures, (height, width) uint8 each, without most of their noise; None without any."""
    if not pictures:
        return None
    mean: Codes = np.rint(np.mean(pictures, axis=0)).astype(np.uint8)
    return mean
