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
    depth_mm = depths_everywhere(found)
    nearest = np.abs(depth_mm[None] - np.array(found.planes_mm, np.float32)[:, None, None]).argmin(axis=0)
    height, width = pictures[0].shape[:2]
    cells_px = found.cell_px / frames[0].reduced * width / frames[0].measured_px[0]
    summed = [np.zeros((*shape, 3), np.float32) for shape in _level_shapes(height, width)]
    weights = [np.zeros(layer.shape[:2], np.float32) for layer in summed]
    for number, (colours, scale) in enumerate(zip(pictures, scales, strict=True)):
        mask = nearest == number
        if not mask.any():
            continue
        # only where the frame counts, and as far around as the coarsest level reaches
        part = _part_around(mask, (height, width), cells_px, 2 ** (len(summed) - 1))
        share = _spread(mask.astype(np.float32), part, cells_px)
        layers = _laplacian(_lay_on_middle(colours, scale, part), len(summed))
        for level, (layer, weight) in enumerate(zip(layers, _means(share, len(summed)), strict=True)):
            top, left = part[0].start >> level, part[1].start >> level
            here = slice(top, top + layer.shape[0]), slice(left, left + layer.shape[1])
            summed[level][here] += layer * weight[..., None]
            weights[level][here] += weight
    merged: list[Floats] = [
        np.asarray(total / np.maximum(weight, 1e-6)[..., None], np.float32)
        for total, weight in zip(summed, weights, strict=True)
    ]
    picture = merged[-1]
    for layer in reversed(merged[:-1]):
        picture = layer + _larger(picture, layer.shape)
    return MergedPreview(
        np.clip(np.rint(picture), 0, 255).astype(np.uint8),
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


def _lay_on_middle(colours: NDArray[np.uint8], scale: float, part: tuple[slice, slice]) -> Floats:
    """A part of the picture laid on the middle frame, by its rows and columns there.

    Where the frame ends before the middle one does, its last pixels go on, so that no black comes in.
    """
    picture = Image.fromarray(colours)
    width, height = picture.size
    top, left = part[0].start, part[1].start
    size = (part[1].stop - left, part[0].stop - top)
    place = (scale, 0.0, scale * left + width / 2 * (1 - scale), 0.0, scale, scale * top + height / 2 * (1 - scale))
    laid = picture.transform(size, Image.Transform.AFFINE, place, Image.Resampling.BICUBIC)
    values = np.asarray(laid, np.float32)
    if scale <= 1:
        return values
    kept, pad = [], []
    for within, length in zip(part, (height, width), strict=True):
        gone = int(np.ceil(length / 2 * (1 - 1 / scale))) + 1
        before = min(max(0, gone - within.start), within.stop - within.start - 1)
        after = min(max(0, within.stop - (length - gone)), within.stop - within.start - 1 - before)
        kept.append(slice(before, within.stop - within.start - after))
        pad.append((before, after))
    return np.pad(values[kept[0], kept[1]], (*pad, (0, 0)), "edge")


def _spread(mask: Floats, part: tuple[slice, slice], cell_px: float) -> Floats:
    """Cells (rows, columns) laid over a part of the picture, by its rows and columns, soft over half a cell."""
    rows, columns = mask.shape
    top, left = part[0].start, part[1].start
    size = (part[1].stop - left, part[0].stop - top)
    spare = np.pad(mask, ((0, 1), (0, 1)), "edge")
    place = (1 / cell_px, 0.0, left / cell_px, 0.0, 1 / cell_px, top / cell_px)
    laid = Image.fromarray(spare).transform(size, Image.Transform.AFFINE, place, Image.Resampling.BILINEAR)
    out = np.asarray(laid, np.float32).copy()
    right, bottom = max(1, int(columns * cell_px) - left), max(1, int(rows * cell_px) - top)
    out[:, right:] = out[:, right - 1 : right]
    out[bottom:] = out[bottom - 1 : bottom]
    return out


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
