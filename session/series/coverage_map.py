"""Which frame of a series is sharpest at each place, how sharp it is there, and the places that never were sharp.

The picture is cut into cells, and `depth_fit` tells how likely each depth is for each of them. How much of the piece
lies at which depth follows from all cells together: the shares of depths under which what the cells show is likeliest
(maximum likelihood by expectation and maximisation: Dempster, Laird and Rubin 1977, value from memory). A cell that
several depths explain then counts where others surely lie.

What is covered is told by depths, not by cells: from the planes' places, how sure these are, and the lens's depth of
field follows where between two planes nothing was sharp, however narrow that is, and from the shares how much of the
piece lies there. A cell without detail, or one that several depths explain, is told as "can't tell", never as covered.

Frames differ in size by the breathing of focusing or by the move on the rail; the registered scale takes this out, and
as the lens tells how large it must be, it also measures where the planes truly were.

Places along the axis are those of the plan, mm, + = away from the camera.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from session.series.breathing import Planes
from session.series.depth_fit import (
    CellDetail,
    Floats,
    detail_by_cell,
    energies_left,
    likely_depths,
    weights_of,
)
from session.series.plane_frame import BLOCK_PX, SCALES, PlaneFrame
from session.series.series_plan import ONE_FRAME_MM, SeriesLens
from session.units.refusals import ImpossibleNumbersError

ROUNDS = 10
"""Of the search for the shares of depths, by which gaps between planes are told. Chosen."""

SURELY = 0.9
"""Probability from which on a cell is told to be covered, or never to have been sharp; between is "can't tell"."""

GRID_PER_DEPTH, BEYOND_DEPTHS = 8, 2.0
"""Depths tried in each depth of field, and how far beyond both ends, in depths of field."""

UNSURE_SDS = 1.0
"""Two planes may be so many standard deviations farther apart than they seem; a gap is told when they then leave one.
Chosen."""

LEAST_BETWEEN, LEAST_BEYOND = 0.005, 0.01
"""Gaps between planes are told, the largest first, until no more than the first share of the piece is left in others:
half of the 1 % that nobody looks for less than, since what is measured may be half of what is there. Beyond an end one
is told from the second share of the cells on."""

ENDS_DOUBT_DEPTHS = 0.12
"""A cell beyond an end counts as blurred from so many depths of field within the sharp depth on: so surely is its depth
known. On the simulated camera (seeds 5001 to 5026, with and without their last frames) of 147 open ends 4 were missed,
of two pieces, and of 104 that weren't open 19 were told; with 0.15 it was 3 and 22, with 0.1 it was 5 and 18."""

BESIDE = 1
"""The depth of a cell beyond an end is the median of the cells as far around it, the surer the more of it: a single
cell that seems to lie elsewhere than those beside it holds two depths, or too little detail. Without it 55 of those 104
were told."""

SUREST_DEPTHS = 0.1
"""No cell's depth counts as surer than this, in depths of field, standard deviation. Chosen."""

CELLS_AT_ONCE = 2000
"""All depths are tried for so many cells at once: with a hundred frames their costs take 20 MB. Chosen."""

STEP_SLACK = 0.1
"""Share of a step by which measured planes may lie farther apart before another frame is asked for: the depths of
neighbours overlap by a third of a step."""

FEWEST_FRAMES = 2

COVERED, GAP, UNKNOWN = 1, 2, 0


