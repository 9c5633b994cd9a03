"""A dark band found by dividing the light of each row by that of the same row of the reference.

Stripes, table edges and gradients of the piece drop out; what stays is how the light changed. Relighting changes it
along a line or a parabola; a band is a fall within a few rows, which nearly all columns share, and after which the
light doesn't come back up to the side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from session.checks.band.fit import ALIKE_ROWS, ROW_EV, WINDOW_SHARE, Edge, fit_edge
from session.checks.band.shadow import GROUPS, Band, groups_of, side_last
from session.checks.light.brightness import BLOCK_PX, overlap
from session.checks.light.cells import PLAIN_EV, cells_of_plain
from session.checks.material.check_limits import BAND_EV, BAND_LOG_ODDS, BAND_SHARE, NO_FLASH_EV
from session.checks.material.checked_picture import Pair
from session.checks.material.settings import flash_light_ev
from session.picture.linear_light import LINEAR, ONE_CODE, block_means
from session.picture.noise import MEDIAN_TO_SD
from session.picture.registration import Shift, shift_between

LEAST_LIGHT, MOST_LIGHT = LINEAR[6], LINEAR[250]
"""Groups of columns darker than this in the reference can't show a loss of light (half a code is 0.12 EV there, and
noise is averaged over some thirty pixels); how bright the white ones really were isn't known, so they are compared with
each other only, and with no grey: a frame that is darker all over leaves white white."""

ROOMS = (0.0, 0.01, 0.03, 0.08, 0.15)
"""Room between the lit rows and the dark ones for edges of any softness, in shares of the frame."""

NEAR_SHARE = 0.025
"""The last lit rows, whose plain mean lies above the dark ones, whatever the trend of the rows before: a line that is
laid through the soft end of a band on the other side would rise too steeply. Chosen."""

DARK_SHARE = 0.05
"""Rows of the dark part that its level is taken from. Chosen."""

FEWEST_ROWS = 12
"""A line is laid through no fewer lit rows. Chosen."""

SURE = 4.0
"""Standard deviations of a fall that is looked at closer, which spares time; BAND_LOG_ODDS decides. From 2 to 6 nothing
changed on the half of the photographs of tests/benchmarks/test_band_rates.py that it doesn't count on."""

LEAST_LIT_PX = 24
"""Fewest lit rows of the picture for registration: smaller parts look alike. Chosen."""

AGREEING = 0.8
"""Share of the column groups that must have lost half the band's depth, or as much as can be seen of it: five of 24 may
be blind, by a glint or what moved. On the same half 0.7 changed nothing and 0.9 lost 4 % of the shadows of 3 %."""

LEAST_ROOM_EV = BAND_EV / 2
"""Loss that a group must be able to show before it is too dark; others aren't asked, unless too few are left: it is the
loss that the shallowest band asks of a group. From 0.2 to 0.7 EV nothing changed on the same half."""


@dataclass(frozen=True, eq=False)
class _ReferenceRows:
    """The rows of a picture against its reference, those of the side last.

    light    (rows, groups) of the reference, log2
    ratio    (rows, groups) EV, NaN where nothing can be said; `profile` (rows,) its median where `seen`
    unsure   (rows,) EV by which a row may look darker for lying off by one
    cut      rows of the picture beyond the last, not seen in the reference
    length   rows of the whole picture
    """

    light: NDArray[np.float32]
    ratio: NDArray[np.float32]
    profile: NDArray[np.float64]
    seen: NDArray[np.bool_]
    unsure: NDArray[np.float64]
    cut: int
    length: int

    def from_other_side(self, cut: int) -> _ReferenceRows:
        """The rows in reverse, as seen from the other side."""
        return _ReferenceRows(
            self.light[::-1], self.ratio[::-1], self.profile[::-1], self.seen[::-1], self.unsure[::-1], cut, self.length
        )


@dataclass(frozen=True, eq=False)
class _Falls:
    """The fall at each row from `begin` on, for one room before it.

    plain  EV from the mean of the last lit rows; `fall` the same, or from the line through them if that is less
    sure   `fall` in its own standard deviations, 0 where nothing can be said
    """

    begin: NDArray[np.int_]
    room: int
    plain: NDArray[np.float64]
    fall: NDArray[np.float64]
    sure: NDArray[np.float64]


