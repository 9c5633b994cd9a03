"""A dark band along one side of a picture as a value, and how far it reaches by the light of the rows.

Rows that the shutter's second curtain had covered when the flash fired hold ambient light only; towards the
edge it cut off ever more of the flash's tail. With a tail exp(−t/τ) the light grows from the first row that the
flash reached as 1 − exp(−y/y₀), so from where it comes to a quarter and to a half the beginning follows; at a
hard edge all three fall together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.limits import BAND_SHARE

SIDES = ("bottom", "top", "right", "left")
GROUPS = 24
"""Columns are averaged in so many groups: enough to see that all of them fall, few enough to be free of noise."""

EXTRAPOLATED = math.log(4 / 3) / (math.log(2) - math.log(4 / 3))
"""From the places of a half and a quarter of an exponential rise on to its beginning. Worked out: 0.7095."""


@dataclass(frozen=True)
class Band:
    """Where the flash is missing.

    side        in the upright picture: bottom, top, left, right
    share       0…1 of the picture, from that side, that the flash didn't reach at all
    lost_share  0…1 that lost half of its flash light or more
    ev          light lost at the side, EV > 0
    """

    side: str
    share: float
    lost_share: float
    ev: float


def measured(
    profile: NDArray[np.float64], lit_ev: float, depth: float, side: str, cut: int, length: int
) -> Band | None:
    """Side, share and depth of a band whose rows have these EV, the side's rows last."""
    dark = 2.0 ** (lit_ev - depth)
    flash = (2.0**profile - dark) / (2.0**lit_ev - dark)
    half, quarter = (_last_above(flash, level) for level in (0.5, 0.25))
    begin = quarter + EXTRAPOLATED * (quarter - half)
    share = (len(profile) - 0.5 - begin + cut) / length
    lost_share = (len(profile) - 0.5 - half + cut) / length
    if lost_share < BAND_SHARE:
        return None
    return Band(side, float(np.clip(share, 0, 1)), float(min(1.0, lost_share)), float(depth))


def _last_above(flash: NDArray[np.float64], level: float) -> float:
    """Row, with a fraction, at which the light falls below the level for good; -0.5 when it is below all along."""
    above = np.flatnonzero(flash >= level)
    if not len(above):
        return -0.5
    last = int(above[-1])
    if last == len(flash) - 1:
        return last + 0.5
    return last + float((flash[last] - level) / max(flash[last] - flash[last + 1], 1e-9))


def turned(light: NDArray[np.float32], side: str) -> NDArray[np.float32]:
    """The picture turned so that the side lies at the end of the rows."""
    if side in ("right", "left"):
        light = light.T
    return light[::-1] if side in ("top", "left") else light


def groups_of(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Means of the rows in groups of columns, (rows, groups)."""
    edges = np.linspace(0, light.shape[1], GROUPS + 1).astype(int)
    sums = np.add.reduceat(light, edges[:-1], axis=1)
    return (sums / np.diff(edges)).astype(np.float32)
