"""The dark band that the shutter's second curtain leaves when the exposure time is shorter than flash sync.

Rows that the curtain had covered when the flash fired hold ambient light only, so the band begins at one side
of the picture, runs right across it, and ends in an edge along the curtain: straight, parallel to the side,
soft where the flash burns long. Which side depends on how the camera was turned, so all four are looked at.

With a reference the light of each row is divided by that of the same row of the reference: stripes, table
edges and gradients of the piece drop out. Without one, the same edge must be found in the picture itself: all
columns fall by the same factor at the same row, the pattern across the columns goes on beyond the edge (a
table's edge ends it), and it stays dark up to the side. What can't be told apart is not flagged.

Towards the edge the curtain cut off ever more of the flash's tail. The share counts the rows that the flash
didn't reach at all: with a tail exp(−t/τ) the light grows from there as 1 − exp(−y/y₀), so from where it reaches
a quarter and a half the beginning follows; at a hard edge all three fall together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.exposure import overlap
from session.checks.light import LINEAR, ONE_CODE
from session.checks.limits import BAND_EV, BAND_SHARE, SLOWEST_SYNC_S
from session.checks.material import Material, Pair
from session.finding import Finding, Level, Remedy, RemedyKind
from session.numbers import percent_text
from session.setup import Region

SIDES = ("bottom", "top", "right", "left")
GROUPS = 24
"""Columns are averaged in so many groups: enough to see that all of them fall, few enough to be free of noise."""

LEAST_LIGHT = LINEAR[12]
"""Rows and columns darker than this in the reference can't show a loss of light: one code is 0.14 EV there."""

EDGE_SHARE = 0.12
EDGE_EV = 0.7
"""Somewhere within an eighth of the frame the light falls by this much: relighting's gradients, some 3 EV over
the whole frame, stay under half of it. Worked out."""

EXTRAPOLATED = math.log(4 / 3) / (math.log(2) - math.log(4 / 3))
"""From the places of a half and a quarter of an exponential rise on to its beginning. Worked out: 0.7095."""

AGREEING = 0.8
"""Share of the column groups that must have lost at least half the band's depth."""


EDGES = ((0.006, 0.004), (0.012, 0.02), (0.025, 0.06), (0.04, 0.12))
"""Without a reference: rows averaged above and below an edge, and the room between them for an edge as soft as
flash durations make it, in shares of the frame."""

SQUARE = 1.1
"""Up to this ratio of the sides a picture may have been cropped square, and curtains may have gone either way."""

ALONE_EV = 1.0
ALONE_SPREAD = 0.25
ALONE_LEVEL = 0.35
ALONE_AGREEING = 0.9
PATTERN_EV = 0.1
PATTERN_KEPT = 0.45
PATTERN_AS_USUAL = 0.75
DEEP_EV, DEEP_EVEN = 3.0, 0.06
"""Least fall, its largest spread between column groups as a share of it, largest fall before and after it as
a share of it, share of the groups that fall at least half as far (a piece that stands before a dark table
doesn't), least contrast of the pattern across the columns, its correlation over the edge, absolute and against
what is usual; depth and evenness of a fall that needs no correlation. Chosen on half of the photographs of
tests/benchmarks/test_band_rates.py, which counts on the other half."""


@dataclass(frozen=True)
class Band:
    """side    where it lies in the upright picture: bottom, top, left, right
    share       0…1 of the picture, from that side, that the flash didn't reach at all
    lost_share  0…1 that lost half of its flash light or more
    ev          light lost at the side, EV > 0
    """

    side: str
    share: float
    lost_share: float
    ev: float


def find(frame: Material, both: Pair | None, exposure_s: float | None) -> Band | None:
    """The dark band of a frame, None when there is none that can be told from the piece."""
    if both and both.same_size:
        return _against_reference(both)
    if exposure_s is not None and exposure_s > SLOWEST_SYNC_S:
        return None
    return _alone(frame.light)


def findings(band: Band | None) -> tuple[Finding, ...]:
    """One finding when there is a band."""
    if band is None:
        return ()
    text = (
        f"A dark band along the {band.side}: {percent_text(band.share)} of the frame without flash, "
        f"{percent_text(band.lost_share)} lost half of it or more."
    )
    remedy = Remedy(RemedyKind.BY_HAND, "set a longer exposure time, within flash sync; release again")
    share = round(band.share, 4)
    return (Finding("band", Level.CAUTION, text, share, float(BAND_SHARE), "share of the frame", remedy),)


def covers(band: Band, region: Region) -> bool:
    """Whether the region reaches into the rows that lost half of their flash light or more."""
    reach = {
        "bottom": region.top + region.height > 1 - band.lost_share,
        "top": region.top < band.lost_share,
        "right": region.left + region.width > 1 - band.lost_share,
        "left": region.left < band.lost_share,
    }
    return reach[band.side]