def shows_the_same(both: Pair) -> bool:
    """Whether the reference's rows are those of the frame: registered, or of a plain surface both."""
    if both.shift.found:
        return True
    if cells_of_plain(both.reference) is None:
        return False
    blocks = np.log2(block_means(both.frame.light, BLOCK_PX, BLOCK_PX) + np.float32(ONE_CODE / 2))
    off = blocks - np.median(blocks, axis=1, keepdims=True)
    off -= np.median(off, axis=0)
    return float(MEDIAN_TO_SD * np.median(np.abs(off))) < PLAIN_EV


def registered_by_lit_part(both: Pair) -> Pair | None:
    """Both, where the frame registers by its lit part: a deep band over half of a soft picture leaves little else."""
    band = against_reference(both)
    if band is None:
        return None
    reference, frame = (side_last(one.small, band.side) for one in (both.reference, both.frame))
    lit = math.floor((1 - band.lost_share) * len(frame))
    if lit < LEAST_LIT_PX:
        return None
    shift = shift_between(reference[:lit], frame[:lit], most_px=lit / 4)
    right, down = (shift.down_px, shift.right_px) if band.side in ("right", "left") else (shift.right_px, shift.down_px)
    right, down = (-right if band.side == "left" else right), (-down if band.side == "top" else down)
    return Pair(both.frame, both.reference, Shift(right, down, shift.likeness)) if shift.found else None


def against_reference(both: Pair) -> Band | None:
    """The dark band in the frame and not in the reference, None without a band.

    Beside a band the flash has lit the picture: where all of it lost the flash, its darkest side is no band.
    """
    excused_ev = min(0.0, flash_light_ev(both.frame.exif, both.reference.exif))
    least_lit_ev = excused_ev - NO_FLASH_EV
    frame, reference, top, left = overlap(both)
    height, width = both.frame.light.shape
    down = _rows_of(frame, reference, height - top - frame.shape[0], height)
    right = _rows_of(frame.T, reference.T, width - left - frame.shape[1], width)
    sides = [("bottom", rows) for rows in down] + [("top", rows.from_other_side(top)) for rows in down]
    sides += [("right", rows) for rows in right] + [("left", rows.from_other_side(left)) for rows in right]
    bands = [_band(rows, side, least_lit_ev) for side, rows in sides]
    return max((band for band in bands if band), key=lambda band: band.ev, default=None)


def _rows_of(frame: NDArray[np.float32], reference: NDArray[np.float32], cut: int, length: int) -> list[_ReferenceRows]:
    """Rows of frame and reference, once by the parts not white in the reference and once by the white parts.

    Parts that too few rows have are left out.
    """
    dark = np.float32(ONE_CODE / 2)
    ours, theirs = groups_of(frame) + dark, groups_of(reference) + dark
    darkest = theirs.copy()
    darkest[1:] = np.minimum(darkest[1:], theirs[:-1])
    darkest[:-1] = np.minimum(darkest[:-1], theirs[1:])
    unsure, light, change = np.log2(theirs / darkest), np.log2(theirs), np.log2(ours / theirs)
    white = theirs >= MOST_LIGHT
    found = []
    for known in ((theirs > LEAST_LIGHT) & ~white, white):
        seen = known.sum(axis=1) >= GROUPS // 3
        if seen.sum() >= ALIKE_ROWS + FEWEST_ROWS:
            ratio = np.where(known, change, np.float32(np.nan))
            over = _over_columns(ratio, seen), seen, _over_columns(unsure, seen)
            found.append(_ReferenceRows(light, ratio, *over, cut, length))
    return found


