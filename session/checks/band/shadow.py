"""A dark band along one side of a picture as a value, and the picture's rows as they are looked at for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SIDES = ("bottom", "top", "right", "left")
GROUPS = 24
"""Columns are averaged in so many groups: enough to see that all of them fall, few enough to be free of noise."""


@dataclass(frozen=True)
class Band:
    """Where the flash is missing.

    side        in the upright picture: bottom, top, left, right
    share       0…1 of the picture, from that side, that the flash didn't reach at all
    lost_share  0…1 that lost half of its flash light or more
    ev          light lost at the side, EV > 0
    by_itself   told without a reference, from which a dark part of the set may not always be told
    """

    side: str
    share: float
    lost_share: float
    ev: float
    by_itself: bool = False


def side_last(light: NDArray[np.float32], side: str) -> NDArray[np.float32]:
    """The picture, (height, width), turned so that the named side lies at the end of the rows."""
    if side in ("right", "left"):
        light = light.T
    return light[::-1] if side in ("top", "left") else light


def groups_of(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Means of the rows in groups of columns, (rows, groups)."""
    edges = np.linspace(0, light.shape[1], GROUPS + 1).astype(int)
    sums = np.add.reduceat(light, edges[:-1], axis=1)
    return (sums / np.diff(edges)).astype(np.float32)
