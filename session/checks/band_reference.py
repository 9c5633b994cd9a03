"""A dark band found by dividing the light of each row by that of the same row of the reference.

Stripes, table edges and gradients of the piece drop out; what stays is how the light changed. A band is a fall
that nearly all columns share, within an eighth of the frame, and that lasts up to the side.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from session.checks.exposure import overlap
from session.checks.light import LINEAR, ONE_CODE
from session.checks.limits import BAND_EV
from session.checks.material import Pair
from session.checks.shadow import GROUPS, SIDES, Band, groups_of, measured, turned

LEAST_LIGHT = LINEAR[12]
"""Rows and columns darker than this in the reference can't show a loss of light: one code is 0.14 EV there."""

EDGE_SHARE = 0.12
EDGE_EV = 0.7
"""Somewhere within an eighth of the frame the light falls by this much: relighting's gradients, some 3 EV over
the whole frame, stay under half of it. Worked out."""

AGREEING = 0.8
"""Share of the column groups that must have lost at least half the band's depth."""


def against_reference(both: Pair) -> Band | None:
    """The band by which the frame differs from its reference, None when there is none."""
    frame, reference, top, left = overlap(both)
    height, width = both.frame.light.shape
    cut = {
        "top": top,
        "left": left,
        "bottom": height - top - frame.shape[0],
        "right": width - left - frame.shape[1],
    }
    bands = []
    for side in SIDES:
        ours, theirs = groups_of(turned(frame, side)), groups_of(turned(reference, side))
        dark = np.float32(ONE_CODE / 2)
        ratio = np.where(theirs > LEAST_LIGHT, np.log2((ours + dark) / (theirs + dark)), np.nan)
        length = height if side in ("bottom", "top") else width
        band = _from_profile(ratio, side, cut[side], length)
        if band:
            bands.append(band)
    return max(bands, key=lambda band: band.ev, default=None)


def _from_profile(ratio: NDArray[np.float32], side: str, cut: int, length: int) -> Band | None:
    """A band at the end of the rows of `ratio` (rows, groups) in EV, NaN where nothing can be said.

    cut     rows of the picture beyond the last row of `ratio`, not seen in the reference
    length  rows of the whole picture
    """
    seen = np.isfinite(ratio).sum(axis=1) >= GROUPS // 3
    if seen.sum() < 16:
        return None
    profile = np.full(len(ratio), np.nan)
    profile[seen] = np.nanmedian(ratio[seen], axis=1)
    rows = np.arange(len(ratio))
    profile = np.interp(rows, rows[seen], profile[seen])
    lit_ev = float(np.quantile(profile, 0.9))
    depth = lit_ev - float(np.median(profile[-max(2, length // 100) :]))
    if depth < BAND_EV:
        return None
    dark = profile < lit_ev - min(1.0, depth / 2)
    first = len(dark) - int(np.argmin(dark[::-1])) if not dark.all() else 0
    reach = max(2, round(EDGE_SHARE * length))
    falls = profile[:-reach] - profile[reach:] if reach < len(profile) else profile[:1] - profile[-1:]
    near = falls[max(0, first - reach) : first + 1]
    if not len(near) or near.max() < EDGE_EV or first == 0:
        return None
    lost = lit_ev - ratio[first:][seen[first:]]
    known = np.isfinite(lost).sum(axis=0) > 0
    typical = np.array([np.nanmedian(column) for column in lost.T[known]])
    if known.sum() < GROUPS // 3 or (typical >= depth / 2).mean() < AGREEING:
        return None
    return measured(profile, lit_ev, depth, side, cut, length)