def _over_columns(values: NDArray[np.float32], seen: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Median of the groups in each row, from row to row where there is none."""
    rows = np.arange(len(values))
    over: NDArray[np.float64] = np.interp(rows, rows[seen], _medians(values[seen]))
    return over


def _medians(values: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
    """Median of what is known in each row, NaN where nothing is; numpy's own is slow for short rows."""
    ordered, known = np.sort(values, axis=1), np.isfinite(values).sum(axis=1)
    middle = np.stack([(known - 1) // 2, known // 2], axis=1)
    medians: NDArray[np.float64] = np.take_along_axis(ordered, middle, axis=1).mean(axis=1, dtype=np.float64)
    return medians


def _band(rows: _ReferenceRows, side: str, least_lit_ev: float) -> Band | None:
    """The band at the end of the rows that is told most surely from relighting.

    least_lit_ev  EV that the rows before a band may be darker than the reference's, < 0
    """
    edges = [edge for room in ROOMS if (edge := _edge(rows, _falls(rows, round(room * rows.length))))]
    edges = [edge for edge in edges if edge.lit_ev >= least_lit_ev]
    if not edges:
        return None
    edge = max(edges, key=lambda one: one.log_odds)
    band = edge.band(side, len(rows.profile), rows.cut, rows.length)
    return band if band.lost_share >= BAND_SHARE else None


def _edge(rows: _ReferenceRows, falls: _Falls) -> Edge | None:
    """The edge at the surest fall, None when the fall isn't a band's edge."""
    if falls.sure.max(initial=0.0) < SURE:
        return None
    at = int(falls.sure.argmax())
    if (falls.plain[at:] < -falls.fall[at] / 2).any():  # it comes back: a stripe
        return None
    edge = fit_edge(rows.profile, rows.seen, int(falls.begin[at]), falls.room, rows.length)
    if edge is None or edge.ev < BAND_EV or edge.log_odds < BAND_LOG_ODDS:
        return None
    return edge if _lasts_everywhere(rows, edge) else None


def _falls(rows: _ReferenceRows, room: int) -> _Falls:
    """The fall at each row: lines through the lit rows before, by running sums."""
    total = len(rows.profile)
    place = np.arange(total) - total / 2
    counted = rows.seen.astype(np.float64)
    columns = (counted, place, place**2, rows.profile, place * rows.profile, rows.profile**2)
    sums = [np.concatenate([[0.0], np.cumsum(counted * column)]) for column in columns]
    begin = np.arange(min(total, FEWEST_ROWS + room), total)
    end = begin - room
    first = np.maximum(0, end - round(WINDOW_SHARE * rows.length))
    near = np.maximum(first, end - max(6, round(NEAR_SHARE * rows.length)))
    last = np.minimum(total, begin + max(2, round(DARK_SHARE * rows.length)))
    lit, at, squares, level, products, powers = (one[end] - one[first] for one in sums)
    dark, dark_at, _, dark_level, _, _ = (one[last] - one[begin] for one in sums)
    close, _, _, close_level, _, _ = (one[end] - one[near] for one in sums)
    known = (lit >= FEWEST_ROWS) & (dark > 0) & (close > 0)
    lit, dark, close = (np.maximum(one, 1.0) for one in (lit, dark, close))
    at, level = at / lit, level / lit
    spread = np.maximum(squares / lit - at**2, 1e-9)
    together = products / lit - at * level
    slope = together / spread
    scatter = np.sqrt(np.maximum(powers / lit - level**2 - slope * together, 0.0))
    far = dark_at / dark - at
    plain = close_level / close - dark_level / dark
    fall = np.minimum(level + slope * far - dark_level / dark, plain)
    error = scatter * np.sqrt(ALIKE_ROWS / lit * (1 + far**2 / spread) + 1 / np.ceil(dark / ALIKE_ROWS))
    sure = np.where(known & (fall >= BAND_EV / 2), fall / np.hypot(error, ROW_EV), 0.0)
    return _Falls(begin, room, np.where(known, plain, 0.0), fall, sure)


def _lasts_everywhere(rows: _ReferenceRows, edge: Edge) -> bool:
    """Whether the rows after the edge stay dark, in nearly all columns, by more than lying off by a row explains."""
    window = round(WINDOW_SHARE * rows.length)
    first = min(int(np.ceil(edge.begin + 0.5)), len(rows.profile) - 1)
    dark = np.arange(first, min(len(rows.profile), first + window))
    dark = dark[rows.seen[dark]]
    lost = edge.lit_at(dark.astype(np.float64)) - rows.profile[dark]
    if not len(dark) or np.quantile(lost, 0.05) < edge.ev / 2 or np.median(lost - rows.unsure[dark]) < edge.ev / 2:
        return False
    end = max(1, int(edge.begin - 3 * edge.soft_rows))  # 95 % of the tail
    lit = np.arange(max(0, end - round(DARK_SHARE * rows.length)), end)
    would_be = edge.lit_at(dark.astype(np.float64))[:, None]
    before = np.nan_to_num(_medians((edge.lit_at(lit.astype(np.float64))[:, None] - rows.ratio[lit]).T))
    after = _medians((would_be - rows.ratio[dark]).T) - before
    visible = np.median(rows.light[dark] + would_be, axis=0) - before - np.log2(LEAST_LIGHT)
    needed = np.minimum(edge.ev / 2, visible)
    asked = np.isfinite(after) & (visible > LEAST_ROOM_EV)
    if asked.sum() < GROUPS // 3:  # before a black ground: all are asked, and none is let off for being dark
        needed, asked = np.full(GROUPS, edge.ev / 2), np.isfinite(after)
    if asked.sum() < GROUPS // 3:
        return False
    return bool((after[asked] >= needed[asked]).mean() >= AGREEING)
