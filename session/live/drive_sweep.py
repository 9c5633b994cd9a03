"""Measuring a focus drive: the plan that looks at places from one side, then finds the peak again from the other.

As in `sweep` the peak is found first. Then the plan looks at PLACES places over a wide span, all come to from the near
side, and keeps a picture of each: the change of their size tells what a step is worth. Then the peak is looked for from
the far side: the drive comes to the same focus so many steps later as it has play. Play that the run-up didn't take up
spoils the places, so all is done once more with a longer run-up. In the end the drive goes back to the peak, from the
near side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.live.decode import Codes
from session.live.peak import Peak, fit_peak
from session.live.sweep import (
    FINE_STEPS,
    MOST_TRIES,
    PAST_SHARE,
    PAST_TWICE,
    TOO_NEAR_A_STOP,
    DriveCount,
    Part,
    Range,
    SweepEnded,
    SweepOutcome,
    coarse_pass,
    fine_pass,
    look_here,
    rises_to,
    see_here,
    top_of,
)

PLACES = 17
"""Of the wide pass: as many as `tests/benchmarks/test_drive_rates.py` counts with."""

SPAN_HALVES = 6.0
"""Half the span of the wide pass, in widths over which the contrast stays above `NEAR_WIDTH` of its best. Chosen."""

PLAY_TAKEN_UP = 1.2
"""A run-up must be longer than the play by this factor: the play is known to a few steps. Chosen."""

CLOSER = 2
"""Fine passes for one peak: after a coarse pass with wide steps the first may have too few readings near it. Chosen."""

MOST_BACK = 80
"""Looks on the way back to the peak; play of 40 widths takes as many. Chosen."""

NO_PEAK_TWICE = "The contrast doesn't come back to its peak: something moves, or the region has too little detail."


@dataclass(frozen=True, eq=False)
class DriveSwept(SweepOutcome):
    """A drive that was looked at from both sides.

    places    of the wide pass, steps, rising; all come to from the near side
    pictures  (height, width) uint8 grey, one for each place
    out, back  the peak of the contrast as it was come to from the near and from the far side, in steps asked for
    run_up_steps  by which each place was passed before
    """

    places: tuple[int, ...] = ()
    pictures: tuple[Codes, ...] = ()
    out: Peak | None = None
    back: Peak | None = None
    run_up_steps: int = 0


def drive_sweep(where: Range) -> Part[SweepOutcome]:
    """The plan; a `DriveSwept` where the drive could be looked at, else an outcome whose text says why not."""
    drive = DriveCount(where.run_up_steps)
    try:
        return (yield from _drive_sweep(drive, where))
    except SweepEnded as end:
        return SweepOutcome(False, end.text)


def _drive_sweep(drive: DriveCount, where: Range) -> Part[SweepOutcome]:
    for _ in range(MOST_TRIES):
        coarse = yield from coarse_pass(drive, where)
        middle, half = top_of(coarse, where.step_steps)
        out, half = yield from _from_the_near_side(drive, middle, half)
        if out is not None:
            places, pictures = yield from _wide_pass(drive, out.at_steps, SPAN_HALVES * half)
            back = yield from _from_the_far_side(drive, out.at_steps, half)
            if back is not None and drive.run_up_steps >= PLAY_TAKEN_UP * (out.at_steps - back.at_steps):
                yield from drive.to(round(out.at_steps))
                return DriveSwept(True, "", out, out.contrast, places, pictures, out, back, drive.run_up_steps)
        drive.run_up_steps *= 2
    raise SweepEnded(NO_PEAK_TWICE)


def _from_the_near_side(drive: DriveCount, middle: float, half: float) -> Part[tuple[Peak | None, float]]:
    """The peak, closely, and how far from it the contrast is near its best; None where no peak lies there."""
    out = None
    for _ in range(CLOSER):
        fine = yield from fine_pass(drive, middle, half)
        step = max(1, round(2 * half / FINE_STEPS))
        out = fit_peak(list(fine), list(fine.values()))
        middle, half = top_of(fine, step)
        if out is not None:
            break
        half = max(half, 3 * step)
    return out, half


def _wide_pass(drive: DriveCount, middle: float, reach: float) -> Part[tuple[tuple[int, ...], tuple[Codes, ...]]]:
    """Places and their pictures, from the near side."""
    step = max(1, round(2 * reach / (PLACES - 1)))
    places: list[int] = []
    pictures: list[Codes] = []
    yield from drive.to(round(middle - (PLACES - 1) / 2 * step))
    if drive.at_near_stop:
        raise SweepEnded(TOO_NEAR_A_STOP)
    for number in range(PLACES):
        seen = yield from see_here(PLACES - number, kept=True)
        assert seen.codes is not None
        places.append(drive.at)
        pictures.append(seen.codes)
        if number < PLACES - 1 and (yield from drive.forward(step)):
            raise SweepEnded(TOO_NEAR_A_STOP)
    return tuple(places), tuple(pictures)


def _from_the_far_side(drive: DriveCount, peak_steps: float, half: float) -> Part[Peak | None]:
    """The peak as it is come to from the far side: first coarsely, since nobody knows the play, then closely."""
    seen: dict[int, float] = {}
    step, under = max(1, round(half / 2)), 0
    yield from drive.back_to(round(peak_steps + 2 * half))
    while under < PAST_TWICE or not rises_to({-place: value for place, value in seen.items()}, -_best(seen)):
        if len(seen) >= MOST_BACK:
            raise SweepEnded(NO_PEAK_TWICE)
        if seen:
            yield from drive.back(step)
        seen[drive.at] = yield from look_here(0)
        under = under + 1 if seen[drive.at] < PAST_SHARE * max(seen.values()) else 0
    fine: dict[int, float] = {}
    close = max(1, math.ceil(2 * half / FINE_STEPS))
    yield from drive.back_to(_best(seen) + FINE_STEPS // 2 * close)
    for number in range(FINE_STEPS + 1):
        if number:
            yield from drive.back(close)
        fine[drive.at] = yield from look_here(0)
    return fit_peak(list(fine), list(fine.values()))


def _best(seen: dict[int, float]) -> int:
    """The place with the highest contrast."""
    return max(seen, key=lambda place: seen[place])
