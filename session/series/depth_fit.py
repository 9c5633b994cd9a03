"""How likely each depth is for each cell, from how its detail changes from frame to frame.

A cell's detail in all frames is compared with what a place at depth z would show:

    detail_k(scale) = a(scale) · T(scale, |z − plane_k|) + noise

with T worked out by wave optics for this lens, and a(scale), how much detail the place has, left free, so that light,
contrast and the piece's pattern drop out. Every z on a fine grid is tried. This is the fit of shape from focus (Nayar
and Nakagawa 1994, value from memory), with the known curve in place of a Gaussian.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.optics.diffraction import GREEN_UM, transfer_defocused
from session.picture.linear_light import block_means
from session.series.plane_frame import SCALES, PlaneFrame
from session.series.series_plan import SeriesLens

Floats = NDArray[np.float32]

KINDS = ((-2.0, -2.0, -2.0), (0.5, 0.5, 0.5), (2.0, 2.0, 2.0), (3.5, 3.5, 3.5), (3.5, 2.0, 0.5))
"""Kinds of detail, each by the power with which it falls with frequency at the three scales, finest first. About 2 is
usual for pictures (Field, J. Opt. Soc. Am. A 4 (1987) 2379, value from memory), and a cell may take the kind that suits
it: how steeply its detail falls out of focus depends on that, which between two planes hardly matters, and beyond the
last one is all that there is to go by. The first stands for fine even patterns, such as brushed and ringed metal, the
last for lines and letters: coarser than a stroke is wide they fall little, finer they fall fast."""

POWERS = tuple(sorted({power for kind in KINDS for power in kind}))

DETAIL_DOUBT, SPILL_DOUBT, NOISE_DOUBT = 0.15, 0.05, 0.3
"""Standard deviations of a cell's detail: a share of the detail; a share of the most that this cell or one near it has
in any frame, which blur spills over; and a share of the noise. The first follows from the number of independent pixels,
the last is guessed, the second was chosen on the simulated camera (seeds 1 to 14 of `tests.support.focus_series`):
with 0.03 a twentieth of the cells of whole series were taken for gaps, with 0.1 half of the true gaps weren't told."""

CELL_BLOCKS = 2
"""Blocks along a cell's side: 16 px at hand. With 24 px more cells held two depths, with 8 px too little detail: on the
simulated camera (seeds 3001 to 3024) of 48 ends that were open one was missed, five and one with those, and of 63 that
weren't 10 were told, 13 and 16 with those."""

MOST_CELLS_ACROSS = 160
"""Of larger pictures the cells are larger: a map is read by eye. Chosen."""

DETAIL_OVER_NOISE = 1.0
"""A cell has detail when in some frame, at some scale, its energy is more than this many times the noise. Chosen."""

MOST_BURNT = 0.02
"""A cell that is clipped over more than this share in any frame can't be told. Chosen."""

REACH_RATIO = 1.5
"""Curves are worked out as far as the next power of this, mm, so that one serves many series."""

MOST_WAVES = 200.0
"""Farther out of focus nothing is left at any scale."""


@dataclass(frozen=True, eq=False)
class CellDetail:
    """The detail of each cell in each frame, laid on the frame of size 1.

    excess   (planes, scales, rows, columns) beyond the noise
    noise    the same, noise
    seen     (rows, columns) whether the cell shows anything in any frame, and isn't burnt
    reduced  full-size pixels per pixel of the measured pictures
    side     of a cell, blocks
    """

    excess: Floats
    noise: Floats
    seen: NDArray[np.bool_]
    reduced: float
    side: int


def detail_by_cell(frames: Sequence[PlaneFrame], scales: Sequence[float]) -> CellDetail:
    """The detail of frames of one size in common cells; `scales`: the size of each picture over the common size."""
    side = max(CELL_BLOCKS, math.ceil(frames[0].detail.shape[2] / MOST_CELLS_ACROSS))
    detail, noise, burnt = (
        np.stack([_cells(layers, scale, side) for layers, scale in zip(of_frames, scales, strict=True)])
        for of_frames in (
            [frame.detail for frame in frames],
            [frame.noise for frame in frames],
            [frame.burnt[None] for frame in frames],
        )
    )
    excess = np.maximum(detail - noise, 0)
    seen = (excess.max(axis=0) > DETAIL_OVER_NOISE * noise.mean(axis=0)).any(axis=0)
    seen &= burnt.max(axis=(0, 1)) <= MOST_BURNT
    return CellDetail(excess, noise, seen, frames[0].reduced, side)


def weights_of(excess: Floats, noise: Floats, reach: int) -> Floats:
    """1/variance of each cell's detail in each frame, (planes, rows, columns); reach: cells from which blur spills."""
    most = _highest_near(excess.max(axis=0), reach)
    variance = (DETAIL_DOUBT * excess) ** 2 + (SPILL_DOUBT * most) ** 2 + (NOISE_DOUBT * noise) ** 2
    return np.asarray(1 / np.maximum(variance, np.float32(1e-20)))


