"""A preview of what a series gives when it is merged: each place from its sharpest frame, with smooth seams.

It is a proof, not the picture to deliver: small, and with faults of its own, which are marked. Seams are hidden by
blending coarse structure over wide transitions and fine structure over narrow ones: the Laplacian pyramid of Burt and
Adelson, ACM Trans. Graphics 2 (1983) 217 (value from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from session.series.coverage_map import GAP, Coverage
from session.series.plane_frame import PlaneFrame
from session.units.refusals import ImpossibleNumbersError

Floats = NDArray[np.float32]

SMALLEST_PX = 16
"""The pyramid ends where the shorter side would fall under this. Chosen."""

COARSE = 4
"""How many times smaller the picture is of which the pyramid is built. What is finer is blended in one step, over the
width of a cell, in whole codes: that takes a fifth of the time of a pyramid of the whole. Chosen."""

FEWEST_AGREEING = 2
"""Cells around with which a cell must share its depth to be more than a slip of the map. Chosen."""

HALO_DEPTHS = 1.5
"""Neighbouring cells whose depths differ by more than this many depths of field: what is in front was blurred over what
lies behind in the frame that is sharp there, and no frame has both. Worked out from a blur of three limits. Chosen."""


@dataclass(frozen=True, eq=False)
class MergedPreview:
    """The merged picture and where it can't be trusted.

    picture  (height, width, 3) uint8 sRGB
    cell_px  side of a cell of the map, px of the picture
    halo     (rows, columns) bool, cells at an edge of depth, by the map's cells
    never_sharp  (rows, columns) bool, cells that no frame has sharp
    """

    picture: NDArray[np.uint8]
    cell_px: float
    halo: NDArray[np.bool_]
    never_sharp: NDArray[np.bool_]


def merged_preview(frames: Sequence[PlaneFrame], scales: Sequence[float], found: Coverage) -> MergedPreview:
    """Merge the frames' colour pictures by the map; scales: sizes of the frames against the middle frame's.

    Raises ValueError for frames whose colours weren't kept.
    """
    pictures = [frame.colours for frame in frames if frame.colours is not None]
    if len(pictures) < len(frames):
        raise ImpossibleNumbersError(f"{len(frames) - len(pictures)} of {len(frames)} frames were read without colours")
    depth_mm = _without_lone_cells(depths_everywhere(found), found.frame_depth_mm)
    nearest = np.abs(depth_mm[None] - np.array(found.planes_mm, np.float32)[:, None, None]).argmin(axis=0)
    height, width = pictures[0].shape[:2]
    cells_px = found.cell_px / frames[0].reduced * width / frames[0].measured_px[0]
    shapes = _level_shapes(-(-height // COARSE), -(-width // COARSE))
    fine = np.zeros((height, width, 3), np.float32)
    summed = [np.zeros((*shape, 3), np.float32) for shape in shapes]
    weights = [np.zeros(shape, np.float32) for shape in shapes]
    for number, (colours, scale) in enumerate(zip(pictures, scales, strict=True)):
        mask = (nearest == number).astype(np.float32)
        if not mask.any():
            continue
        # only where the frame counts, and as far around as the coarsest level reaches
        part = _part_around(mask > 0, (height, width), cells_px, COARSE * 2 ** (len(shapes) - 1))
        coarse_part = (
            slice(part[0].start // COARSE, -(-part[0].stop // COARSE)),
            slice(part[1].start // COARSE, -(-part[1].stop // COARSE)),
        )
        picture = Image.fromarray(colours)
        coarse = _lay_on_middle(picture, scale, coarse_part, COARSE)
        beyond = _lay_on_middle(picture, scale, part, 1).astype(np.int16)
        beyond -= _enlargement(coarse, beyond.shape)
        # weights three times over: to multiply along the last axis of three takes NumPy twice as long
        beyond_weighted = np.repeat(_spread(mask, part, cells_px), 3, axis=1)
        beyond_weighted *= beyond.reshape(beyond_weighted.shape)
        fine[part] += beyond_weighted.reshape(beyond.shape)
        share = _spread(mask, coarse_part, cells_px / COARSE)
        layers = _laplacian(coarse.astype(np.float32), len(shapes))
        for level, (layer, weight) in enumerate(zip(layers, _means(share, len(shapes)), strict=True)):
            top, left = coarse_part[0].start >> level, coarse_part[1].start >> level
            here = slice(top, top + layer.shape[0]), slice(left, left + layer.shape[1])
            summed[level][here] += layer * weight[..., None]
            weights[level][here] += weight
    merged = [
        np.asarray(total / np.maximum(weight, 1e-6)[..., None], np.float32)
        for total, weight in zip(summed, weights, strict=True)
    ]
    whole = merged[-1]
    for layer in reversed(merged[:-1]):
        whole = layer + _larger(whole, layer.shape)
    fine += _enlargement(_codes(whole), fine.shape)
    return MergedPreview(
        _codes(fine),
        cells_px,
        _edges(depth_mm, HALO_DEPTHS * found.frame_depth_mm),
        found.state == GAP,
    )


def label(preview: MergedPreview, text: str) -> Image.Image:
    """The preview with its doubtful cells outlined, thin at edges of depth and thick where nothing was sharp.

    Under the picture stands a strip with the text, so that nobody takes it for the picture to deliver.
    """
    height, width = preview.picture.shape[:2]
    strip_px = max(16, height // 32)
    sheet = Image.new("RGB", (width, height + strip_px), (24, 24, 24))
    sheet.paste(Image.fromarray(preview.picture))
    pen = ImageDraw.Draw(sheet)
    for cells, line_px in ((preview.halo, 1), (preview.never_sharp, 3)):
        for row, column in zip(*np.nonzero(cells), strict=True):
            left, top = column * preview.cell_px, row * preview.cell_px
            right, bottom = left + preview.cell_px - 1, top + preview.cell_px - 1
            pen.rectangle((left, top, right, bottom), outline=(235, 235, 235), width=line_px)
    font = ImageFont.load_default(strip_px * 0.6)
    pen.text((strip_px // 2, height + strip_px // 2), text, fill=(235, 235, 235), font=font, anchor="lm")
    return sheet


def depths_everywhere(found: Coverage) -> Floats:
    """The map's depths, mm, with places that can't be told filled from those around, near before far."""
    known = np.isfinite(found.depth_mm)
    if not known.any():
        middle = found.planes_mm[len(found.planes_mm) // 2]
        return np.full(found.depth_mm.shape, middle, np.float32)
    values, weight = np.where(known, found.depth_mm, 0).astype(np.float32), known.astype(np.float32)
    filled = values.copy()
    while not known.all():
        values, weight = _around(values), _around(weight)
        now = ~known & (weight > 0)
        filled[now] = values[now] / weight[now]
        known = known | now
    return filled


def _without_lone_cells(depth_mm: Floats, frame_depth_mm: float) -> Floats:
    """The depths, mm, where a cell with which fewer than two of the eight around agree takes the middle depth of these.

    A median filter is usual for depths from focus; this filter changes lone cells only, and keeps edges and lines.
    """
    padded = np.pad(depth_mm, 1, constant_values=np.nan)
    places = [(row, column) for row in range(3) for column in range(3) if (row, column) != (1, 1)]
    rows, columns = depth_mm.shape
    around = np.stack([padded[row : row + rows, column : column + columns] for row, column in places])
    agreeing = (np.abs(around - depth_mm) <= frame_depth_mm).sum(axis=0)
    return np.where(agreeing < FEWEST_AGREEING, np.nanmedian(around, axis=0), depth_mm).astype(np.float32)


def _around(values: Floats) -> Floats:
    """Sums over every cell with the eight cells around."""
    padded = np.pad(values, 1)
    down = padded[:-2] + padded[1:-1] + padded[2:]
    return np.asarray(down[:, :-2] + down[:, 1:-1] + down[:, 2:])


def _edges(depth_mm: Floats, most_mm: float) -> NDArray[np.bool_]:
    edges = np.zeros(depth_mm.shape, bool)
    across, down = np.abs(np.diff(depth_mm, axis=1)) > most_mm, np.abs(np.diff(depth_mm, axis=0)) > most_mm
    edges[:, 1:] |= across
    edges[:, :-1] |= across
    edges[1:] |= down
    edges[:-1] |= down
    return edges


def _level_shapes(height: int, width: int) -> list[tuple[int, int]]:
    """Height and width of each level of the pyramid, the whole picture first."""
    shapes = [(height, width)]
    while min(shapes[-1]) >= 2 * SMALLEST_PX:
        shapes.append((shapes[-1][0] // 2, shapes[-1][1] // 2))
    return shapes


def _part_around(
    mask: NDArray[np.bool_], shape: tuple[int, int], cell_px: float, coarsest_px: int
) -> tuple[slice, slice]:
    """Rows and columns of the picture that hold all cells of the mask, with a pixel of the coarsest level around."""
    part = []
    for axis, length in enumerate(shape):
        cells = np.flatnonzero(mask.any(axis=1 - axis))
        # beyond the last whole cell the picture goes on with it
        last = length if cells[-1] == mask.shape[axis] - 1 else math.ceil((cells[-1] + 2) * cell_px)
        first = math.floor((cells[0] - 1) * cell_px)
        start = max(0, (first // coarsest_px - 1) * coarsest_px)
        part.append(slice(start, min(length, (-(-last // coarsest_px) + 1) * coarsest_px)))
    return part[0], part[1]


def _lay_on_middle(picture: Image.Image, scale: float, part: tuple[slice, slice], times: int) -> NDArray[np.uint8]:
    """A part of the picture laid on the middle frame and made `times` smaller, by its rows and columns there.

    Where the frame ends before the middle one does, its last pixels go on, so that no black comes in.
    """
    sizes, starts, stops, places = [], [], [], []
    for within, length in zip(reversed(part), picture.size, strict=True):
        begins, step = length / 2 * (1 - scale), scale * times  # pixel n lies from begins + n·step on
        first_shown, last_shown = math.ceil(max(0.0, -begins) / step), math.floor((length - begins) / step)
        first = min(max(within.start, first_shown), last_shown - 1)
        last = max(min(within.stop, last_shown), first + 1)
        sizes.append(last - first)
        starts.append(max(0.0, begins + first * step))
        stops.append(min(float(length), begins + last * step))
        places.append(np.clip(np.arange(within.start, within.stop), first, last - 1) - first)
    how = Image.Resampling.LANCZOS if times == 1 else Image.Resampling.BOX
    laid = np.asarray(picture.resize((sizes[0], sizes[1]), how, (starts[0], starts[1], stops[0], stops[1])))
    across, down = places
    laid = laid if len(down) == sizes[1] else laid[down]
    return laid if len(across) == sizes[0] else laid[:, across]


def _enlargement(coarse: NDArray[np.uint8], shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """The coarse picture COARSE times as large, straight between its pixels, as far as the shape goes."""
    height, width = coarse.shape[0] * COARSE, coarse.shape[1] * COARSE
    large = Image.fromarray(coarse).resize((width, height), Image.Resampling.BILINEAR)
    return np.asarray(large)[: shape[0], : shape[1]]


def _codes(values: Floats) -> NDArray[np.uint8]:
    return np.clip(np.rint(values), 0, 255).astype(np.uint8)


def _spread(mask: Floats, part: tuple[slice, slice], cell_px: float) -> Floats:
    """Cells (rows, columns) laid over a part of the picture, by its rows and columns, soft over a cell.

    Beyond the last whole cell the picture goes on with it.
    """
    spare = [(0, max(0, math.ceil(axis.stop / cell_px) - count)) for axis, count in zip(part, mask.shape, strict=True)]
    (top, bottom), (left, right) = ((axis.start / cell_px, axis.stop / cell_px) for axis in part)
    size = (part[1].stop - part[1].start, part[0].stop - part[0].start)
    cells = Image.fromarray(np.pad(mask, spare, "edge"))
    return np.asarray(cells.resize(size, Image.Resampling.BILINEAR, (left, top, right, bottom)), np.float32)


def _means(values: Floats, count: int) -> list[Floats]:
    """The picture and its means over 2 x 2 px, over and over, `count` levels in all."""
    levels = [values]
    while len(levels) < count:
        levels.append(_smaller(levels[-1]))
    return levels


def _laplacian(values: Floats, count: int) -> list[Floats]:
    """What each of `count` levels has beyond the next coarser, and the coarsest."""
    levels = _means(values, count)
    fine = [one - _larger(next_one, one.shape) for one, next_one in pairwise(levels)]
    return [*fine, levels[-1]]


def _smaller(values: Floats) -> Floats:
    height, width = values.shape[0] // 2 * 2, values.shape[1] // 2 * 2
    cut = values[:height, :width]
    across = cut[:, 0::2] + cut[:, 1::2]
    return np.asarray((across[0::2] + across[1::2]) * np.float32(0.25))


def _larger(values: Floats, shape: tuple[int, ...]) -> Floats:
    """The level at the size of the finer one, straight between its pixels."""
    layers = np.moveaxis(values, 2, 0)
    height, width = shape[:2]
    out = np.empty((len(layers), height, width), np.float32)
    for number, layer in enumerate(layers):
        whole = Image.fromarray(np.ascontiguousarray(layer)).resize(
            (2 * layer.shape[1], 2 * layer.shape[0]), Image.Resampling.BILINEAR
        )
        large = np.asarray(whole, np.float32)
        out[number] = np.pad(large, ((0, height - large.shape[0]), (0, width - large.shape[1])), "edge")
    return np.moveaxis(out, 0, 2)
