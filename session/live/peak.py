"""Where between the steps of a focus drive the contrast is highest: a parabola through the logarithms near the top.

Near its best focus the contrast of detail falls with the square of the distance from it, on both sides alike (the
series of the transfer of a defocus disc begins 1 − x²/8), so its logarithm is a parabola there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.units.refusals import ImpossibleNumbersError

Floats = NDArray[np.float64]

NEAR_TOP = 0.8
"""Readings above this share of the highest are fitted: that is where the parabola holds. Derived from 2·J1(x)/x,
which its parabola leaves by a hundredth at 0.8."""

FEWEST = 5
"""Three unknowns, and two readings over to take the noise."""

LEAST_SURE = 0.5
"""A peak less sure than half the width that the fitted readings cover, as a standard deviation, is none. Chosen."""


@dataclass(frozen=True)
class Peak:
    """Place of the highest contrast, steps, its standard deviation and the contrast there, percent."""

    at_steps: float
    at_sd_steps: float
    contrast: float


def fit_peak(at_steps: Sequence[float], contrast: Sequence[float]) -> Peak | None:
    """The peak among readings at known places; None when no peak lies inside, or too few readings lie near it.

    at_steps  places of the drive, any order
    contrast  percent, > 0, one for each place
    Raises ValueError when the lengths differ.
    """
    if len(at_steps) != len(contrast):
        raise ImpossibleNumbersError(f"{len(at_steps)} places and {len(contrast)} readings")
    if not contrast:
        return None
    places, logs = np.asarray(at_steps, np.float64), np.log(np.asarray(contrast, np.float64))
    near = _near_top(places, logs)
    if near.sum() < FEWEST:
        return None
    x0, x, y = float(places[near].mean()), places[near] - places[near].mean(), logs[near]
    unit = max(float(np.abs(x).max()), 1e-9)
    columns = np.stack([np.ones_like(x), x / unit, (x / unit) ** 2], axis=1)
    (level, slope, bend), *_ = np.linalg.lstsq(columns, y, rcond=None)
    if bend >= 0:
        return None
    top = -slope / (2 * bend)
    if abs(top) > 1:
        return None
    left = y - columns @ np.array([level, slope, bend])
    variance = float((left**2).sum()) / max(len(y) - 3, 1)
    answer = np.array([0.0, -1 / (2 * bend), slope / (2 * bend**2)])  # of the top to level, slope and bend
    sd = math.sqrt(max(variance * float(answer @ np.linalg.pinv(columns.T @ columns) @ answer), 0.0))
    if sd > LEAST_SURE:
        return None
    return Peak(float(x0 + top * unit), sd * unit, math.exp(level - slope**2 / (4 * bend)))


def _near_top(places: Floats, logs: Floats) -> NDArray[np.bool_]:
    """The readings around the highest one, on both sides until the first that is too low; as they were given."""
    order = np.argsort(places, kind="stable")
    high = logs[order] >= logs.max() + math.log(NEAR_TOP)
    top = int(logs[order].argmax())
    low = np.flatnonzero(~high)
    first = int(low[low < top].max(initial=-1)) + 1
    last = int(low[low > top].min(initial=len(order)))
    near = np.zeros(len(places), bool)
    near[order[first:last]] = True
    return near
