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

COMMON_DOUBT = 0.15
"""Share by which all ways by the picture may be wrong alike, standard deviation: what is blurred in front hides what
moves behind. A tray of type on the simulated camera (seed 1003) came out a sixth too short, labels right to 1 %."""

OUTRIGHT, OUTRIGHT_SDS = 0.4, 4.0
"""Plan and picture contradict each other when they differ by this share of the step and so many standard deviations: a
frame that is missing makes a whole step. Chosen."""

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
    """

    planned_mm: float
    motion: Motion | None
    scale_sd: float
    shift_sd_px: float


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


def measure_step(before: PlaneFrame, after: PlaneFrame, step_mm: float) -> StepMeasured:
    """Register a frame on the frame before; step_mm as planned. Raises ValueError when their sizes differ."""
    found = motion_between(before.small, after.small, NOT_MOVED)
    if found is None:
        return StepMeasured(step_mm, None, math.inf, math.inf)
    motion, tiles = found
    agreeing = tiles.agreeing
    middle = np.array(before.small.shape[::-1]) / 2
    away_px = tiles.centres[agreeing] - middle
    scatter_px = max(SHIFT_DOUBT_PX / 2, float(np.sqrt((tiles.left[agreeing] ** 2).mean())))
    scale_sd = scatter_px / max(1e-9, float(np.sqrt((away_px**2).sum())))
    shift_sd_px = scatter_px / math.sqrt(max(1, int(agreeing.sum())))
    return StepMeasured(step_mm, motion, scale_sd, shift_sd_px)


def planes_and_scales(
    steps: Sequence[StepMeasured], lens: EquivalentLens, by_rail: bool
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Where each plane of focus was, mm from the first, and each frame's size against the middle one's.

    Least squares of the planned places, the ways that the pictures tell, and a share by which all of these may be wrong
    alike. Where plan and picture contradict each other outright, a frame was left out, and the picture is believed.
    """
    ways = [_way_by_picture(one, lens, by_rail) for one in steps]
    planned_mm = np.cumsum([0.0, *(_way_believed(one, way) for one, way in zip(steps, ways, strict=True))])
    count = len(planned_mm)
    rows, wanted = [], []
    for number in range(count):
        step_mm = abs(steps[max(0, number - 1)].planned_mm) if steps else 0.0
        doubt_mm = RAIL_DOUBT_MM if by_rail else max(DRIVE_DOUBT * step_mm, 1e-6)
        rows.append(np.eye(1, count + 1, number)[0] / doubt_mm)
        wanted.append(planned_mm[number] / doubt_mm)
    for number, way in enumerate(ways):
        if way is None:
            continue
        way_mm, sd_mm = way
        row = np.zeros(count + 1)
        row[number], row[number + 1], row[count] = -1, 1, -way_mm
        rows.append(row / sd_mm)
        wanted.append(way_mm / sd_mm)
    rows.append(np.eye(1, count + 1, count)[0] / COMMON_DOUBT)
    wanted.append(0.0)
    found = np.linalg.lstsq(np.array(rows), np.array(wanted), rcond=None)[0][:count]
    planes_mm = tuple(float(plane) for plane in found - found[0])
    middle = size_at(lens, planes_mm[count // 2], by_rail)
    return planes_mm, tuple(size_at(lens, plane, by_rail) / middle for plane in planes_mm)


def _way_by_picture(one: StepMeasured, lens: EquivalentLens, by_rail: bool) -> tuple[float, float] | None:
    """The way of the plane of focus by the change of size, and its standard deviation, mm; None for an unknown size."""
    slope = (size_at(lens, one.planned_mm, by_rail) - 1) / one.planned_mm if one.planned_mm else 0.0
    if one.motion is None or not slope:
        return None
    return (one.motion.scale - 1) / slope, one.scale_sd / abs(slope)


def _way_believed(one: StepMeasured, way: tuple[float, float] | None) -> float:
    """The planned way, or the picture's where that is another altogether, mm."""
    if way is None or abs(way[0] - one.planned_mm) < OUTRIGHT * abs(one.planned_mm) + OUTRIGHT_SDS * way[1]:
        return one.planned_mm
    return way[0]
