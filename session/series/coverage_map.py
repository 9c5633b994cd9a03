"""Which frame of a series is sharpest at each place, how sharp it is there, and the places that never were sharp.

The picture is cut into cells. A cell's detail in all frames is compared with what a place at depth z would show:

    detail_k(scale) = a(scale) · T(scale, |z − plane_k|) + noise

with T worked out by wave optics for this lens, and a(scale), how much detail the place has, left free, so that light,
contrast and the piece's pattern drop out. Every z on a fine grid is tried; the costs give z with its certainty, and
with it the blur at the nearest plane. This is the fit of shape from focus (Nayar and Nakagawa 1994, value from memory),
with the known curve in place of a Gaussian. A place without detail, or one that several depths explain, is told as
"can't tell", never as covered.

Frames differ in size by the breathing of focusing or by the move on the rail; the registered scale takes this out, and
as the lens tells how large it must be, it also measures where the planes truly were.

Places along the axis: mm from the first plane, + = away from the camera.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.optics.diffraction import GREEN_UM, transfer_defocused
from session.picture.linear_light import block_means
from session.series.plane_frame import BLOCK_PX, SCALES, PlaneFrame
from session.series.series_plan import ONE_FRAME_MM, SeriesLens
from session.units.refusals import ImpossibleNumbersError

Floats = NDArray[np.float32]

CELL_BLOCKS = 3
"""Blocks along a cell's side: 24 px at hand. With 16 and 32 px as many cells were right on the simulated camera."""

MOST_CELLS_ACROSS = 160
"""Of larger pictures the cells are larger: a map is read by eye. Chosen."""

SPECTRUM_POWERS = (-2.0, 0.5, 2.0, 3.5)
"""Power of detail falls with frequency to one of these powers; about 2 is usual for pictures (Field, J. Opt. Soc. Am.
A 4 (1987) 2379, value from memory), and a cell may take the one that suits it: how steeply its detail falls out of
focus depends on that, which between two planes hardly matters, and beyond the last one is all that there is to go by.
The first stands for fine even patterns, such as brushed and ringed metal."""

DETAIL_DOUBT, SPILL_DOUBT, NOISE_DOUBT = 0.1, 0.05, 0.3
"""Standard deviations of a cell's detail: a share of the detail; a share of the most that this cell or one near it has
in any frame, which blur spills over; and a share of the noise. The first follows from the number of independent pixels,
the last is guessed, the second was chosen on the simulated camera (seeds 1 to 14 of `tests.support.focus_series`):
with 0.03 a twentieth of the cells of whole series were taken for gaps, with 0.1 half of the true gaps weren't told."""

DETAIL_OVER_NOISE = 1.0
"""A cell has detail when in some frame, at some scale, its energy is more than this many times the noise. Chosen."""

MOST_BURNT = 0.02
"""A cell that is clipped over more than this share in any frame can't be told. Chosen."""

SURELY = 0.9
"""Probability from which on a cell is told to be covered, or never to have been sharp; between is "can't tell"."""

GRID_PER_DEPTH, BEYOND_DEPTHS = 8, 2.0
"""Depths tried in each depth of field, and how far beyond both ends, in depths of field."""

LEAST_GAP = 0.01
"""A gap is told when so large a share of the cells that can be judged lies in it. Chosen: nobody looks for less."""

CELLS_AT_ONCE = 2000
"""All depths are tried for so many cells at once: with a hundred frames their costs take 20 MB. Chosen."""

STEP_SLACK = 0.1
"""Share of a step by which measured planes may lie farther apart before another frame is asked for: the depths of
neighbours overlap by a third of a step."""

FEWEST_FRAMES = 2

REACH_RATIO = 1.5
"""Curves are worked out as far as the next power of this, mm, so that one serves many series."""

MOST_WAVES = 200.0
"""Farther out of focus nothing is left at any scale."""

COVERED, GAP, UNKNOWN = 1, 2, 0


@dataclass(frozen=True, eq=False)
class Coverage:
    """The map of a series, by cells of the picture as the middle frame shows it.

    planes_mm     where each frame was focused
    depth_mm      (rows, columns) float32, where the place lies; NaN where nothing can be told
    state         (rows, columns) uint8: COVERED, GAP or UNKNOWN
    frame_depth_mm  sharp in one frame
    cell_px       side of a cell in full-size pixels
    """

    planes_mm: tuple[float, ...]
    depth_mm: Floats
    state: NDArray[np.uint8]
    frame_depth_mm: float
    cell_px: float

    @property
    def judged(self) -> int:
        """How many cells can be told."""
        return int((self.state != UNKNOWN).sum())

    @property
    def covered_share(self) -> float:
        """Share of the cells that can be told which were sharp; 0 when none can be told."""
        return float((self.state == COVERED).sum()) / self.judged if self.judged else 0.0

    @property
    def unknown_share(self) -> float:
        """Share of the picture that can't be told."""
        return float((self.state == UNKNOWN).mean())