def energies_left(
    lens: SeriesLens, reduced: float, away_mm: NDArray[np.float64], farthest_mm: float = 0.0
) -> dict[float, list[Floats]]:
    """What each power leaves at each scale so far from the plane of focus, as `energy_left` has it."""
    return {
        power: [energy_left(lens, reduced, scale, power, away_mm, farthest_mm) for scale in range(SCALES)]
        for power in POWERS
    }


def likely_depths(passed: Mapping[float, Sequence[Floats]], excess: Floats, weights: Sequence[Floats]) -> Floats:
    """Probability of each depth that is tried, (depths, rows, columns), whichever kind the detail is of.

    passed   for each power and scale (depths, planes), see `energies_left`
    excess   (planes, scales, rows, columns)
    weights  for each scale (planes, rows, columns)
    """
    costs = _costs(passed, excess, weights)
    costs -= costs.min(axis=(0, 1))
    likely = np.exp(np.float32(-0.5) * costs).sum(axis=0)
    likely /= likely.sum(axis=0)
    return np.asarray(likely)


def least_costs(passed: Mapping[float, Sequence[Floats]], excess: Floats, weights: Sequence[Floats]) -> Floats:
    """What the depth and the kind that suit each cell best leave unexplained, (rows, columns); see `likely_depths`."""
    return np.asarray(_costs(passed, excess, weights).min(axis=(0, 1)))


def _costs(passed: Mapping[float, Sequence[Floats]], excess: Floats, weights: Sequence[Floats]) -> Floats:
    """Cost of each kind and depth for each cell, (kinds, depths, rows, columns)."""
    alone = {
        (power, scale): _misfit(passed[power][scale], excess[:, scale], weights[scale])
        for scale, power in {one for kind in KINDS for one in enumerate(kind)}
    }
    return np.stack([sum(alone[power, scale] for scale, power in enumerate(kind)) for kind in KINDS])


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


def energy_left(
    lens: SeriesLens, reduced: float, scale: int, power: float, away_mm: NDArray[np.float64], farthest_mm: float = 0.0
) -> Floats:
    """Share of a scale's energy that is left so far from the plane of focus; away_mm in any shape.

    reduced      full-size pixels per pixel of the measured picture
    scale        0 for the measured picture, 1 and 2 for means of two and four of its pixels along each side
    farthest_mm  the curve is worked out as far as this at least, so that it serves other distances too
    """
    tried_mm, left = _curve(
        lens.lens.effective_f_number,
        lens.lens.magnification,
        lens.pixel_pitch_um,
        reduced,
        2**scale,
        power,
        REACH_RATIO ** math.ceil(math.log(max(float(away_mm.max()), farthest_mm, 1e-3), REACH_RATIO)),
    )
    return np.interp(away_mm, tried_mm, left).astype(np.float32)


@lru_cache(maxsize=32)
def _curve(
    effective_f_number: float,
    magnification: float,
    pitch_um: float,
    reduced: float,
    means: int,
    power: float,
    farthest_mm: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distances from the plane of focus, mm, and the energy of second differences that is left there, 1 in focus.

    means  of so many pixels along each side are taken, which are pitch_um wide. Means don't keep out what is finer than
           two of them: it comes in as coarser detail, and blur takes it first.
    """
    cycles = _cycles(means)
    angle = np.linspace(0, np.pi / 2, 33)
    along = [cycles[:, None] * part for part in (np.cos(angle), np.sin(angle))]
    passed = [np.sinc(way) / np.sinc(way / means) * np.sinc(way / means / reduced) for way in along]
    response = sum((2 - 2 * np.cos(2 * np.pi * way)) ** 2 for way in along) * (passed[0] * passed[1]) ** 2
    weight = response.mean(axis=1) * cycles ** (1 - power)
    tried_mm, left_of = _transfers(effective_f_number, magnification, pitch_um * reduced * means, means, farthest_mm)
    left = (weight * left_of**2).sum(axis=1)
    return tried_mm, left / left[0]


@lru_cache(maxsize=32)
def _transfers(
    effective_f_number: float, magnification: float, pitch_um: float, means: int, farthest_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distances from the plane of focus, mm, and the transfer of each of the curve's frequencies there.

    All powers of detail share it, and it is most of a curve's work.
    """
    wave_mm = GREEN_UM / 1000 * effective_f_number
    relative = _cycles(means) / (pitch_um / 1000) * wave_mm
    tried_mm = np.linspace(0, 1, 120) ** 2 * farthest_mm
    waves = tried_mm * magnification**2 / effective_f_number / (8 * wave_mm)
    return tried_mm, np.array([transfer_defocused(relative, min(wave, MOST_WAVES)) for wave in waves])


def _cycles(means: int) -> NDArray[np.float64]:
    """Frequencies of a curve, cycles per mean of so many pixels a side, as far as the pixels hold any."""
    return np.linspace(0.01, 0.5 * means, 50 * means)


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
