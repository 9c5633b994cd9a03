"""How far the plane of focus truly goes from place to place of a sweep: steps of a drive in mm.

Places along the axis are known in steps of a drive, or in mm of a plan, and the question is how many mm one of them is:

    plane_k = mm_per_place · place_k

Two things tell it, which have nothing in common but the lens. The picture's size changes with the plane of focus, as
`breathing` has it. And every cell of the picture has detail that is sharpest somewhere and falls to both sides as the
lens's curve says, which is in mm (`depth_fit`): for each mm_per_place that is tried, each cell takes the depth and the
kind of detail that suit it best, and the way that leaves least unexplained over all cells is the answer. The way by
size is taken, since it is three times as sure; a lens that doesn't change size as a simple one does shows in the
difference.

Where the way is known instead, the way by blur tells by how much the depth of field is not the one that aperture,
magnification and pixel pitch say.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.series.breathing import measure_step, size_at, way_by_picture
from session.series.depth_fit import CellDetail, detail_by_cell, energies_left, least_costs, weights_of
from session.series.plane_frame import SCALES, PlaneFrame
from session.series.series_plan import ONE_FRAME_MM, SeriesLens
from session.units.refusals import ImpossibleNumbersError

FEWEST_PLACES = 5
"""A rise, a top and a fall, with two places over. Chosen."""

SHORTEST_DEPTHS, LONGEST_DEPTHS = 0.7, 15.0
"""Depths of field that all places together may span: in less nothing changes, in more no two places show anything."""

TRIED, TRIED_NEAR = 24, 13
"""Ways tried, evenly by their logarithm: over the whole span, then as far as two of these from the best."""

GRID_PER_DEPTH = 6
"""Depths tried in each depth of field."""

GROUPS = 12
"""Groups of cells that answer for themselves. Chosen."""

FEWEST_CELLS, MOST_CELLS = 4 * GROUPS, 20 * GROUPS
"""More cells take longer and tell little more, since all share the doubt of the curve."""

SIZE_DOUBT, BLUR_DOUBT = 0.04, 0.15
"""Shares by which a way by size and one by blur may be wrong as a whole, standard deviation. On sweeps of simulated
tables (seeds 4001 to 4010) sizes told ways up to 7 % too long, and blur ways between 22 % too short and 15 % too long,
as a place's detail may fall with blur faster or slower than the kinds of detail that are tried."""

FEWEST_SIZES = 3
"""Pairs of frames half a sweep apart that must be registered."""

CONTRADICT_SDS = 3.0
"""Size and blur contradict each other from so many standard deviations on. Chosen."""


@dataclass(frozen=True)
class Way:
    """The movement of the plane of focus for one place (a step of the drive), in mm with its standard deviation."""

    mm_per_place: float
    sd_mm: float

    @property
    def sd_share(self) -> float:
        """Standard deviation as a share of the way."""
        return self.sd_mm / self.mm_per_place


@dataclass(frozen=True)
class WayMeasured:
    """The movement for one place, by size where size tells, else by blur; and by each alone.

    by_size, by_blur  None where that measure tells nothing
    contradicted      size and blur differ by more than both may be wrong: the lens is none that the kit knows
    """

    way: Way
    by_size: Way | None
    by_blur: Way | None

    @property
    def contradicted(self) -> bool:
        if self.by_size is None or self.by_blur is None:
            return False
        off = abs(math.log(self.by_size.mm_per_place / self.by_blur.mm_per_place))
        return off > CONTRADICT_SDS * math.hypot(self.by_size.sd_share, self.by_blur.sd_share)


@dataclass(frozen=True)
class Backlash:
    """Steps that a drive runs before anything moves when it is turned round, and their standard deviation."""

    steps: float
    sd_steps: float


def measure_way(
    places: Sequence[float], frames: Sequence[PlaneFrame], lens: SeriesLens, *, by_rail: bool
) -> WayMeasured | None:
    """What one place is worth, mm, from frames taken at known places, all come to from the same side.

    places   + = away from the camera, rising, in any unit, e.g. steps of the drive
    lens     as the frames were taken: live view takes them with the aperture open
    by_rail  the camera was moved; else the focus turned
    None when too little of the picture has detail, or the frames show no blur that comes and goes.
    Raises ValueError for fewer than five places, places that don't rise, or where places and frames are not as many.
    """
    if len(places) != len(frames) or len(places) < FEWEST_PLACES:
        raise ImpossibleNumbersError(f"{len(places)} places and {len(frames)} frames: five places at least")
    if min(np.diff(places)) <= 0:
        raise ImpossibleNumbersError(f"the places of a sweep must rise, come to from one side: {list(places)}")
    by_size = way_by_size(places, frames, lens, by_rail=by_rail)
    by_blur = way_by_blur(places, frames, lens, by_rail=by_rail)
    way = by_size or by_blur
    return None if way is None else WayMeasured(way, by_size, by_blur)


