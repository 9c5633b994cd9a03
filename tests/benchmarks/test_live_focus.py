"""Focusing by the meter and by the sweep on the simulated bench, compared with where the focus truly was.

Each seed is a bench of its own (tests/support/live_hands.py): piece, ratio, lens, dim lamps, flicker of ±0.3 EV, knocks
at the stand, a hand. No limit of the instruments was chosen on these seeds; those that were tried lie below 201 and
from 5000 on. A seed takes some 8 s for the meter, 6 s for the sweep and 5 s for the rest before the best: 65 minutes
for 200 of each. STILLSET_LIVE_SEEDS takes fewer.

Truly passed is what lies more than a quarter of the depth of field behind the best, since within it a focus counts as
found; frames from the best itself are printed beside.

Reached on 2026-11-29, over all seeds: of 200 passes 200 found (median 0.03 depths of field away, worst 0.14), 197 said
in time, none too early; 1 of 200 rings left before the best called past it; 200 of 200 sweeps back at the peak (median
0.01, worst 0.05), by 99 live frames at the median, 200 at most. The three that were said late rested a little beyond
the quarter, where the contrast had fallen by less than counts as a fall. One pass had been lost before to a hand that
rested and drew back; that seed was looked at to see what had happened, and no limit was chosen on it.
"""

from __future__ import annotations

import os
from statistics import median

import pytest

from tests.support.live_focus_runs import QUARTER, WITHIN_FRAMES, called_at_rest, meter_run, sweep_run

SEEDS = range(1001, 1001 + int(os.environ.get("STILLSET_LIVE_SEEDS", "200")))
FOUND_SHARE, FALSE_SHARE = 0.98, 0.01


@pytest.mark.timeout(7200)
def test_meter_holds_the_peak_and_says_when_it_was_passed() -> None:
    runs = [meter_run(seed) for seed in SEEDS]
    found, said = sum(run.found for run in runs), sum(run.said_in_time for run in runs)
    early = sum(run.called_early for run in runs)
    off = sorted(abs(run.peak_off_depths) for run in runs if run.peak_off_depths is not None)
    after = sorted(run.after_best for run in runs if run.after_best is not None)
    print(
        f"\nmeter, {len(runs)} passes: peak within {QUARTER:g} depth of field {found}, median {median(off):.3f}, "
        f"worst {off[-1]:.3f}; said within {WITHIN_FRAMES} frames of truly passing {said}; too early {early}; "
        f"frames from the best itself: median {median(after):g}, worst {after[-1]}"
    )
    print(*(run for run in runs if not (run.found and run.said_in_time) or run.called_early), sep="\n")
    assert found >= FOUND_SHARE * len(runs)
    assert said >= FOUND_SHARE * len(runs)
    assert early <= FALSE_SHARE * len(runs)


@pytest.mark.timeout(7200)
def test_ring_left_before_the_best_is_not_past_it() -> None:
    called = [seed for seed in SEEDS if called_at_rest(seed)]
    print(f"\n'past the best' said of {len(called)} of {len(SEEDS)} rings left before it: seeds {called}")
    assert len(called) <= FALSE_SHARE * len(SEEDS)


@pytest.mark.timeout(7200)
def test_sweep_comes_back_to_the_peak_over_thirty_steps_of_play() -> None:
    ends = [sweep_run(seed) for seed in SEEDS]
    found = sum(end.found for end in ends)
    off, frames = sorted(abs(end.off_depths) for end in ends), sorted(end.frames for end in ends)
    print(
        f"\nsweep, {len(ends)} benches: within {QUARTER:g} depth of field {found}, median {median(off):.3f}, "
        f"worst {off[-1]:.3f}; live frames: median {median(frames):g}, most {frames[-1]}"
    )
    print(*(end for end in ends if not end.found), sep="\n")
    assert found >= FOUND_SHARE * len(ends)
