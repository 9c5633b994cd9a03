"""What a focus series truly made sharp, from the simulated table's heights and its own optics."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from mock_camera.scene.optics import focus_at
from session.optics.arrangement import bare
from session.picture.displacement import Motion
from session.series.breathing import BY_DRIVE, ON_RAIL, measure_step, place_planes, size_at
from session.series.coverage_map import Coverage, Gap, coverage, gaps
from session.series.plane_frame import PlaneFrame, read_plane_frame
from session.series.series_plan import SeriesLens, SeriesPlan, series_over
from tests.support.focus_series import FOCAL_LENGTH_MM, LIMIT_PX, SeriesTable, random_table

Floats = NDArray[np.floating]
NumberT = TypeVar("NumberT", np.bool_, np.floating, np.float64)

DETAIL_SHARE = 0.025
"""Fine contrast from which on a place has detail that blur would take: twice the noise of a middling grey."""

EDGE_PX = 7
"""Places with an edge of depth so near belong to both sides."""


@dataclass
class ShotSeries:
    """A whole series of a table, as shot: its files, where the planes of focus truly were, and its plan."""

    table: SeriesTable
    lens: SeriesLens
    plan: SeriesPlan
    paths: list[Path]
    true_mm: list[float]


@dataclass
class TrueMap:
    """What a middle frame shows, (height, width): where it lies, mm, and whether there is detail, on one side only."""

    depth_mm: Floats
    detail: NDArray[np.bool_]


def shoot(table: SeriesTable, folder: Path) -> ShotSeries:
    """Shoot the series that the plan gives for all that the picture shows."""
    lens = SeriesLens(bare(FOCAL_LENGTH_MM, table.f_number, table.magnification), 1000 * table.pitch_mm, LIMIT_PX)
    near_mm, far_mm = float(table.shown_mm.min()), float(table.shown_mm.max())
    plan = series_over(far_mm - near_mm, lens)
    plan = replace(plan, planes_mm=tuple(near_mm + plane_mm for plane_mm in plan.planes_mm))
    paths = [folder / f"{number}.jpg" for number in range(len(plan.planes_mm))]
    true_mm = [table.expose(path, plane) for path, plane in zip(paths, plan.planes_mm, strict=True)]
    return ShotSeries(table, lens, plan, paths, true_mm)


@cache
def label_series() -> ShotSeries:
    """A leaning label, by the drive, four planes; shot once for all tests, which only read the files."""
    folder = Path(tempfile.mkdtemp(prefix="stillset-series-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return shoot(random_table(1, by_rail=False, piece="label"), folder)


def measured(series: ShotSeries, kept: Sequence[int]) -> tuple[list[PlaneFrame], Coverage, tuple[Gap, ...]]:
    """Frames, map and gaps of some frames of a series, by what the program knows."""
    frames = [read_plane_frame(str(series.paths[number]), LIMIT_PX, keep_colours=True) for number in kept]
    step_mm = series.plan.step_mm
    planes = series.plan.planes_mm
    steps_mm = [planes[after] - planes[before] for before, after in pairwise(kept)]
    placing = ON_RAIL if series.table.by_rail else BY_DRIVE
    sizes = [Motion(scale=size_at(series.lens.lens, step, placing.by_rail)) for step in steps_mm]
    steps = [
        measure_step(one, other, step, size)
        for (one, other), step, size in zip(pairwise(frames), steps_mm, sizes, strict=True)
    ]
    found = coverage(frames, place_planes(steps, series.lens.lens, placing), series.lens)
    return frames, found, gaps(found, step_mm)


def true_map(series: ShotSeries, middle: int) -> TrueMap:
    """The truth as the frame `middle` shows it; detail is looked for in each place's truly sharpest frame."""
    table = series.table
    sizes = [table.scale_at(plane) for plane in series.true_mm]
    depth = _resized(table.shown_mm, 1 / sizes[middle], Image.Resampling.NEAREST)
    planes = np.array(series.true_mm)
    stack = []
    for path, size in zip(series.paths, sizes, strict=True):
        grey = np.asarray(Image.open(path).convert("L"), np.float32)
        stack.append(_resized(grey, size / sizes[middle], Image.Resampling.BICUBIC))
    sharpest = np.abs(depth[None] - planes[:, None, None]).argmin(axis=0)
    picture = np.take_along_axis(np.stack(stack), sharpest[None], 0)[0]
    return TrueMap(depth, _with_detail(picture, depth, series.plan.sharp.depth_mm))


