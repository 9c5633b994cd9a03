"""How far the plane of focus went since the last plane, by the live picture's size: told to a hand on a rail or a ring.

Two live pictures are taken in the same light and at the same opening, so they are registered as a series' frames are,
and the change of size tells the way as `breathing` has it. A frame by flash has other light: where
too little of it agrees with the live picture, nothing is told. The picture's shift tells whether the set was moved.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from session.optics.arrangement import EquivalentLens
from session.series.breathing import measure_step, way_by_picture
from session.series.plane_frame import PlaneFrame
from session.series.way_measured import SIZE_DOUBT

MOST_DOUBT = 0.12
"""Share of the wanted way that the doubt may be; with more the picture doesn't tell where the hand is. Planes
overlap by a third: what `THERE_SHARE` leaves of that is twice this doubt nearly. Chosen."""

THERE_SHARE = 0.1
"""A plane is reached within this share of the way: frames overlap by more. Chosen."""


@dataclass(frozen=True)
class LiveWay:
    """The way since an earlier picture.

    moved_mm  of the plane of focus, + = away from the camera
    sd_mm     its standard deviation
    right_px, down_px  where the content of the picture's middle went, sensor px
    shift_sd_px        standard deviation of that, sensor px
    """

    moved_mm: float
    sd_mm: float
    right_px: float
    down_px: float
    shift_sd_px: float

    def tells(self, wanted_mm: float) -> bool:
        """Whether it is sure enough to lead a hand over `wanted_mm`."""
        return self.sd_mm <= MOST_DOUBT * abs(wanted_mm)

    def is_there(self, wanted_mm: float) -> bool:
        """Whether the hand has gone `wanted_mm`, as far as can be told."""
        return abs(wanted_mm - self.moved_mm) <= THERE_SHARE * abs(wanted_mm)

    def without(self, right_px_per_mm: float, down_px_per_mm: float) -> LiveWay:
        """Less the shift, sensor px, that each mm of the plane's way makes by itself."""
        right_px = self.right_px - right_px_per_mm * self.moved_mm
        down_px = self.down_px - down_px_per_mm * self.moved_mm
        by_way_px = math.hypot(right_px_per_mm, down_px_per_mm) * self.sd_mm
        return replace(self, right_px=right_px, down_px=down_px, shift_sd_px=math.hypot(self.shift_sd_px, by_way_px))


def live_way(before: PlaneFrame, now: PlaneFrame, lens: EquivalentLens, *, by_rail: bool) -> LiveWay | None:
    """The way of the plane of focus from one picture to another; None when too little of them agrees.

    by_rail  the camera was moved; else the focus turned
    The pictures may be of different sizes, of the same shape.
    """
    if before.small.shape != now.small.shape:
        now = replace(now, small=_at_size(now.small, before.small.shape))
    step = measure_step(before, now, 0.0)
    way = way_by_picture(step, lens, by_rail)
    if way is None or step.motion is None:
        return None
    px = before.reduced * before.measured_px[0] / before.small.shape[1]
    sd_mm = math.hypot(way[1], SIZE_DOUBT * way[0])
    return LiveWay(way[0], sd_mm, step.motion.right_px * px, step.motion.down_px * px, step.shift_sd_px * px)


def _at_size(small: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    """A small picture at another size."""
    return np.asarray(Image.fromarray(small).resize(shape[::-1], Image.Resampling.BILINEAR), np.float32)
