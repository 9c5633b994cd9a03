"""The steps of a reshoot with what a person said of them: which are settled, and which the hands do next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from session.frame.step_said import StepSaid, StepWord
from session.match.check_list import check_list, long_pause_after
from session.match.match_steps import MatchStep, StepState
from session.match.solo_series import SeriesFrame
from session.match.then_and_now import STRUCK
from session.set.setup import Revision

CHECKS_KEY = "check list"
"""Key of the step that is the check list."""


@dataclass(frozen=True)
class Reshoot:
    """An old set-up that is being built again.

    revision_id  the log's key of the revision
    begun_at     when the program was opened for it: frames since then are of the set as it stands now
    """

    revision: Revision
    revision_id: str
    begun_at: datetime | None = None


@dataclass(frozen=True)
class ReshootStep:
    """A step, and what a person said of it; None where nobody said anything.

    shot     the frame that the measured value is of; None where no frame was measured
    earlier  the step as it was measured before the last long pause, where nothing is measured since; else None
    instead  clauses on what stands in the place of its thing, and what changes for the same picture
    """

    step: MatchStep
    said: StepSaid | None = None
    shot: SeriesFrame | None = None
    earlier: ReshootStep | None = None
    instead: tuple[str, ...] = ()

    @property
    def is_skipped(self) -> bool:
        return self.said is not None and self.said.word is StepWord.SKIPPED

    @property
    def is_settled(self) -> bool:
        """Nothing is left to do: skipped, measured as right, or confirmed and not measured as wrong."""
        confirmed = self.said is not None and self.step.state is not StepState.OFF
        return self.is_skipped or confirmed or self.step.state is StepState.MATCHES

    @property
    def may_be_confirmed(self) -> bool:
        """A person's word can settle the step: nothing has measured it as wrong."""
        return self.step.state in (StepState.OPEN, StepState.CANT_TELL)


def reshoot_steps(
    revision: Revision,
    measured: Sequence[MatchStep],
    said: Iterable[StepSaid],
    worked_at: Iterable[datetime],
    now: datetime,
) -> tuple[ReshootStep, ...]:
    """Check list and measured steps, each with a person's word on it; a word of an earlier reshoot is told only.

    worked_at  when frames of the job were released; for the pauses after which a word counts no more
    """
    by_key = {one.step: one for one in said}
    times = [*worked_at, *(one.at for one in by_key.values())]
    first = _checks(revision, by_key.get(CHECKS_KEY), times, now)
    return (first, *(_with_word(step, by_key.get(step.key), times, now) for step in measured))


def next_step(steps: Sequence[ReshootStep]) -> int | None:
    """The place of the first step that isn't settled; None when all are."""
    return next((n for n, step in enumerate(steps) if not step.is_settled), None)


def _with_word(step: MatchStep, said: StepSaid | None, times: Iterable[datetime], now: datetime) -> ReshootStep:
    pause = long_pause_after(said.at, times, now, STRUCK) if said is not None else None
    if said is None or pause is None:
        return ReshootStep(step, said)
    before = f"{said.word.value} before a pause of {pause.days} days"
    because = f": {said.reason}" if said.reason else ""
    return ReshootStep(replace(step, measured="; ".join(part for part in (step.measured, before + because) if part)))


def _checks(revision: Revision, said: StepSaid | None, worked_at: Iterable[datetime], now: datetime) -> ReshootStep:
    step = MatchStep(CHECKS_KEY, "check list", ", ".join(check_list(revision)), to_do="see to each of them")
    told = _with_word(step, said, worked_at, now)
    if said is None or told.said is None or said.word is StepWord.SKIPPED:
        return told
    pause = long_pause_after(said.at, worked_at, now)
    if pause is None:
        return ReshootStep(step, said)
    before = f"confirmed before a pause of {pause.total_seconds() / 3600:.0f} hours"
    return ReshootStep(replace(step, measured=before, to_do="see to each of them again"))
