"""A frame's place in a focus series, as it is known before the release.

Places along the axis count from the series' first plane, mm, + = away from the camera.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class MovedBy(StrEnum):
    """The thing that brings the plane of focus from one plane to the next; the values stand in logs."""

    DRIVE = "drive"
    RAIL = "rail"
    RING = "ring"


class Approach(StrEnum):
    """The side from which the planes are come to: the near side means from near to far. The values stand in logs."""

    NEAR = "near"
    FAR = "far"


@dataclass(frozen=True)
class SeriesPlane:
    """One plane of a focus series, and the plan that the series was begun with.

    series_id  unique for ever (UUID text), the same for all frames of the series
    plane_mm   where this frame is to be focused
    frames     planes of the plan, at 0, 1, 2 … steps; planes added later lie between or beyond
    step_mm    from plane to plane, > 0
    depth_mm   sharp in one frame, > 0
    """

    series_id: str
    plane_mm: float
    frames: int
    step_mm: float
    depth_mm: float
    moved_by: MovedBy
    approach: Approach = Approach.NEAR

    @property
    def name(self) -> str:
        """`plane 2 of 7`; `plane at 1.32 mm` for one that was added to the plan."""
        place = self.plane_mm / self.step_mm
        if abs(place - round(place)) < 1e-6 and 0 <= round(place) < self.frames:
            return f"plane {round(place) + 1} of {self.frames}"
        return f"plane at {self.plane_mm:.2f} mm"
