"""Focusing by the camera's own drive: a plan of small steps that looks, fits the peak and comes back to it.

    plan = sweep(Range())
    act = next(plan)                 # DriveBy(-160), LookAt(...), ...
    act = plan.send(Driven())        # or Driven(end_stop=True), Seen(contrast), Seen(None), Stop()
    …                                # until StopIteration, whose value is the Outcome

A drive has play: turned round, it runs some steps before anything moves. So every reading, and the return to the peak,
comes from the same side, after a run-up that is longer than the play; places are counted from there. How much play
there is needn't be known: when the contrast after the return isn't the peak's, the run-up was too short, and the
fine pass is done again with a longer one.

First a coarse pass, which goes on beyond its range while the contrast still rises at the end and begins earlier
when it falls from the start; then a fine pass over the top.
"""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import dataclass
from typing import TypeVar

from session.live.decode import Codes
from session.live.peak import Peak, fit_peak
from session.units.refusals import ImpossibleNumbersError

LOOK_FRAMES, SETTLE_FRAMES = 3, 1
"""Live frames averaged at a place, and left out before them while the motor's shake dies away. Chosen."""

PAST_SHARE, PAST_TWICE = 0.85, 2
"""A coarse pass ends when so many readings one after the other lie under this share of its best. Chosen."""

RISES_BY = 1.06
"""The best of a coarse pass must stand out of its lowest by this factor; flicker and shake alone make 1.03. Chosen."""

MOST_EXTENSIONS = 4
FINE_STEPS = 12
"""Of the fine pass, over the width within which the contrast is above NEAR_WIDTH of the best."""

FINE_LOOKS = FINE_STEPS + 2
"""Those of a fine pass, and the one after the return."""

NEAR_WIDTH = 0.8
VERIFIED_SHARE = 0.97
"""After the return the contrast must be this share of the fitted peak's: it falls by more a quarter of a depth of
field away, and single looks keep within a hundredth. Chosen."""

MOST_TRIES = 4

STOPPED = "Stopped; the focus stands where it was stopped."
TOO_NEAR_A_STOP = (
    "The drive comes to its end stop: move the camera a little, so that the piece is sharp further inside."
)


@dataclass(frozen=True)
class Range:
    """Look: `span_steps` around the present place by `step_steps`. `run_up_steps` is above the drive's play."""

    span_steps: int = 200
    step_steps: int = 20
    run_up_steps: int = 100

    def __post_init__(self) -> None:
        if not (0 < self.step_steps <= self.span_steps and self.run_up_steps > 0):
            raise ImpossibleNumbersError(f"steps must be positive, and a span at least one step: {self}")


RANGES = (Range(60, 6), Range(), Range(600, 60))
"""The ranges on offer, in the drive's own steps, since no lens tells how far a step moves the focus: a third of the
usual range near the focus, three times that range far from it. Chosen; from each the search goes on beyond."""


@dataclass(frozen=True)
class DriveBy:
    """Move the focus by so many steps, + away from the camera; answer Driven."""

    steps: int


@dataclass(frozen=True)
class LookAt:
    """Leave out `settle` frames, take the mean contrast of the next `frames`; answer Seen.

    left   looks that are still to come by what is known now; a pass may end early, or be done again
    kept   the mean picture is wanted too
    """

    frames: int = LOOK_FRAMES
    settle: int = SETTLE_FRAMES
    left: int = 0
    kept: bool = False


@dataclass(frozen=True)
class Driven:
    """The drive has stopped; end_stop: before it had gone all the way."""

    end_stop: bool = False


@dataclass(frozen=True)
class Seen:
    """The mean contrast, percent; None when the region could not be judged. codes: the mean picture, where kept."""

    contrast: float | None
    codes: Codes | None = None


@dataclass(frozen=True)
class SweepStopped:
    """A key was pressed: no further step."""


Act = DriveBy | LookAt
Answer = Driven | Seen | SweepStopped


