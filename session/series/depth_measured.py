"""The depth of field that the frames of a series show, beside the one that aperture, magnification and pixels say.

Blur grows with the distance from the plane of focus, and the depth of field is where it reaches the limit. The places
of the planes are known, so how fast each cell's detail falls to both sides of its sharpest frame tells how fast blur
grows: the curve of `depth_fit` is stretched along the axis until it explains most, all cells together.

A cell that holds two depths is sharp over more than one is, and made every lens seem deeper. So only cells count that
lie between the planes, and whose depth is sure and like that of the cells around.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from session.series.breathing import Planes
from session.series.coverage_map import likely_by_cell
from session.series.depth_fit import (
    CellDetail,
    Floats,
    detail_by_cell,
    energies_left,
    energy_left,
    least_costs,
    weights_of,
)
from session.series.plane_frame import SCALES, PlaneFrame
from session.series.series_plan import ONE_FRAME_MM, SeriesLens
from session.series.way_measured import lowest

FEWEST_PLANES = 5
"""A rise, a top and a fall, with two planes over. Chosen."""

MOST_SD_DEPTHS, MOST_RANGE_DEPTHS = 0.3, 1.0
"""Most uncertainty of a cell's depth, and most difference among it and those around, in depths of field. Chosen."""

GROUPS = 12
"""Groups of cells that answer for themselves. Chosen."""

FEWEST_CELLS, MOST_CELLS = 4 * GROUPS, 12 * GROUPS
"""More cells take longer and tell little more, since all share the doubt of the curve."""

TRIED = np.geomspace(0.5, 2.0, 15)
"""How many times as fast as the lens says blur may grow. Chosen."""

HALVED_SCALE, HALVED_POWER = 1, 2.0
"""A lens is told by how far from the plane of focus half of the energy of usual detail is left at the middle scale."""

FACTORS = np.geomspace(0.5, 2.0, 7)
"""Effective f-numbers for which that is worked out, over the lens's own; between them by their logarithms. Chosen."""

GRID_PER_DEPTH, CELL_GRID_PER_DEPTH = 6, 8
"""Depths tried in each depth of field: for each growth of blur, and to choose the cells by."""

DEPTH_DOUBT = 0.06
"""Share by which a depth may be wrong as a whole, standard deviation: a place's detail may fall faster or slower than
the kinds of detail that are tried. Of 14 series of the simulated camera with five frames and more (seeds 5001 to 5026)
9 told it, 0.96 to 1.08 of the true depth, 0.04 about 1.01."""

DIFFERS_SDS = 2.0
"""From so many standard deviations on the measured depth differs from the planned one. Chosen."""


@dataclass(frozen=True)
class DepthMeasured:
    """The depth of field of one frame, mm, planned and measured.

    sd_share            standard deviation of the measured depth, as a share of it
    effective_f_number  at which the lens would show it
    """

    planned_mm: float
    measured_mm: float
    sd_share: float
    effective_f_number: float

    @property
    def differs(self) -> bool:
        """True if the two differ by more than the measurement's doubt."""
        return abs(math.log(self.measured_mm / self.planned_mm)) > DIFFERS_SDS * self.sd_share


def depth_measured(frames: Sequence[PlaneFrame], placed: Planes, lens: SeriesLens) -> DepthMeasured | None:
    """The depth of field that a series shows.

    frames  of one size, in the order of `placed`
    None where too little of the piece lies between the planes with detail, and for fewer than FEWEST_PLANES frames.
    """
    if len(frames) < FEWEST_PLANES:
        return None
    depth_mm = lens.sharp(ONE_FRAME_MM).depth_mm
    cells = detail_by_cell(frames, placed.scales)
    even = _even_cells(cells, placed, lens, depth_mm)
    if even.sum() < FEWEST_CELLS:
        return None
    every = math.ceil(even.sum() / MOST_CELLS)
    rows, columns = (axis[::every] for axis in np.nonzero(even))
    costs = np.array([_cost(growth, cells, rows, columns, placed, lens, depth_mm) for growth in TRIED])
    if not 0 < costs.sum(axis=1).argmin() < len(TRIED) - 1:
        return None
    logs = np.log(TRIED)
    growth = math.exp(lowest(logs, costs.sum(axis=1)))
    by_group = [lowest(logs, costs[:, group::GROUPS].sum(axis=1)) for group in range(GROUPS)]
    scatter = float(np.std(by_group, ddof=1)) / math.sqrt(GROUPS)
    shown = _lens_of_growth(growth, lens, cells.reduced, depth_mm)
    return DepthMeasured(
        depth_mm,
        shown.sharp(ONE_FRAME_MM).depth_mm,
        math.hypot(scatter, DEPTH_DOUBT),
        shown.lens.effective_f_number,
    )


