"""Release by stillness, and the support's figures, on decays of the simulated bench; truth is the bench's own swing.

Each seed is a touch of its own (tests/support/live_decays.py) at 15 uneven frames a second; a seed takes some 5 s of
processor time, of a stiff support 3. STILLSET_LIVE_SEEDS takes fewer than 200. No limit was chosen on these seeds.
"""

from __future__ import annotations

import os
from functools import cache
from statistics import mean

import numpy as np
import pytest

from tests.support.live_decays import LIMIT_PX, REVISION, Decay, any_support, decay, stiff_support

SEEDS = range(1, 1 + int(os.environ.get("STILLSET_LIVE_SEEDS", "200")))
EARLY_SHARE = 0.02
WRONG_SHARE = 0.02
"""Of the answers given: SURE_FREQUENCY and SURE_DAMPING of ring_down are three and four standard deviations. Reached:
none of 148."""

TOLD_SHARE_BELOW_HALF_RATE = 0.9
HALF_RATE_HZ = 7.5


@cache
def decays(kind: str) -> tuple[Decay, ...]:
    """Touches of stands of all kinds, or of stiff ones."""
    found = []
    for seed in SEEDS:
        chance = np.random.default_rng([seed, 7])
        found.append(decay(seed, {"any": any_support, "stiff": stiff_support}[kind](chance), chance))
    return tuple(found)


def report(found: tuple[Decay, ...]) -> str:
    waits = [one.released_after_s for one in found if one.released_after_s is not None]
    timer_early = sum(one.left_at_timer_px > LIMIT_PX for one in found)
    early = sum(one.too_early for one in found)
    return (
        f"{len(found)} decays: released {len(waits)}, after {mean(waits):.2f} s on average, too early {early}; "
        f"the fixed {REVISION.hold_off_s:g} s would be too early {timer_early} times"
    )


@pytest.mark.timeout(7200)
def test_release_comes_when_the_true_motion_is_within_the_limit() -> None:
    found = decays("any")
    print("\n" + report(found))
    print(*(one for one in found if one.too_early), sep="\n")
    assert sum(one.too_early for one in found) <= EARLY_SHARE * len(found)


@pytest.mark.timeout(7200)
def test_on_a_stiff_stand_it_comes_sooner_than_two_fixed_seconds_and_is_no_less_safe() -> None:
    found = decays("stiff")
    print("\nstiff supports, " + report(found))
    assert all(one.released_after_s is not None for one in found)
    assert mean(one.released_after_s or 0.0 for one in found) < REVISION.hold_off_s
    assert sum(one.too_early for one in found) <= max(
        sum(one.left_at_timer_px > LIMIT_PX for one in found), EARLY_SHARE * len(found)
    )


@pytest.mark.timeout(7200)
def test_frequency_and_damping_are_right_or_not_told() -> None:
    found = decays("any")
    told = [one for one in found if one.ring_down is not None]
    wrong = [one for one in told if not (one.right_frequency and one.right_damping)]
    slow = [one for one in found if one.support.frequency_hz < HALF_RATE_HZ]
    print(
        f"\ntold {len(told)} of {len(found)}, below {HALF_RATE_HZ:g} Hz {sum(one in told for one in slow)} of "
        f"{len(slow)}; frequency off by more than 5 %: {sum(not one.right_frequency for one in told)}, "
        f"damping by more than 20 %: {sum(not one.right_damping for one in told)}"
    )
    print(*wrong, sep="\n")
    assert len(wrong) <= WRONG_SHARE * len(told)
    assert sum(one in told for one in slow) >= TOLD_SHARE_BELOW_HALF_RATE * len(slow)
