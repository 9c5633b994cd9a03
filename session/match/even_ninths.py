"""The small changes of the lights' powers that bring every ninth of the picture nearest to the reference.

Light adds, so a ninth of the picture gives N + Σ (g − 1)·S, with N all together now, S a light alone in that ninth and
g = 2^EV of its change (superposition of irradiance). Where a light's place can't be told, its power can still be set so
that no ninth is far off: the ninth that is too bright and the one that is too dark lie as far off as each other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
Ninths = tuple[tuple[float, ...], ...]

STEP_EV = 0.01
POWER = 8
"""The mean of the ninths' eighth powers stands for the largest: it has no corners at which a search light by light
stops. Chosen."""

ROUNDS = 20


@dataclass(frozen=True)
class EvenNinths:
    """changes_ev of each light by its name; largest_ev is what the ninth that is off most then is off, EV."""

    changes_ev: Mapping[str, float]
    largest_ev: float


def even_ninths(
    then: Ninths, now: Ninths, alone: Mapping[str, Ninths], bounds_ev: Mapping[str, tuple[float, float]]
) -> EvenNinths:
    """The changes, light by light.

    then, now   (3, 3) luminance of all together, linear; `alone` of each light that may be changed, over ambient
    bounds_ev   the least and the largest change of each of them, EV
    """
    wanted, total = np.array(then), np.array(now)
    light = {name: np.array(one) for name, one in alone.items()}
    changes = dict.fromkeys(light, 0.0)
    for _ in range(ROUNDS):
        before = dict(changes)
        for name, own in light.items():
            others = total + sum((2.0 ** changes[one] - 1) * light[one] for one in light if one != name)
            low, high = bounds_ev[name]
            tried = np.arange(low, high + STEP_EV / 2, STEP_EV)
            changes[name] = float(tried[_misfits(tried, others, own, wanted).argmin()])
        if changes == before:
            break
    return EvenNinths(changes, largest_after(then, now, alone, changes))


def largest_after(then: Ninths, now: Ninths, alone: Mapping[str, Ninths], changes_ev: Mapping[str, float]) -> float:
    """What the ninth that is off most is off once the lights are changed by so much, EV; arguments as above."""
    mixed = np.array(now) + sum((2.0**ev - 1) * np.array(alone[name]) for name, ev in changes_ev.items())
    return float(np.abs(np.log2(np.maximum(mixed, 1e-9) / np.array(then))).max())


def _misfits(tried: Sequence[float] | Values, others: Values, own: Values, wanted: Values) -> Values:
    """(changes,) the mean of the ninths' deviations to the power POWER."""
    gains = 2.0 ** np.asarray(tried) - 1
    mixed = others + gains[:, None, None] * own
    off = np.log2(np.maximum(mixed, 1e-9) / wanted)
    return np.asarray((off**POWER).mean(axis=(1, 2)), np.float64)
