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
from numpy.typing import NDArray

from session.optics.arrangement import EquivalentLens
from session.picture.displacement import Motion, motion_between
from session.series.plane_frame import PlaneFrame

COMMON_DOUBT = 0.15
"""Share by which all ways by the picture may be wrong alike, standard deviation: what is blurred in front hides what
moves behind. A tray of type on the simulated camera (seed 1003) came out a sixth too short, labels right to 1 %."""

CONTRADICTS_STEPS, CONTRADICTS_COST = 0.4, 4.0
"""A picture that tells a way so many steps from the planned one is asked whether a frame is missing or was taken twice;
that is believed when all planes then fit better by this, two standard deviations. Chosen."""

STAYED = Motion()

LITTLE_MM = 1e-3
"""A way for which the change of size is worked out where none was planned."""

SHIFT_DOUBT_PX = 0.1
"""Standard deviation of a tile's shift, px of the small picture, of which half is taken at least: the step of
`registration`."""


@dataclass(frozen=True)
class Placing:
    """How surely planes come to lie where they were wanted.

    by_rail      the camera moves; else the focus turns
    each_mm      each plane for itself, standard deviation, mm
    each_share   the same as a share of the step, in addition
    common       share by which all ways may be wrong alike, standard deviation
    """

    by_rail: bool
    each_mm: float
    each_share: float
    common: float

    def each_sd_mm(self, step_mm: float) -> float:
        """Of one plane, mm; never nothing."""
        return max(1e-6, math.hypot(self.each_mm, self.each_share * step_mm))


ON_RAIL = Placing(by_rail=True, each_mm=0.1, each_share=0.0, common=0.005)
"""A hand leaves a rail 0.1 mm off, and its scale is cut to half a percent. Common practice, no source."""

BY_DRIVE = Placing(by_rail=False, each_mm=0.0, each_share=0.02, common=0.05)
"""A drive comes back to its own places, to a step in fifty of them; what a step is worth is known to 5 %."""

BY_HAND_ON_RING = Placing(by_rail=False, each_mm=0.0, each_share=0.2, common=0.2)
"""By the live picture's size alone. Guessed."""


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

    @classmethod
    def unknown(cls, planned_mm: float) -> StepMeasured:
        """A way of which the pictures tell nothing."""
        return cls(planned_mm, None, math.inf, math.inf)


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


def measure_step(before: PlaneFrame, after: PlaneFrame, step_mm: float, likely: Motion = STAYED) -> StepMeasured:
    """Register a frame on the frame before; step_mm as planned. Raises ValueError when their sizes differ.

    likely  the motion from which on it is sought: by the lens and the planned way, half the work is left
    """
    found = motion_between(before.tiles, after.tiles, likely)
    if found is None:
        return StepMeasured.unknown(step_mm)
    motion, tiles = found
    agreeing = tiles.agreeing
    middle = np.array(before.small.shape[::-1]) / 2
    away_px = tiles.centres[agreeing] - middle
    scatter_px = max(SHIFT_DOUBT_PX / 2, float(np.sqrt((tiles.left[agreeing] ** 2).mean())))
    scale_sd = scatter_px / max(1e-9, float(np.sqrt((away_px**2).sum())))
    shift_sd_px = scatter_px / math.sqrt(max(1, int(agreeing.sum())))
    return StepMeasured(step_mm, motion, scale_sd, shift_sd_px)


@dataclass(frozen=True, eq=False)
class Planes:
    """Where the frames of a series were focused.

    at_mm        where each was, in the places of the plan
    scales       size of each frame's picture against the middle one's
    apart_sd_mm  of the distance from each to the next, standard deviation
    """

    at_mm: tuple[float, ...]
    scales: tuple[float, ...]
    apart_sd_mm: tuple[float, ...]


def place_planes(
    steps: Sequence[StepMeasured], lens: EquivalentLens, placing: Placing, first_mm: float = 0.0
) -> Planes:
    """Where each plane of focus was, from the planned places and the ways that the pictures tell.

    first_mm  planned place of the first frame
    Least squares of both, each with its certainty, and of the shares by which all planned and all told ways may be
    wrong alike. Where plan and picture contradict each other, whole steps more or less are tried: a frame was left out,
    or taken twice.
    """
    ways = [way_by_picture(one, lens, placing.by_rail) for one in steps]
    planned = np.array([one.planned_mm for one in steps])
    found = _least_squares(planned, ways, placing)
    off = [0.0 if way is None else way[0] - one.planned_mm for one, way in zip(steps, ways, strict=True)]
    for number in sorted(range(len(steps)), key=lambda k: -abs(off[k])):
        step_mm = steps[number].planned_mm
        if not step_mm or abs(off[number]) < CONTRADICTS_STEPS * abs(step_mm):
            break
        other = planned.copy()
        other[number] += step_mm * (round(off[number] / step_mm) or math.copysign(1, off[number] / step_mm))
        tried = _least_squares(other, ways, placing)
        if tried.cost < found.cost - CONTRADICTS_COST:
            planned, found = other, tried
    at_mm = found.at_mm + first_mm
    middle = size_at(lens, float(found.at_mm[len(at_mm) // 2]), placing.by_rail)
    return Planes(
        tuple(float(at) for at in at_mm),
        tuple(size_at(lens, float(at), placing.by_rail) / middle for at in found.at_mm),
        tuple(float(sd) for sd in found.apart_sd_mm),
    )


@dataclass(frozen=True, eq=False)
class _Solution:
    """Places from the first planned one, mm; standard deviations of the ways between them; the squares left over."""

    at_mm: NDArray[np.float64]
    apart_sd_mm: NDArray[np.float64]
    cost: float


def _least_squares(
    planned: NDArray[np.float64], ways: Sequence[tuple[float, float] | None], placing: Placing
) -> _Solution:
    """Unknown are the places, then the shares by which told and planned ways are all too long."""
    places = np.concatenate([[0.0], np.cumsum(planned)])
    count = len(places)
    longest = np.abs(planned).max(initial=0.0)
    rows, wanted = [], []

    def ask(terms: dict[int, float], value: float, sd: float) -> None:
        row = np.zeros(count + 2)
        row[list(terms)] = list(terms.values())
        rows.append(row / sd)
        wanted.append(value / sd)

    for number, place in enumerate(places):
        ask({number: 1.0, count + 1: -float(place)}, float(place), placing.each_sd_mm(float(longest)))
    for number, way in enumerate(ways):
        if way is not None:
            ask({number: -1.0, number + 1: 1.0, count: -way[0]}, way[0], way[1])
    ask({count: 1.0}, 0.0, COMMON_DOUBT)
    ask({count + 1: 1.0}, 0.0, placing.common)
    design, value = np.array(rows), np.array(wanted)
    found = np.linalg.lstsq(design, value, rcond=None)[0]
    spread = np.linalg.inv(design.T @ design)[:count, :count]
    variance = np.diag(spread)
    apart = variance[1:] + variance[:-1] - 2 * np.diag(spread, 1)
    return _Solution(found[:count], np.sqrt(np.maximum(apart, 0)), float(((design @ found - value) ** 2).sum()))


def way_by_picture(one: StepMeasured, lens: EquivalentLens, by_rail: bool) -> tuple[float, float] | None:
    """The way of the plane of focus by the change of size, and its standard deviation, mm; None for an unknown size."""
    planned_mm = one.planned_mm or LITTLE_MM
    slope = (size_at(lens, planned_mm, by_rail) - 1) / planned_mm
    if one.motion is None:
        return None
    return (one.motion.scale - 1) / slope, one.scale_sd / abs(slope)