def _against_reference(both: Pair) -> Band | None:
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
        ours, theirs = _groups(_turned(frame, side)), _groups(_turned(reference, side))
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
    return _measured(profile, lit_ev, depth, side, cut, length)


def _measured(
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


def _alone(light: NDArray[np.float32]) -> Band | None:
    """A band that the picture shows by itself, on a side to which curtains travel: along the shorter way."""
    height, width = light.shape
    bands = []
    for side in SIDES:
        across = width if side in ("bottom", "top") else height
        if across < max(height, width) / SQUARE:
            continue
        groups = np.log2(_groups(_turned(light, side)) + np.float32(ONE_CODE / 2))
        band = _from_pattern(groups, side)
        if band:
            bands.append(band)
    return max(bands, key=lambda band: band.ev, default=None)


def _from_pattern(groups: NDArray[np.float32], side: str) -> Band | None:
    """A band at the end of `groups` (rows, groups), log2 of light."""
    length = len(groups)
    total = np.concatenate([np.zeros((1, groups.shape[1])), np.cumsum(groups, axis=0, dtype=np.float64)])
    best: Band | None = None
    for window_share, gap_share in EDGES:
        window, gap = max(2, round(window_share * length)), round(gap_share * length)
        means = (total[window:] - total[:-window]) / window  # row i: mean of rows i … i + window − 1
        reach = window + gap
        if len(means) <= 3 * reach:
            continue
        step = means[:-reach] - means[reach:]
        fall = np.median(step, axis=1)
        spread = 1.4826 * np.median(np.abs(step - fall[:, None]), axis=1)
        for at in _edges(fall, spread, reach):
            above, below = means[at], means[at + reach]
            usual = [_likeness(means[row], means[row + reach]) for row in range(0, at - reach, reach)]
            if not _pattern_goes_on(above, below, float(np.median(usual or [1.0]))):
                continue
            able = above > np.log2(ONE_CODE) + fall[at]  # bright enough to fall so far
            if not able.any() or (above - below >= fall[at] / 2)[able].mean() < ALONE_AGREEING:
                continue
            profile = np.median(groups - above, axis=1).astype(np.float64)
            profile[: at + window] = 0.0  # what the piece does further in is no matter of the curtain
            profile[at + reach :] = -fall[at]
            band = _measured(profile, 0.0, float(fall[at]), side, 0, length)
            if band and (best is None or band.ev > best.ev):
                best = band
    return best


def _pattern_goes_on(above: NDArray[np.float64], below: NDArray[np.float64], usual: float) -> bool:
    """Whether what lies across the columns is the same piece on both sides of an edge.

    Either the pattern stays about as alike as rows so far apart are elsewhere, or the fall is deep, and far more
    even than the pattern that it goes across.
    """
    if _likeness(above, below) >= max(PATTERN_KEPT, PATTERN_AS_USUAL * usual):
        return True
    step = above - below
    uneven, pattern = _spread(step), _spread(above)
    return bool(np.median(step) >= DEEP_EV and uneven <= DEEP_EVEN * np.median(step) and uneven <= pattern / 2)


def _spread(values: NDArray[np.float64]) -> float:
    """Standard deviation by the median of absolute deviations."""
    return float(1.4826 * np.median(np.abs(values - np.median(values))))


def _likeness(above: NDArray[np.float64], below: NDArray[np.float64]) -> float:
    """Correlation of the pattern across the columns in two places; 0 where there is no pattern to compare."""
    if above.std() < PATTERN_EV or below.std() < PATTERN_EV / 2:
        return 0.0
    return float(np.corrcoef(above, below)[0, 1])


def _edges(fall: NDArray[np.float64], spread: NDArray[np.float64], reach: int) -> list[int]:
    """Rows where all columns fall alike, level before and after, and where they don't rise again beyond."""
    found = []
    for at in np.argsort(-fall / (spread + 0.1))[:24]:
        before, after = fall[max(0, at - reach)], fall[min(len(fall) - 1, at + reach)]
        if fall[at] < ALONE_EV or spread[at] > ALONE_SPREAD * fall[at]:
            continue
        if max(abs(before), abs(after)) > ALONE_LEVEL * fall[at] or -fall[at:].min() > fall[at] / 2:
            continue
        elsewhere = np.abs(fall[: max(0, at - 2 * reach)])
        alike = spread[: len(elsewhere)] <= ALONE_SPREAD * elsewhere
        if (alike & (elsewhere > fall[at] / 2)).any():  # stripes
            continue
        found.append(int(at))
    return found


def _turned(light: NDArray[np.float32], side: str) -> NDArray[np.float32]:
    """The picture turned so that the side lies at the end of the rows."""
    if side in ("right", "left"):
        light = light.T
    return light[::-1] if side in ("top", "left") else light


def _groups(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Means of the rows in groups of columns, (rows, groups)."""
    edges = np.linspace(0, light.shape[1], GROUPS + 1).astype(int)
    sums = np.add.reduceat(light, edges[:-1], axis=1)
    return (sums / np.diff(edges)).astype(np.float32)