@dataclass(frozen=True)
class Stretch:
    """A stretch of depths in which no frame is sharp, or may be, and how much of the piece lies there.

    after     index of the plane before it, near to far; −1 in front of the first
    near_mm, far_mm   from where to where the piece lies in it
    share     of all that can be told
    middle    (x, y) of the places that lie there, as shares of the picture
    """

    after: int
    near_mm: float
    far_mm: float
    share: float
    middle: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Coverage:
    """The map of a series, by cells of the picture as the middle frame shows it.

    planes_mm     where each frame was focused
    depth_mm      (rows, columns) float32, where the place lies; NaN where nothing can be told
    state         (rows, columns) uint8: COVERED, GAP or UNKNOWN
    frame_depth_mm  sharp in one frame
    cell_px       side of a cell in full-size pixels
    stretches     between and beyond the planes, near to far, where nothing was sharp
    """

    planes_mm: tuple[float, ...]
    depth_mm: Floats
    state: NDArray[np.uint8]
    frame_depth_mm: float
    cell_px: float
    stretches: tuple[Stretch, ...] = ()

    @property
    def judged(self) -> int:
        """How many cells can be told."""
        return int((self.state != UNKNOWN).sum())

    @property
    def covered_share(self) -> float:
        """Share of what can be told which was sharp; 0 when nothing can be told."""
        return max(0.0, 1.0 - sum(one.share for one in self.stretches)) if self.judged else 0.0

    @property
    def unknown_share(self) -> float:
        """Share of the picture that can't be told."""
        return float((self.state == UNKNOWN).mean())


@dataclass(frozen=True)
class Gap:
    """Places of the piece that were never sharp, between two neighbouring planes or beyond an end.

    after     index of the plane before the gap, −1 in front of the first
    near_mm, far_mm   from where to where the piece is there and wasn't sharp
    share     of all that can be told
    planes_mm where frames more make it sharp, near to far
    middle    (x, y) of the places, as shares of the picture
    """

    after: int
    near_mm: float
    far_mm: float
    share: float
    planes_mm: tuple[float, ...]
    middle: tuple[float, float]

    @property
    def frames(self) -> int:
        """How many frames more make it sharp."""
        return len(self.planes_mm)


def coverage(frames: Sequence[PlaneFrame], placed: Planes, lens: SeriesLens) -> Coverage:
    """The map of a series.

    frames     of one size, near to far or far to near
    placed     where each was focused, and the size of its picture
    Raises ValueError for fewer than two frames, or frames of different sizes.
    """
    if len(frames) < FEWEST_FRAMES:
        raise ImpossibleNumbersError(f"{len(frames)} frame makes no series: two at least do")
    if len({frame.detail.shape for frame in frames}) > 1:
        raise ImpossibleNumbersError(f"the {len(frames)} frames of the series differ in size")
    depth_mm = lens.sharp(ONE_FRAME_MM).depth_mm
    planes = np.array(placed.at_mm)
    reach = BEYOND_DEPTHS * depth_mm
    grid = np.arange(planes.min() - reach, planes.max() + reach, depth_mm / GRID_PER_DEPTH)
    cells = detail_by_cell(frames, placed.scales)
    seen, likely = cells.seen, likely_by_cell(cells, placed, lens, grid)
    by_cell, shares = _with_shares(likely)
    within = _share_of_steps(grid, [(plane - depth_mm / 2, plane + depth_mm / 2) for plane in planes])
    sharp = np.zeros(seen.shape, np.float32)
    where, sd = (np.full(seen.shape, np.nan, np.float32) for _ in range(2))
    sharp[seen] = within @ likely
    steps = grid.astype(np.float32)
    where[seen] = steps @ likely
    sd[seen] = np.sqrt(np.maximum(steps**2 @ likely - where[seen] ** 2, 0))
    state = np.full(seen.shape, UNKNOWN, np.uint8)
    state[seen & (sharp >= SURELY)] = COVERED
    state[seen & (sharp <= 1 - SURELY)] = GAP
    return Coverage(
        planes_mm=tuple(float(plane) for plane in planes),
        depth_mm=np.where(state != UNKNOWN, where, np.float32(np.nan)),
        state=state,
        frame_depth_mm=depth_mm,
        cell_px=cells.side * BLOCK_PX * cells.reduced,
        stretches=(
            *_beyond(where, sd, planes, depth_mm),
            *_between(placed, depth_mm, grid, shares, by_cell, seen),
        )
        if seen.any()
        else (),
    )


