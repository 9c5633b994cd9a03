"""The powers at which the lights together give the light of the reference, worked out from the solos before any frame.

Light adds, so the picture of all lights is A + Σ g·(S − A), with S a light alone with the ambient light, A the ambient
light alone and g = 2^EV of each change (superposition of irradiance). The g that come nearest the reference are found
by least squares over cells of the picture in red, green and blue, each cell counted by its own light, so that a dark
part counts as much as a bright one. Cells are large, so that another piece in the old one's place will do.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.match.camera_framing import alike_in_shape, at_size_of
from session.match.laid_picture import LEAST_LIGHT
from session.match.solo_picture import SoloPicture
from session.picture.linear_light import LUMINANCE, block_means

Values = NDArray[np.float64]

CELLS = 6
"""Cells along each side: four in each ninth, which tell the shading of a light; a misplaced piece stays in its cell.
Chosen."""

MOST_BURNT = 0.02
"""Of a cell so much may be burnt for the cell to be counted. Chosen: less than a tenth of a stop of its light."""

MOST_LESS_EV = -6.0
"""A light that should give less than this is told as so much less: it may as well be off. Chosen."""


@dataclass(frozen=True)
class MatchedMix:
    """Changes of the lights' powers, EV, and what is left.

    ninths_ev  (3, 3) how much brighter the mix is than the reference then, EV; NaN where nothing can be compared
    """

    changes_ev: Mapping[str, float]
    ninths_ev: tuple[tuple[float, ...], ...]

    @property
    def largest_ev(self) -> float:
        """The largest of what is left, EV, without its sign."""
        return max((abs(ev) for row in self.ninths_ev for ev in row if not math.isnan(ev)), default=math.nan)


def mix_to_match(reference: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture) -> MatchedMix | None:
    """The changes that bring the solos' mix nearest the reference; None where too little of it can be compared.

    solos, ambient  of one shape, as the lights stand now; the reference may be of another size
    """
    shape = ambient.light.shape
    if not alike_in_shape(shape, reference.light.shape):
        return None
    names = list(solos)
    wanted, counted = _cells(reference, shape)
    dark, dark_counted = _cells(ambient, shape)
    found = [_cells(solos[name], shape) for name in names]
    usable = counted & dark_counted & np.all([one for _, one in found], axis=0)
    usable &= wanted.min(axis=0) > LEAST_LIGHT
    if 3 * usable.sum() < 2 * len(names) + 3:
        return None
    design = np.stack([(light - dark)[:, usable].ravel() for light, _ in found], axis=1)
    weights = 1 / wanted[:, usable].ravel()
    gains = _least_squares(design * weights[:, None], (wanted - dark)[:, usable].ravel() * weights)
    mixed = dark + np.tensordot(gains, np.stack([light - dark for light, _ in found]), axes=1)
    changes = {
        name: max(MOST_LESS_EV, math.log2(gain)) if gain > 0 else MOST_LESS_EV
        for name, gain in zip(names, gains, strict=True)
    }
    return MatchedMix(changes, _ninths(mixed, wanted, usable))


def _cells(picture: SoloPicture, shape: tuple[int, ...]) -> tuple[Values, NDArray[np.bool_]]:
    """(3, CELLS, CELLS) mean light of each cell, and the cells that count, at the size of a picture (height, width)."""
    height, width = shape[0] // CELLS, shape[1] // CELLS
    channels = [block_means(at_size_of(channel, shape), height, width) for channel in picture.channels]
    burnt = block_means(at_size_of(picture.burnt.astype(np.float32), shape), height, width)
    cut = (slice(CELLS), slice(CELLS))
    return np.stack([one[cut] for one in channels]).astype(np.float64), burnt[cut] <= MOST_BURNT


def _least_squares(design: Values, wanted: Values) -> Values:
    """The gains, none negative: a light that would have to take light away is left out, one after the other."""
    left = list(range(design.shape[1]))
    gains: Values = np.zeros(design.shape[1])
    while left:
        found = np.linalg.lstsq(design[:, left], wanted, rcond=None)[0]
        if found.min() >= 0:
            gains[left] = found
            break
        left.pop(int(found.argmin()))
    return gains


def _ninths(mixed: Values, wanted: Values, usable: NDArray[np.bool_]) -> tuple[tuple[float, ...], ...]:
    by_ninth = []
    side = CELLS // 3
    for top in range(0, CELLS, side):
        row = []
        for left in range(0, CELLS, side):
            here = (slice(top, top + side), slice(left, left + side))
            told = usable[here]
            light, before = (float(np.dot(LUMINANCE, one[:, *here][:, told].sum(axis=1))) for one in (mixed, wanted))
            row.append(math.log2(light / before) if told.any() and light > 0 else math.nan)
        by_ninth.append(tuple(row))
    return tuple(by_ninth)
