"""How light and its colour changed since the reference, over the picture in a coarse grid of cells.

Each cell gives the median over small blocks of the ratio to the same block of the reference, so that the piece's
own tones and colours drop out, and a highlight that wandered doesn't count.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from session.checks.light.brightness import BLOCK_PX, BRIGHTEST_CODE, DARKEST_CODE, overlap
from session.checks.material.checked_picture import Material, Pair
from session.picture.linear_light import LINEAR, ONE_CODE, block_means
from session.picture.noise import MEDIAN_TO_SD

LONG_SIDE_CELLS = 12
"""Cells along the long side: a cell is a twelfth of it, some 60 px of the overview, 7 blocks. Chosen."""

PLAIN_EV = 0.15
PLAIN_SHARE = 0.9
"""A block is plain when its light scatters by less than this (noise of 3 codes at mid grey is 0.08 EV) and differs by
less from the blocks beside it; a picture, when so many of its blocks are. Worked out; the share is chosen."""

FEWEST_BLOCKS = 6
FEWEST_CELLS = 12
"""A cell counts with so many blocks that can be compared, a picture with so many cells. Chosen."""


@dataclass(frozen=True, eq=False)
class Cells:
    """Change of light over the picture.

    ev    (rows, columns) EV against the reference, NaN where it can't be told
    x, y  (rows, columns) places, −1 left or top … 1 right or bottom
    """

    ev: NDArray[np.float64]
    x: NDArray[np.float64]
    y: NDArray[np.float64]

    @property
    def known(self) -> NDArray[np.bool_]:
        """The cells whose light could be measured, (rows, columns) of bool."""
        return np.isfinite(self.ev)

    @property
    def enough(self) -> bool:
        return int(self.known.sum()) >= FEWEST_CELLS


@dataclass(frozen=True)
class Plane:
    """EV = level + across·x + down·y, by robust least squares.

    across_ev, down_ev  change from the middle to the right and to the lower edge
    scatter_ev          of the cells about it
    """

    level_ev: float
    across_ev: float
    down_ev: float
    scatter_ev: float

    def at(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """EV of the plane at places x and y, arrays of one shape, which the result has too."""
        return self.level_ev + self.across_ev * x + self.down_ev * y


def change_of_light(both: Pair) -> Cells | None:
    """The cells of a frame against its reference; None when the sizes of the two pictures differ."""
    if not both.same_size:
        return None
    frame, reference, _, _ = overlap(both)
    ours, theirs = (block_means(light, BLOCK_PX, BLOCK_PX) for light in (frame, reference))
    dark = np.float32(ONE_CODE / 10)
    compared = (theirs > LINEAR[DARKEST_CODE]) & (theirs < LINEAR[BRIGHTEST_CODE]) & (ours < LINEAR[BRIGHTEST_CODE])
    ev = np.where(compared, np.log2((ours + dark) / (theirs + dark)), np.nan)
    return _cells(ev)


def cells_of_plain(frame: Material) -> Cells | None:
    """The light of a picture that shows nothing but an even surface, EV against its median; None for any other."""
    light = frame.light + np.float32(ONE_CODE / 10)
    means = block_means(light, BLOCK_PX, BLOCK_PX)
    squares = block_means(light * light, BLOCK_PX, BLOCK_PX)
    scatter = np.sqrt(np.maximum(squares - means**2, 0)) / means / np.log(2)
    ev = np.log2(means).astype(np.float64)
    steps = np.zeros_like(ev)
    steps[:, 1:] = np.abs(np.diff(ev, axis=1))
    steps[1:] = np.maximum(steps[1:], np.abs(np.diff(ev, axis=0)))
    usable = (means > LINEAR[DARKEST_CODE]) & (means < LINEAR[BRIGHTEST_CODE])
    plain = usable & (scatter < PLAIN_EV) & (steps < PLAIN_EV)
    if plain.mean() < PLAIN_SHARE:
        return None
    return _cells(np.where(plain, ev - np.median(ev[plain]), np.nan))


def plane_of(cells: Cells) -> Plane:
    """The plane through the cells that are known; at least three must be."""
    x, y, ev = (values[cells.known] for values in (cells.x, cells.y, cells.ev))
    design = np.stack([np.ones_like(x), x, y], axis=1)
    weights: NDArray[np.float64] = np.ones_like(ev)
    found: NDArray[np.floating[Any]] = np.zeros(3)
    scatter = 0.0
    for _ in range(8):
        root = np.sqrt(weights)
        found = np.linalg.lstsq(design * root[:, None], ev * root, rcond=None)[0]
        off = np.abs(ev - design @ found)
        scatter = MEDIAN_TO_SD * float(np.median(off))
        spread = 4 * max(scatter, 0.02)
        weights = np.where(off < spread, (1 - (off / spread) ** 2) ** 2, 0.0)
    level, across, down = (float(value) for value in found)
    return Plane(level, across, down, scatter)


def _cells(blocks: NDArray[np.float64]) -> Cells:
    """Medians of the blocks in each cell."""
    side = max(blocks.shape) / LONG_SIDE_CELLS
    rows, columns = (max(1, round(length / side)) for length in blocks.shape)
    downs = np.linspace(0, blocks.shape[0], rows + 1).astype(int)
    rights = np.linspace(0, blocks.shape[1], columns + 1).astype(int)
    ev = np.full((rows, columns), np.nan)
    for row in range(rows):
        for column in range(columns):
            inside = blocks[downs[row] : downs[row + 1], rights[column] : rights[column + 1]]
            values = inside[np.isfinite(inside)]
            if len(values) >= FEWEST_BLOCKS:
                ev[row, column] = np.median(values)
    middle_x, middle_y = ((np.arange(n) + 0.5) / n * 2 - 1 for n in (columns, rows))
    x, y = np.meshgrid(middle_x, middle_y)
    return Cells(ev, x, y)