def gaps(found: Coverage, step_mm: float) -> tuple[Gap, ...]:
    """The gaps of a map, near to far; frames more are taken as far apart as the series' step, mm.

    A map on which nothing can be told has none: what lies where is then no more than a guess.
    """
    if not found.judged:
        return ()
    planes = np.sort(np.array(found.planes_mm))
    beyond = [one for one in found.stretches if one.after in (-1, len(planes) - 1)]
    between = sorted((one for one in found.stretches if one not in beyond), key=lambda one: -one.share)
    left = np.cumsum([one.share for one in between[::-1]])[::-1]
    told = [one for one, share in zip(between, left, strict=True) if share > LEAST_BETWEEN]
    told += [one for one in beyond if one.share > LEAST_BEYOND]
    step_mm = step_mm or found.frame_depth_mm
    return tuple(
        Gap(one.after, one.near_mm, one.far_mm, one.share, _planes_more(planes, one.after, step_mm), one.middle)
        for one in sorted(told, key=lambda stretch: stretch.after)
    )


def _planes_more(planes: NDArray[np.float64], after: int, step_mm: float) -> tuple[float, ...]:
    """Planes between two so that none is farther than a step from the next; beyond an end the next one alone.

    How far the piece goes on beyond an end the map doesn't tell well, and tells it better with the next frame.
    """
    if after < 0:
        return (float(planes[0]) - step_mm,)
    if after == len(planes) - 1:
        return (float(planes[-1]) + step_mm,)
    near_mm, far_mm = float(planes[after]), float(planes[after + 1])
    count = max(1, math.ceil((far_mm - near_mm) / step_mm - STEP_SLACK) - 1)
    return tuple(near_mm + (far_mm - near_mm) * k / (count + 1) for k in range(1, count + 1))