def _lens_of_growth(growth: float, lens: SeriesLens, reduced: float, depth_mm: float) -> SeriesLens:
    """The lens whose blur grows so many times as fast, by its effective f-number; by wave optics in no simple ratio."""

    away_mm = np.linspace(0, 3 * depth_mm, 300)
    lenses = [
        replace(lens, lens=replace(lens.lens, effective_f_number=float(factor) * lens.lens.effective_f_number))
        for factor in FACTORS
    ]
    half_mm = []
    for one in lenses:
        left = energy_left(one, reduced, HALVED_SCALE, HALVED_POWER, away_mm)
        half_mm.append(float(np.interp(-0.5, -np.minimum.accumulate(left), away_mm)))
    own = math.log(half_mm[len(FACTORS) // 2])
    factor = math.exp(np.interp(own - math.log(growth), np.log(half_mm), np.log(FACTORS)))
    return replace(lens, lens=replace(lens.lens, effective_f_number=factor * lens.lens.effective_f_number))


def _even_cells(cells: CellDetail, placed: Planes, lens: SeriesLens, depth_mm: float) -> NDArray[np.bool_]:
    """The cells between the planes that lie at one sure depth, as those around them do."""
    planes = np.array(placed.at_mm)
    grid = np.arange(planes.min() - 2 * depth_mm, planes.max() + 2 * depth_mm, depth_mm / CELL_GRID_PER_DEPTH)
    likely = likely_by_cell(cells, placed, lens, grid)
    where = np.full(cells.seen.shape, np.nan)
    sd = np.full(cells.seen.shape, np.inf)
    where[cells.seen] = grid @ likely
    sd[cells.seen] = np.sqrt(np.maximum(grid**2 @ likely - where[cells.seen] ** 2, 0))
    highest, lowest_there = (
        np.lib.stride_tricks.sliding_window_view(
            np.pad(np.where(cells.seen, where, nothing), 1, constant_values=nothing), (3, 3)
        )
        for nothing in (-np.inf, np.inf)
    )
    even = highest.max(axis=(2, 3)) - lowest_there.min(axis=(2, 3)) < MOST_RANGE_DEPTHS * depth_mm
    within = (where > planes.min()) & (where < planes.max())
    return np.asarray(even & within & (sd < MOST_SD_DEPTHS * depth_mm))


def _cost(
    growth: float,
    cells: CellDetail,
    rows: NDArray[np.intp],
    columns: NDArray[np.intp],
    placed: Planes,
    lens: SeriesLens,
    depth_mm: float,
) -> Floats:
    """What is left unexplained of each chosen cell, (cells,), where blur grows so many times as fast."""
    planes = growth * np.array(placed.at_mm)
    grid = np.arange(planes.min() - depth_mm, planes.max() + depth_mm, depth_mm / GRID_PER_DEPTH)
    span_mm = TRIED[-1] * float(np.ptp(placed.at_mm)) + 2 * depth_mm  # one curve for all
    passed = energies_left(lens, cells.reduced, np.abs(grid[:, None] - planes[None]), span_mm)
    weights = [
        weights_of(cells.excess[:, scale], cells.noise[:, scale], 1 + (scale > 0))[:, None, rows, columns]
        for scale in range(SCALES)
    ]
    return np.asarray(least_costs(passed, cells.excess[:, :, None, rows, columns], weights)[0])
