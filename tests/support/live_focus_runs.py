"""Focusing at the simulated bench with the instruments on: what the meter and the sweep say, and what was true.

All frames go through `Instruments`, as in a shoot. Truth is the bench's own: where the plane of focus is.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.live.instruments import Instruments, LiveReading
from session.live.sweep import Range, SweepOutcome, sweep
from session.live.sweep_run import SweepRun
from tests.support.live_hands import FRAME_S, PIXELS, LiveBench, Moment, live_bench, resting_short, shake, turning_past

QUARTER = 0.25
"""Of the depth of field: within it a peak counts as found, and beyond it the best counts as truly passed."""

WITHIN_FRAMES = 5
PLAY_STEPS = 30
STILL_LIMIT_PX = 0.5
SWEPT_DEPTHS, STEPS_PER_DEPTH = 2.0, 40.0
MOST_SWEEP_FRAMES = 3000


@dataclass(frozen=True)
class MeterRun:
    """One pass over the best focus, as the meter told it.

    peak_off_depths   where the focus was when the best held at the end was seen; None: no best
    late_frames       frames from truly passing to 'past the best', those in which a hand hides the region left out;
                      None: never said
    after_best        frames from the best itself to the word, counted likewise
    called_early      said before the focus came to its best
    frames            all that were shown
    """

    seed: int
    peak_off_depths: float | None
    late_frames: int | None
    after_best: int | None
    called_early: bool
    frames: int

    @property
    def found(self) -> bool:
        return self.peak_off_depths is not None and abs(self.peak_off_depths) <= QUARTER

    @property
    def said_in_time(self) -> bool:
        return self.late_frames is not None and self.late_frames <= WITHIN_FRAMES


@dataclass(frozen=True)
class SweepEnd:
    """Where a sweep left the focus, depths of field from the best, and what it said."""

    seed: int
    off_depths: float
    outcome: SweepOutcome
    frames: int

    @property
    def found(self) -> bool:
        return self.outcome.reached and abs(self.off_depths) <= QUARTER


def meter_run(seed: int) -> MeterRun:
    """The ring turned past the best on the bench of that seed."""
    bench, instruments = live_bench(seed), Instruments()
    instruments.begin(bench.now_s)
    shown = [(moment, seen(bench, instruments, moment.jpeg)) for moment in turning_past(bench)]
    moments = [moment for moment, _ in shown]
    side = 1.0 if moments[-1].off_depths > moments[0].off_depths else -1.0
    said = [reading.focus is not None and reading.focus.past_best for _, reading in shown]
    return MeterRun(
        seed,
        _peak_off_depths(moments, shown[-1][1]),
        _late_frames(moments, said, side, QUARTER),
        _late_frames(moments, said, side, 0.0),
        any(past and moment.off_depths * side < 0 for past, moment in zip(said, moments, strict=True)),
        len(shown),
    )


def called_at_rest(seed: int) -> bool:
    """Whether 'past the best' was said of a ring that was turned near the best and left before it."""
    bench, instruments = live_bench(seed), Instruments()
    instruments.begin(bench.now_s)
    readings = [seen(bench, instruments, moment.jpeg) for moment in resting_short(bench)]
    return any(reading.focus is not None and reading.focus.past_best for reading in readings)


def sweep_run(seed: int) -> SweepEnd:
    """A sweep on the bench of that seed, from up to two thirds of its range away, with play in the drive."""
    bench, instruments = live_bench(seed), Instruments()
    chance, now_s = bench.chance, bench.now_s
    bench.world.do("backlash", steps=PLAY_STEPS)
    bench.world.do("step_mm", mm=bench.depth_mm / STEPS_PER_DEPTH)
    bench.turn_to(float(chance.uniform(-SWEPT_DEPTHS, SWEPT_DEPTHS)) * 2 / 3)
    instruments.begin(now_s)
    run = SweepRun(sweep(Range()))
    step, frames = run.begin(now_s), 0
    while run.outcome is None and frames < MOST_SWEEP_FRAMES:
        if chance.random() < 0.04:
            shake(bench)
        if step:
            reached = bench.world.drive_focus(step)
            step = run.after_drive(bench.now_s, end_stop=not reached)
        bench.now_s += FRAME_S * float(chance.uniform(0.8, 1.2))
        frames += 1
        focus = seen(bench, instruments, bench.frame()).focus
        step = step or run.after_frame(focus.contrast if focus else None, bench.now_s)
    if run.outcome is None:
        run.stop(bench.now_s)
    assert run.outcome is not None
    return SweepEnd(seed, bench.off_depths, run.outcome, frames)


def seen(bench: LiveBench, instruments: Instruments, jpeg: bytes) -> LiveReading:
    return instruments.see(jpeg, bench.now_s, bench.region, pixels_across=PIXELS[0], limit_px=STILL_LIMIT_PX)


def _peak_off_depths(moments: list[Moment], last: LiveReading) -> float | None:
    if last.focus is None or last.focus.best_contrast is None:
        return None
    best_at_s = last.at_s - last.focus.best_since_s
    return min(moments, key=lambda moment: abs(moment.at_s - best_at_s)).off_depths


def _late_frames(moments: list[Moment], said: list[bool], side: float, passed_at: float) -> int | None:
    """Frames that showed the focus farther than `passed_at` behind its best before the word came."""
    late = 0
    for moment, past in zip(moments, said, strict=True):
        if moment.off_depths * side > 0 and past:
            return late
        if moment.off_depths * side > passed_at and not moment.hidden:
            late += 1
    return None