@dataclass(frozen=True)
class Gap:
    """Places of the piece that were never sharp, between two neighbouring planes or beyond an end.

    after     index of the plane before the gap, −1 in front of the first
    near_mm, far_mm   from where to where the piece is there and wasn't sharp
    share     of the cells that can be judged
    frames    how many frames more make it sharp
    middle    (x, y) of the cells, as shares of the picture
    """

    after: int
    near_mm: float
    far_mm: float
    share: float
    frames: int
    middle: tuple[float, float]


def coverage(
    frames: Sequence[PlaneFrame], planes_mm: Sequence[float], scales: Sequence[float], lens: SeriesLens
) -> Coverage:
    """The map of a series.

    frames     of one size, near to far or far to near
    planes_mm  where each was focused, mm
    scales     size of each frame's picture against that of the middle frame
    Raises ValueError for fewer than two frames, or frames of different sizes.
    """
    if len(frames) < FEWEST_FRAMES:
        raise ImpossibleNumbersError(f"{len(frames)} frame makes no series: two at least do")
    if len({frame.detail.shape for frame in frames}) > 1:
        raise ImpossibleNumbersError(f"the {len(frames)} frames of the series differ in size")
    depth_mm = lens.sharp(ONE_FRAME_MM).depth_mm
    side = max(CELL_BLOCKS, math.ceil(frames[0].detail.shape[2] / MOST_CELLS_ACROSS))
    detail = np.stack([_cells(frame.detail, scale, side) for frame, scale in zip(frames, scales, strict=True)])
    noise = np.stack([_cells(frame.noise, scale, side) for frame, scale in zip(frames, scales, strict=True)])
    burnt = np.stack([_cells(frame.burnt[None], scale, side)[0] for frame, scale in zip(frames, scales, strict=True)])
    planes = np.array(planes_mm)
    reach = BEYOND_DEPTHS * depth_mm
    grid = np.arange(planes.min() - reach, planes.max() + reach, depth_mm / GRID_PER_DEPTH)
    off = np.abs(grid[:, None] - planes[None])
    excess = np.maximum(detail - noise, 0)
    seen = (excess.max(axis=0) > DETAIL_OVER_NOISE * noise.mean(axis=0)).any(axis=0)
    weights = [_weights(excess[:, scale], noise[:, scale], 1 + (scale > 0)) for scale in range(SCALES)]
    passed = [
        [_energy_left(lens, frames[0].reduced * 2**scale, power, off) for scale in range(SCALES)]
        for power in SPECTRUM_POWERS
    ]
    in_depth = (off.min(axis=1) <= depth_mm / 2).astype(np.float32)
    sharp, where = np.empty(seen.shape, np.float32), np.empty(seen.shape, np.float32)
    rows_at_once = max(1, CELLS_AT_ONCE // seen.shape[1])
    for top in range(0, seen.shape[0], rows_at_once):
        rows = slice(top, top + rows_at_once)
        likely = _likely_depths(passed, excess[:, :, rows], [weight[:, rows] for weight in weights])
        sharp[rows] = np.tensordot(in_depth, likely, 1)
        where[rows] = np.tensordot(grid.astype(np.float32), likely, 1)
    state = np.full(seen.shape, UNKNOWN, np.uint8)
    state[sharp >= SURELY] = COVERED
    state[sharp <= 1 - SURELY] = GAP
    state[~seen | (burnt.max(axis=0) > MOST_BURNT)] = UNKNOWN
    return Coverage(
        planes_mm=tuple(float(plane) for plane in planes),
        depth_mm=np.where(state != UNKNOWN, where, np.float32(np.nan)),
        state=state,
        frame_depth_mm=depth_mm,
        cell_px=side * BLOCK_PX * frames[0].reduced,
    )


def gaps(found: Coverage, step_mm: float) -> tuple[Gap, ...]:
    """The gaps of a map, near to far; frames more are taken as far apart as the series' step, mm."""
    planes = np.sort(np.array(found.planes_mm))
    open_cells = found.state == GAP
    if not found.judged or not open_cells.any():
        return ()
    before = np.where(open_cells, np.searchsorted(planes, np.nan_to_num(found.depth_mm)) - 1, -2)
    rows, columns = found.state.shape
    told = []
    for after in range(-1, len(planes)):
        here = before == after
        share = float(here.sum()) / found.judged
        if share < LEAST_GAP:
            continue
        near_mm, far_mm = (float(end) for end in np.quantile(found.depth_mm[here], (0.05, 0.95)))
        y, x = (float(np.median(axis)) for axis in np.nonzero(here))
        told.append(
            Gap(
                after=after,
                near_mm=near_mm,
                far_mm=far_mm,
                share=share,
                frames=_frames_more(planes, after, near_mm, far_mm, step_mm, found.frame_depth_mm),
                middle=((x + 0.5) / columns, (y + 0.5) / rows),
            )
        )
    return tuple(told)


def _frames_more(
    planes: NDArray[np.float64], after: int, near_mm: float, far_mm: float, step_mm: float, depth_mm: float
) -> int:
    """Frames between two planes so that none is farther than a step from the next; beyond an end, as far as needed."""
    step_mm = step_mm or depth_mm
    if after < 0:
        wide_mm = float(planes[0]) - depth_mm / 2 - near_mm
    elif after == len(planes) - 1:
        wide_mm = far_mm - float(planes[-1]) - depth_mm / 2
    else:
        return max(1, math.ceil(float(planes[after + 1] - planes[after]) / step_mm - STEP_SLACK) - 1)
    return max(1, math.ceil(wide_mm / step_mm))


def _cells(blocks: Floats, scale: float, side: int) -> Floats:
    """Blocks (layers, rows, columns) laid on the middle frame, 1/scale of the size, and averaged into cells."""
    return np.stack([block_means(_resize(layer, scale), side, side) for layer in blocks])


def _resize(layer: Floats, scale: float) -> Floats:
    if abs(scale - 1) < 1e-9:
        return layer
    height, width = layer.shape
    place = (scale, 0.0, width / 2 * (1 - scale), 0.0, scale, height / 2 * (1 - scale))
    picture = Image.fromarray(layer).transform(
        (width, height), Image.Transform.AFFINE, place, Image.Resampling.BILINEAR
    )
    return np.asarray(picture, np.float32)


def _weights(excess: Floats, noise: Floats, reach: int) -> Floats:
    """1/variance of each cell's detail in each frame, (planes, rows, columns); reach: cells from which blur spills."""
    most = _highest_near(excess.max(axis=0), reach)
    variance = (DETAIL_DOUBT * excess) ** 2 + (SPILL_DOUBT * most) ** 2 + (NOISE_DOUBT * noise) ** 2
    return np.asarray(1 / np.maximum(variance, np.float32(1e-20)))


def _likely_depths(passed: Sequence[Sequence[Floats]], excess: Floats, weights: Sequence[Floats]) -> Floats:
    """Probability of each depth that is tried, (depths, rows, columns), whichever power the detail falls with.

    passed   for each power and scale (depths, planes)
    excess   (planes, scales, rows, columns)
    weights  for each scale (planes, rows, columns)
    """
    costs = np.stack(
        [
            sum(_misfit(left, excess[:, scale], weights[scale]) for scale, left in enumerate(of_power))
            for of_power in passed
        ]
    )
    costs -= costs.min(axis=(0, 1))
    likely = np.exp(np.float32(-0.5) * costs).sum(axis=0)
    likely /= likely.sum(axis=0)
    return np.asarray(likely)


def _misfit(passed: Floats, excess: Floats, weight: Floats) -> Floats:
    """Cost of each depth with the amount of detail that suits it best, (depths, rows, columns).

    passed  (depths, planes); excess, weight  (planes, rows, columns)
    """
    planes, rows, columns = excess.shape
    weight, values = weight.reshape(planes, -1), excess.reshape(planes, -1)
    shown = passed @ (weight * values)
    power = (passed**2) @ weight
    amount = np.maximum(shown / np.maximum(power, 1e-20), 0)
    cost = (weight * values**2).sum(axis=0) - 2 * amount * shown + amount**2 * power
    return np.asarray(cost, np.float32).reshape(len(passed), rows, columns)


def _highest_near(values: Floats, reach: int) -> Floats:
    """The highest value around each cell, the cell itself included."""
    padded = np.pad(values, reach, "edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * reach + 1, 2 * reach + 1))
    return np.asarray(windows.max(axis=(2, 3)))


def _energy_left(lens: SeriesLens, reduced: float, power: float, away_mm: NDArray[np.float64]) -> Floats:
    """Share of a scale's energy that is left so far from the plane of focus; away_mm in any shape."""
    tried_mm, left = _curve(
        lens.lens.effective_f_number,
        lens.lens.magnification,
        lens.pixel_pitch_um * reduced,
        reduced > 1,
        power,
        REACH_RATIO ** math.ceil(math.log(max(float(away_mm.max()), 1e-3), REACH_RATIO)),
    )
    return np.interp(away_mm, tried_mm, left).astype(np.float32)


@lru_cache(maxsize=32)
def _curve(
    effective_f_number: float, magnification: float, pitch_um: float, averaged: bool, power: float, farthest_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distances from the plane of focus, mm, and the energy of second differences that is left there, 1 in focus.

    averaged  the pixels are means of finer ones, which takes from the finest waves once more
    """
    cycles = np.linspace(0.01, 0.5, 50)
    angle = np.linspace(0, np.pi / 2, 33)
    along = [2 - 2 * np.cos(2 * np.pi * cycles[:, None] * part) for part in (np.cos(angle), np.sin(angle))]
    response = (along[0] ** 2 + along[1] ** 2).mean(axis=1) * np.sinc(cycles) ** (4 if averaged else 2)
    weight = response * cycles ** (1 - power)
    wave_mm = GREEN_UM / 1000 * effective_f_number
    relative = cycles / (pitch_um / 1000) * wave_mm
    tried_mm = np.linspace(0, 1, 120) ** 2 * farthest_mm
    waves = tried_mm * magnification**2 / effective_f_number / (8 * wave_mm)
    left = np.array([float((weight * transfer_defocused(relative, min(w, MOST_WAVES)) ** 2).sum()) for w in waves])
    return tried_mm, left / left[0]