def likely_by_cell(cells: CellDetail, placed: Planes, lens: SeriesLens, grid: NDArray[np.float64]) -> Floats:
    """For the cells that show anything the probability of each depth of the grid, (depths, cells)."""
    seen = cells.seen
    weights = [weights_of(cells.excess[:, scale], cells.noise[:, scale], 1 + (scale > 0)) for scale in range(SCALES)]
    off = np.abs(grid[:, None] - np.array(placed.at_mm)[None])
    passed = energies_left(lens, cells.reduced, off)
    likely = np.empty((len(grid), int(seen.sum())), np.float32)
    rows_at_once, done = max(1, CELLS_AT_ONCE // seen.shape[1]), 0
    for top in range(0, seen.shape[0], rows_at_once):
        rows = slice(top, top + rows_at_once)
        part = likely_depths(passed, cells.excess[:, :, rows], [weight[:, rows] for weight in weights])[:, seen[rows]]
        likely[:, done : done + part.shape[1]] = part
        done += part.shape[1]
    return likely


def _with_shares(likely: Floats) -> tuple[Floats, Floats]:
    """Probability of each depth for each cell, (depths, cells), and the share of each depth, (depths,), all cells taken
    together; from the probabilities that each cell has for itself."""
    shares = np.full(len(likely), 1 / len(likely), np.float32)
    by_cell = likely
    for _ in range(ROUNDS if likely.size else 0):
        by_cell = shares[:, None] * likely
        by_cell /= np.maximum(by_cell.sum(axis=0), np.float32(1e-30))
        shares = by_cell.mean(axis=1)
    return by_cell, shares


def _share_of_steps(grid: NDArray[np.float64], spans: Sequence[tuple[float, float]]) -> Floats:
    """How much of each step of the grid lies within any of the spans, near to far or far to near, 0…1."""
    step = grid[1] - grid[0]
    within = np.zeros(len(grid))
    reached = -math.inf
    for near_mm, far_mm in sorted(spans):
        near = np.maximum(grid - step / 2, max(near_mm, reached))
        within += np.clip(np.minimum(grid + step / 2, far_mm) - near, 0, None) / step
        reached = max(reached, far_mm)
    return np.asarray(within, np.float32)


def _between(
    placed: Planes, depth_mm: float, grid: NDArray[np.float64], shares: Floats, by_cell: Floats, seen: NDArray[np.bool_]
) -> tuple[Stretch, ...]:
    order = np.argsort(placed.at_mm)
    planes = np.array(placed.at_mm)[order]
    until = np.concatenate([[0.0], np.cumsum(np.square(placed.apart_sd_mm))])[order]
    rows, columns = np.nonzero(seen)

    def stretch(after: int, near_mm: float, far_mm: float, part: float) -> Stretch | None:
        within = _share_of_steps(grid, [(near_mm, far_mm)])
        share = float(within @ shares) * part
        if not share:
            return None
        there = np.cumsum(within * shares) / float(within @ shares)
        near, far = (float(np.interp(level, there, grid)) for level in (0.05, 0.95))
        cells = within @ by_cell
        x, y = (float((cells * (axis + 0.5)).sum() / cells.sum()) for axis in (columns, rows))
        middle = (x / seen.shape[1], y / seen.shape[0])
        return Stretch(after, max(near, near_mm), min(far, far_mm), share, middle)

    found = []
    for after, (near_mm, far_mm) in enumerate(pairwise(float(plane) for plane in planes)):
        sd_mm = math.sqrt(abs(until[after + 1] - until[after]))
        open_mm = far_mm - near_mm + UNSURE_SDS * sd_mm - depth_mm
        if open_mm > 0:
            # how much lies so deep is read from half a depth of field at least: cells don't tell it finer
            wide_mm = max(open_mm, depth_mm / 2)
            middle_mm = (near_mm + far_mm) / 2
            found.append(stretch(after, middle_mm - wide_mm / 2, middle_mm + wide_mm / 2, open_mm / wide_mm))
    return tuple(one for one in found if one is not None)


def _beyond(where: Floats, sd: Floats, planes: NDArray[np.float64], depth_mm: float) -> tuple[Stretch, ...]:
    """What lies in front of the first plane and behind the last.

    where, sd  (rows, columns) depth, mm, of the cells that show anything, else NaN, and its standard deviation, mm
    """
    seen = np.isfinite(where)
    depths = _medians_around(where, np.asarray(1 / (sd**2 + (SUREST_DEPTHS * depth_mm) ** 2), np.float32))
    rows, columns = np.nonzero(seen)
    sharp_mm = (0.5 - ENDS_DOUBT_DEPTHS) * depth_mm
    found = []
    for after, out in ((-1, depths < planes.min() - sharp_mm), (len(planes) - 1, depths > planes.max() + sharp_mm)):
        if out.any():
            near_mm, far_mm = np.quantile(depths[out], (0.05, 0.95))
            x, y = (float((axis[out] + 0.5).mean()) for axis in (columns, rows))
            middle = (x / seen.shape[1], y / seen.shape[0])
            found.append(Stretch(after, float(near_mm), float(far_mm), float(out.mean()), middle))
    return tuple(found)


def _medians_around(values: Floats, weights: Floats) -> Floats:
    """The weighted median around each value, (n,), of values and weights (rows, columns); a value may be NaN: none."""
    seen = np.isfinite(values)
    side = 2 * BESIDE + 1
    around, weight = (
        np.lib.stride_tricks.sliding_window_view(np.pad(grid, BESIDE, constant_values=without), (side, side))[
            seen
        ].reshape(-1, side**2)
        for grid, without in ((np.where(seen, values, np.inf), np.inf), (np.where(seen, weights, 0), 0))
    )
    order = around.argsort(axis=1)
    summed = np.take_along_axis(weight, order, axis=1).cumsum(axis=1)
    half = (summed >= summed[:, -1:] / 2).argmax(axis=1)
    return np.asarray(np.take_along_axis(np.take_along_axis(around, order, axis=1), half[:, None], axis=1)[:, 0])
