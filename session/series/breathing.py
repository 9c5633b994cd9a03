"""How large each frame of a series shows the piece, and where its plane of focus therefore was.

Focusing farther shrinks the picture of what stays where it is; moving the camera forward on a rail enlarges it. Both
follow from the lens, so that a change of size is no bump, and tells the way that the plane of focus went. Where planned
and measured way differ, each counts by its own certainty.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from session.optics.arrangement import EquivalentLens
from session.picture.displacement import Motion, motion_between
from session.picture.registration import NOT_MOVED
from session.series.plane_frame import PlaneFrame

RAIL_DOUBT_MM = 0.1
"""How far a hand leaves a rail from where it was wanted, standard deviation. Common practice, no source."""

DRIVE_DOUBT = 0.05
"""The same of a drive, as a share of the step: what a drive is measured to."""

SHIFT_DOUBT_PX = 0.1
"""Standard deviation of a tile's shift, px of the small picture, of which half is taken at least: the step of
`registration`."""


@dataclass(frozen=True)
class StepMeasured:
    """From one frame to the next.

    planned_mm   the way of the plane of focus
    motion       from the earlier frame to the later, px of the small picture; None when too few tiles agree
    scale_sd     of the motion's scale, no unit
    shift_sd_px  of its shift, px of the small picture
    expected_scale  by the lens, for the planned way
    """

    planned_mm: float
    motion: Motion | None
    scale_sd: float
    shift_sd_px: float
    expected_scale: float


def size_at(lens: EquivalentLens, moved_mm: float, by_rail: bool) -> float:
    """Size of the picture of what stays where it is with the plane of focus moved, mm, + = away, against before.

    By the ring (m' + P)/(m + P) with m' = f/(f/m + moved); on a rail the piece comes nearer to the entrance pupil.
    Derived; see `session.optics.steps.refocus`.
    """
    if by_rail:
        return lens.entrance_pupil_distance_mm / (lens.entrance_pupil_distance_mm - moved_mm)
    ratio = lens.focal_length_mm / (lens.focal_length_mm / lens.magnification + moved_mm)
    pupil = lens.pupil_magnification
    return (ratio + pupil) / (lens.magnification + pupil)


def measure_step(
    before: PlaneFrame, after: PlaneFrame, lens: EquivalentLens, step_mm: float, by_rail: bool
) -> StepMeasured:
    """Register a frame on the one before it; step_mm as planned. Raises ValueError when their sizes differ."""
    expected = size_at(lens, step_mm, by_rail)
    found = motion_between(before.small, after.small, NOT_MOVED)
    if found is None:
        return StepMeasured(step_mm, None, math.inf, math.inf, expected)
    motion, tiles = found
    agreeing = tiles.agreeing
    middle = np.array(before.small.shape[::-1]) / 2
    away_px = tiles.centres[agreeing] - middle
    scatter_px = max(SHIFT_DOUBT_PX / 2, float(np.sqrt((tiles.left[agreeing] ** 2).mean())))
    scale_sd = scatter_px / max(1e-9, float(np.sqrt((away_px**2).sum())))
    shift_sd_px = scatter_px / math.sqrt(max(1, int(agreeing.sum())))
    return StepMeasured(step_mm, motion, scale_sd, shift_sd_px, expected)


def planes_and_scales(
    steps: Sequence[StepMeasured], lens: EquivalentLens, by_rail: bool
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Where each plane of focus was, mm from the first, and each frame's size against the middle one's."""
    planes_mm, sizes = [0.0], [1.0]
    for one in steps:
        moved_mm = way_mm(one, lens, by_rail)
        planes_mm.append(planes_mm[-1] + moved_mm)
        sizes.append(sizes[-1] * size_at(lens, moved_mm, by_rail))
    middle = sizes[len(sizes) // 2]
    return tuple(planes_mm), tuple(size / middle for size in sizes)


def way_mm(one: StepMeasured, lens: EquivalentLens, by_rail: bool) -> float:
    """The way of the plane of focus from frame to frame, mm: planned and measured, each by its own certainty."""
    slope = (size_at(lens, one.planned_mm, by_rail) - 1) / one.planned_mm if one.planned_mm else 0.0
    if one.motion is None or not slope:
        return one.planned_mm
    measured_mm, measured_sd = (one.motion.scale - 1) / slope, one.scale_sd / abs(slope)
    planned_sd = RAIL_DOUBT_MM if by_rail else abs(one.planned_mm) * DRIVE_DOUBT
    by_plan, by_picture = 1 / planned_sd**2, 1 / measured_sd**2
    return (one.planned_mm * by_plan + measured_mm * by_picture) / (by_plan + by_picture)