def way_by_size(
    places: Sequence[float], frames: Sequence[PlaneFrame], lens: SeriesLens, *, by_rail: bool
) -> Way | None:
    """What one place is worth by the change of size over half the sweep; None when too few frames can be registered."""
    apart = len(frames) // 2
    ways, sds = [], []
    for before in range(len(frames) - apart):
        step = measure_step(frames[before], frames[before + apart], 0.0)
        found = way_by_picture(step, lens.lens, by_rail)
        if found is not None and found[0] > 0:
            span = places[before + apart] - places[before]
            ways.append(found[0] / span)
            sds.append(found[1] / span)
    if len(ways) < FEWEST_SIZES:
        return None
    weights = 1 / np.square(sds)
    way_mm = float((weights * ways).sum() / weights.sum())
    scatter = max(float(np.std(ways, ddof=1)), 1 / math.sqrt(float(weights.mean())))
    return Way(way_mm, math.hypot(scatter, SIZE_DOUBT * way_mm))


def way_by_blur(
    places: Sequence[float], frames: Sequence[PlaneFrame], lens: SeriesLens, *, by_rail: bool
) -> Way | None:
    """What one place is worth by how blur comes and goes; None when too few places have detail, or it doesn't."""
    at = np.array(places, np.float64) - float(np.mean(places))
    unit_mm = lens.sharp(ONE_FRAME_MM).depth_mm / float(np.ptp(at))
    tried = unit_mm * np.geomspace(SHORTEST_DEPTHS, LONGEST_DEPTHS, TRIED)
    costs = _costs(tried, at, frames, lens, by_rail)
    if costs is None:
        return None
    best = int(costs.sum(axis=1).argmin())
    if not 1 < best < TRIED - 2:
        return None
    tried = np.geomspace(tried[best - 2], tried[best + 2], TRIED_NEAR)
    costs = _costs(tried, at, frames, lens, by_rail)
    if costs is None:
        return None
    logs = np.log(tried)
    way_mm = math.exp(lowest(logs, costs.sum(axis=1)))
    by_group = [lowest(logs, costs[:, group::GROUPS].sum(axis=1)) for group in range(GROUPS)]
    scatter = float(np.std(by_group, ddof=1)) / math.sqrt(GROUPS)
    return Way(way_mm, way_mm * math.hypot(scatter, BLUR_DOUBT))


def backlash(out_steps: float, out_sd_steps: float, back_steps: float, back_sd_steps: float) -> Backlash:
    """The play of a drive, from the places at which the contrast was highest on the way out and on the way back.

    Each place is counted in steps that the drive was asked for, + = away, with its standard deviation. After it turns
    round, the drive comes to the same focus later by the play.
    """
    return Backlash(out_steps - back_steps, math.hypot(out_sd_steps, back_sd_steps))


def _costs(
    tried: NDArray[np.float64], at: NDArray[np.float64], frames: Sequence[PlaneFrame], lens: SeriesLens, by_rail: bool
) -> NDArray[np.float64] | None:
    """What is left unexplained, (ways, cells), of the cells with detail; None for fewer than FEWEST_CELLS of them."""
    middle = tried[len(tried) // 2] if len(tried) == TRIED_NEAR else 0.0
    scales = [size_at(lens.lens, float(middle * place), by_rail) for place in at]
    cells = detail_by_cell(frames, scales)
    if cells.seen.sum() < FEWEST_CELLS:
        return None
    return np.array([_cost(way, at, cells, lens) for way in tried])


def _cost(way_mm: float, at: NDArray[np.float64], cells: CellDetail, lens: SeriesLens) -> NDArray[np.float64]:
    """What is left unexplained of up to MOST_CELLS cells by one way."""
    planes = way_mm * at
    depth_mm = lens.sharp(ONE_FRAME_MM).depth_mm
    grid = np.arange(planes.min() - depth_mm, planes.max() + depth_mm, depth_mm / GRID_PER_DEPTH)
    off = np.abs(grid[:, None] - planes[None])
    farthest_mm = (LONGEST_DEPTHS + 2) * depth_mm  # one curve for all ways
    passed = energies_left(lens, cells.reduced, off, farthest_mm)
    every = max(1, int(cells.seen.sum()) // MOST_CELLS)
    rows, columns = (axis[::every] for axis in np.nonzero(cells.seen))
    weights = [
        weights_of(cells.excess[:, scale], cells.noise[:, scale], 1 + (scale > 0))[:, None, rows, columns]
        for scale in range(SCALES)
    ]
    return np.asarray(least_costs(passed, cells.excess[:, :, None, rows, columns], weights)[0], np.float64)


def lowest(at: NDArray[np.float64], costs: NDArray[np.float64]) -> float:
    """Where the costs at even places are lowest: the vertex of a parabola through the least and both beside it."""
    k = min(max(int(costs.argmin()), 1), len(costs) - 2)
    left, middle, right = costs[k - 1 : k + 2]
    bend = left - 2 * middle + right
    step = float(at[1] - at[0])
    return float(at[k]) + (step * float(np.clip((left - right) / (2 * bend), -1, 1)) if bend > 0 else 0.0)