def truth_of_table(table: SeriesTable, folder: Path) -> TrueMap:
    """The truth as the table lies, before any frame; detail is looked for in two frames at a small opening."""
    near_mm, far_mm = float(table.shown_mm.min()), float(table.shown_mm.max())
    planes = np.array([0.75 * near_mm + 0.25 * far_mm, 0.25 * near_mm + 0.75 * far_mm])
    stack = []
    for number, plane in enumerate(planes):
        path = folder / f"truth{number}.jpg"
        table.small_opening(path, float(plane))
        size = focus_at(table.focused_lens, table.f_number, float(plane)).scale
        stack.append(_resized(np.asarray(Image.open(path).convert("L"), np.float32), size, Image.Resampling.BICUBIC))
    sharpest = np.abs(table.shown_mm[None] - planes[:, None, None]).argmin(axis=0)
    depth_of_frame_mm = (
        SeriesLens(bare(FOCAL_LENGTH_MM, table.f_number, table.magnification), 1000 * table.pitch_mm, LIMIT_PX)
        .sharp(1e-3)
        .depth_mm
    )
    picture = np.take_along_axis(np.stack(stack), sharpest[None], 0)[0]
    return TrueMap(table.shown_mm, _with_detail(picture, table.shown_mm, depth_of_frame_mm))


def never_sharp_share(table: SeriesTable, true: TrueMap, planes_mm: Sequence[float]) -> float:
    """Share of the area with detail that no frame has within the blur limit; planes as they truly were."""
    off_mm = np.abs(true.depth_mm[None] - np.array(planes_mm)[:, None, None]).min(axis=0)
    blurred = table.total_blur_px(off_mm) > LIMIT_PX
    return float((blurred & true.detail).sum() / max(1, true.detail.sum()))


def _with_detail(picture: Floats, depth_mm: Floats, frame_depth_mm: float) -> NDArray[np.bool_]:
    y, x = np.mgrid[-2:3, -2:3]
    disc = (x * x + y * y <= 4.5).astype(float)  # a blur of two limits
    fine = picture - ndimage.convolve(picture, disc / disc.sum())
    contrast = np.sqrt(ndimage.uniform_filter(fine**2, 7)) / (ndimage.uniform_filter(picture, 7) + 16)
    jump = ndimage.maximum_filter(depth_mm, EDGE_PX) - ndimage.minimum_filter(depth_mm, EDGE_PX)
    return np.asarray((contrast > DETAIL_SHARE) & (jump < frame_depth_mm / 4))


def _resized(values: Floats, scale: float, how: Image.Resampling) -> Floats:
    height, width = values.shape
    place = (scale, 0.0, width / 2 * (1 - scale), 0.0, scale, height / 2 * (1 - scale))
    return np.asarray(
        Image.fromarray(values.astype(np.float32)).transform((width, height), Image.Transform.AFFINE, place, how)
    )


def by_cells(values: NDArray[NumberT], found: Coverage) -> NDArray[NumberT]:
    """Pixels (height, width) as (rows, columns, pixels of a cell) of a map."""
    rows, columns = found.state.shape
    side = round(found.cell_px)
    cut = values[: rows * side, : columns * side].reshape(rows, side, columns, side)
    return cut.transpose(0, 2, 1, 3).reshape(rows, columns, -1)
