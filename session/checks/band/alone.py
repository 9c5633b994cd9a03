"""A dark band that a picture shows by itself, for the first frame of a set-up.

All columns fall by the same factor at the same row, level before and after; the pattern across the columns goes
on beyond the edge (at a table's edge it ends); and it stays dark up to the side. Curtains travel along the
shorter way of the picture. What can't be told from the piece is not flagged.

The limits were chosen on half of the photographs of tests/benchmarks/test_band_rates.py, which counts on the
other half.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from session.checks.band.fit import fit_edge
from session.checks.band.shadow import GROUPS, SIDES, Band, groups_of, side_last
from session.checks.material.check_limits import BAND_EV, BAND_SHARE
from session.picture.linear_light import ONE_CODE
from session.picture.noise import MEDIAN_TO_SD

EDGES = ((0.006, 0.004), (0.012, 0.02), (0.025, 0.06), (0.04, 0.12))
"""Rows averaged above and below an edge, and the room between them for an edge as soft as flash durations make
it, in shares of the frame."""

SQUARE = 1.1
"""Up to this ratio of the sides a picture may have been cropped square, and curtains may have gone either way."""

LARGEST_SPREAD = 0.25
"""Largest spread of the fall between columns, as a share of it."""

LEVEL = 0.35
"""Largest fall or rise just before and just after the edge, as a share of it: a gradient goes on."""

AGREEING = 0.9
"""Share of the columns that fall at least half as far; a piece that stands before a dark table doesn't."""

STRIPES = 0.75
"""Another edge of this share of the fall makes it one stripe of many."""

PATTERN_EV = 0.1
"""Least contrast of the pattern across the columns."""

KEPT, AS_USUAL = 0.45, 0.75
"""Least correlation of the pattern over the edge, and as a share of what rows so far apart have elsewhere."""

DEEP_EV, DEEP_EVEN = 3.0, 0.06
"""A fall as deep as this, and as even as this share of it, needs no correlation: the pattern in the dark part
may be too weak for one."""

CANDIDATES = 24
"""Edges looked at for each size, the most even ones first."""


@dataclass(frozen=True, eq=False)
class _LoneRows:
    """Light of the columns, log2, averaged above and below each possible edge.

    means   (rows, groups) mean over `window` rows from each row on
    reach   rows from the beginning of the upper average to that of the lower one
    fall    (edges,) median over the groups; `spread` its spread between them
    """

    means: NDArray[np.float64]
    window: int
    reach: int
    fall: NDArray[np.float64]
    spread: NDArray[np.float64]


def alone(light: NDArray[np.float32]) -> Band | None:
    """The deepest band that (height, width) linear light shows, None when none can be told from the piece."""
    height, width = light.shape
    bands = []
    for side in SIDES:
        across = width if side in ("bottom", "top") else height
        if across >= max(height, width) / SQUARE:
            groups = np.log2(groups_of(side_last(light, side)) + np.float32(ONE_CODE / 2))
            bands += [replace(band, by_itself=True) for sizes in EDGES if (band := _band(groups, side, *sizes))]
    return max(bands, key=lambda band: band.ev, default=None)


def _band(groups: NDArray[np.float32], side: str, window_share: float, gap_share: float) -> Band | None:
    """The deepest band at the end of `groups` (rows, groups) whose edge is of this size."""
    length = len(groups)
    window, gap = max(2, round(window_share * length)), round(gap_share * length)
    if length < 4 * (window + gap):
        return None
    rows = _window_means(groups, window, gap)
    bands = []
    for at in np.argsort(-rows.fall / (rows.spread + 0.1))[:CANDIDATES]:
        if _is_edge(rows, int(at)) and _columns_agree(rows, int(at)):
            fall = float(rows.fall[at])
            profile = np.median(groups - rows.means[at], axis=1).astype(np.float64)
            profile[: at + window] = 0.0  # what the piece does further in is no matter of the curtain
            profile[at + rows.reach :] = -fall
            edge = fit_edge(profile, np.ones(length, bool), int(at) + rows.reach, gap, length)
            if edge and (band := edge.band(side, length, 0, length)).lost_share >= BAND_SHARE:
                bands.append(band)
    return max(bands, key=lambda band: band.ev, default=None)


def _window_means(groups: NDArray[np.float32], window: int, gap: int) -> _LoneRows:
    total = np.concatenate([np.zeros((1, GROUPS)), np.cumsum(groups, axis=0, dtype=np.float64)])
    means = (total[window:] - total[:-window]) / window
    reach = window + gap
    step = means[:-reach] - means[reach:]
    fall = np.median(step, axis=1)
    spread = MEDIAN_TO_SD * np.median(np.abs(step - fall[:, None]), axis=1)
    return _LoneRows(means, window, reach, fall, spread)


def _is_edge(rows: _LoneRows, at: int) -> bool:
    """One even fall, level before and after, that no rise beyond makes up for and no other edge repeats."""
    fall, spread, reach = rows.fall, rows.spread, rows.reach
    if fall[at] < BAND_EV or spread[at] > LARGEST_SPREAD * fall[at]:
        return False
    around = fall[max(0, at - reach)], fall[min(len(fall) - 1, at + reach)]
    if max(np.abs(around)) > LEVEL * fall[at] or -fall[at:].min() > fall[at] / 2:
        return False
    elsewhere = np.abs(fall[: max(0, at - 2 * reach)])
    even = spread[: len(elsewhere)] <= LARGEST_SPREAD * elsewhere
    return not (even & (elsewhere > STRIPES * fall[at])).any()


def _columns_agree(rows: _LoneRows, at: int) -> bool:
    """Whether nearly all columns fall, and what lies across them is the same piece on both sides of the edge.

    Either the pattern stays about as alike as rows so far apart are elsewhere, or the fall is deep, and far more
    even than the pattern that it goes across.
    """
    above, below, fall = rows.means[at], rows.means[at + rows.reach], float(rows.fall[at])
    able = above > np.log2(ONE_CODE) + fall  # bright enough to fall so far
    if not able.any() or (above - below >= fall / 2)[able].mean() < AGREEING:
        return False
    places = range(0, at - rows.reach, rows.reach)
    usual = [_likeness(rows.means[row], rows.means[row + rows.reach]) for row in places]
    as_usual = float(np.median(usual or [1.0]))
    if as_usual >= KEPT and _likeness(above, below) >= max(KEPT, AS_USUAL * as_usual):
        return True
    uneven = float(rows.spread[at])
    return fall >= DEEP_EV and uneven <= DEEP_EVEN * fall and uneven <= _spread(above) / 2


def _spread(values: NDArray[np.float64]) -> float:
    """Standard deviation by the median of absolute deviations."""
    return float(MEDIAN_TO_SD * np.median(np.abs(values - np.median(values))))


def _likeness(above: NDArray[np.float64], below: NDArray[np.float64]) -> float:
    """Correlation of the pattern across the columns in two places; 0 where there is no pattern to compare."""
    if _spread(above) < PATTERN_EV or _spread(below) < PATTERN_EV / 2:
        return 0.0
    return float(np.corrcoef(above, below)[0, 1])