@dataclass(frozen=True)
class SweepOutcome:
    """How the sweep ended. reached: the focus stands at the peak, as a last look has shown. peak: None without a fit.

    text  one sentence: what was reached, or why not and what to do
    """

    reached: bool
    text: str
    peak: Peak | None = None
    contrast: float | None = None


class SweepEnded(Exception):  # noqa: N818 - the end of the plan, not an error
    """A plan of the drive ends before it has what it looks for; `text`: one sentence."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(text)


GivenT = TypeVar("GivenT")
Part = Generator[Act, Answer, GivenT]


def sweep(where: Range) -> Part[SweepOutcome]:
    """The plan; see the module. Every text ends with where the focus stands."""
    drive = DriveCount(where.run_up_steps)
    try:
        return (yield from _sweep(drive, where))
    except SweepEnded as end:
        return SweepOutcome(False, end.text)


def _sweep(drive: DriveCount, where: Range) -> Part[SweepOutcome]:
    coarse = yield from coarse_pass(drive, where)
    highest = max(coarse.values())
    middle, half = top_of(coarse, where.step_steps)
    for _ in range(MOST_TRIES):
        fine = yield from fine_pass(drive, middle, half)
        step, peak = max(1, round(2 * half / FINE_STEPS)), fit_peak(list(fine), list(fine.values()))
        highest = max(highest, *fine.values())
        if peak is not None and peak.contrast >= VERIFIED_SHARE * highest:
            yield from drive.to(round(peak.at_steps))
            contrast = yield from look_here(0)
            if contrast >= VERIFIED_SHARE * peak.contrast:
                text = f"In focus: fine contrast {contrast:.2f} %, {contrast / peak.contrast:.0%} of the peak's."
                return SweepOutcome(True, text, peak, contrast)
        if max(fine.values()) < VERIFIED_SHARE * highest or peak is not None:
            drive.run_up_steps *= 2  # the top seen before isn't where it was: the play is larger
        middle, half = top_of(fine, step)
        half = max(half, 3 * step)
    text = "The drive doesn't come back to the peak: something moves, or it has more play. Focus by hand from here."
    return SweepOutcome(False, text)


def fine_pass(drive: DriveCount, middle: float, half: float) -> Part[dict[int, float]]:
    """Contrast by place over the top."""
    step = max(1, round(2 * half / FINE_STEPS))
    seen: dict[int, float] = {}
    yield from drive.to(round(middle - FINE_STEPS / 2 * step))
    for number in range(FINE_STEPS + 1):
        seen[drive.at] = yield from look_here(FINE_STEPS - number + 1)
        if number == FINE_STEPS or (yield from drive.forward(step)):
            break
    return seen


def coarse_pass(drive: DriveCount, where: Range) -> Part[dict[int, float]]:
    """Contrast by place, with the highest contrast inside the range. Raises SweepEnded without such a peak."""
    seen: dict[int, float] = {}
    start, step = -where.span_steps // 2, where.step_steps
    end = start + where.span_steps
    for _ in range(MOST_EXTENSIONS):
        yield from drive.to(start)
        if drive.at_near_stop:
            seen.clear()  # it stands somewhere else than counted: earlier places have other numbers
        at_end = yield from _pass(drive, seen, end, step)
        best = max(seen, key=lambda place: seen[place])
        if min(seen.values()) * RISES_BY > seen[best]:
            start, end, step = 2 * start, 2 * end, 2 * step
        elif not rises_to(seen, best) and drive.at_near_stop:
            raise SweepEnded(
                f"The contrast is highest, {seen[best]:.2f} %, at the near end of the focus travel: move the camera "
                "back a little."
            )
        elif not rises_to(seen, best):
            start, end = start - where.span_steps, start
        elif best == max(seen) and not at_end:
            start, end = end, end + where.span_steps
        else:
            return seen
    raise SweepEnded(
        f"No peak from {min(seen)} to {max(seen)} steps: look farther, come nearer by hand, or choose a region with "
        "more detail."
    )


def _pass(drive: DriveCount, seen: dict[int, float], end: int, step: int) -> Part[bool]:
    """Look at every step until the end or well past the best; True when the drive came to its stop."""
    under = 0
    while True:
        contrast = seen[drive.at] = yield from look_here(max(0, math.ceil((end - drive.at) / step)) + FINE_LOOKS)
        best = max(seen, key=lambda place: seen[place])
        under = under + 1 if contrast < PAST_SHARE * seen[best] else 0
        if drive.at >= end or (under >= PAST_TWICE and rises_to(seen, best)):
            return False
        if (yield from drive.forward(step)):
            return True


def rises_to(seen: dict[int, float], best: int) -> bool:
    """Whether something before the best place is clearly lower."""
    return min(value for place, value in seen.items() if place <= best) * RISES_BY < seen[best]


def top_of(seen: dict[int, float], step: int) -> tuple[float, float]:
    """The best place, and how far from it the contrast is still near its best; at least a step."""
    best = max(seen, key=lambda place: seen[place])
    high = [place for place, value in seen.items() if value >= NEAR_WIDTH * seen[best]]
    return best, max(best - min(high), max(high) - best, step)


def look_here(left: int) -> Part[float]:
    """The mean contrast at this place, percent. Raises SweepEnded."""
    seen = yield from see_here(left, kept=False)
    assert seen.contrast is not None
    return seen.contrast


def see_here(left: int, *, kept: bool) -> Part[Seen]:
    """The contrast at this place, which is known, and the picture where it is kept. Raises SweepEnded."""
    answer = yield LookAt(left=left, kept=kept)
    if isinstance(answer, SweepStopped):
        raise SweepEnded(STOPPED)
    if isinstance(answer, Seen) and answer.contrast is not None:
        return answer
    raise SweepEnded("Stopped: the region can't be judged, something is in the way or it has no detail.")


class DriveCount:
    """Where the drive stands, counted in steps forward from the place at which the sweep began, the play taken up."""

    def __init__(self, run_up_steps: int) -> None:
        self.run_up_steps = run_up_steps
        self.at = 0
        self.at_near_stop = False
        self._near_stop: int | None = None

    def forward(self, steps: int) -> Part[bool]:
        """True when the end stop was met: then it stands somewhere before `at`."""
        end_stop = yield from self._by(steps)
        self.at += steps
        return end_stop

    def to(self, place: int) -> Part[None]:
        """Go to a place from the near side, with the run-up.

        From the near end stop no run-up is needed: counted from the stop, the same steps lead to the same place again.
        """
        self.at_near_stop = yield from self._by(place - self.at - self.run_up_steps)
        if self.at_near_stop:
            self._near_stop = self.at = place if self._near_stop is None else self._near_stop
        else:
            self.at = place - self.run_up_steps
        if place > self.at:
            yield from self.forward(place - self.at)

    def back_to(self, place: int) -> Part[None]:
        """Go to a place from the far side, with the run-up. Raises SweepEnded at an end stop."""
        for steps in (place - self.at + self.run_up_steps, -self.run_up_steps):
            if (yield from self._by(steps)):
                raise SweepEnded(TOO_NEAR_A_STOP)
        self.at = place

    def back(self, steps: int) -> Part[None]:
        """Go back, having gone back before. Raises SweepEnded at an end stop."""
        if (yield from self._by(-steps)):
            raise SweepEnded(TOO_NEAR_A_STOP)
        self.at -= steps

    def _by(self, steps: int) -> Part[bool]:
        if not steps:
            return False
        answer = yield DriveBy(steps)
        if isinstance(answer, SweepStopped):
            raise SweepEnded(STOPPED)
        return isinstance(answer, Driven) and answer.end_stop
