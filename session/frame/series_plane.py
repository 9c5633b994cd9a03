"""A frame's place in a focus series, as it is known before the release.

Places along the axis count from the series' first plane, mm, + = away from the camera.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from session.optics.steps import MOST_FRAMES
from session.units.numbers import place_mm_text, steps_text
from session.units.quantities import QUANTITIES
from session.units.refusals import ImpossibleNumbersError


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
    frames     planes of the plan, at 0, 1, 2 … steps away, or nearer where they are come to from the far side; planes
               added later lie between or beyond
    step_mm    from plane to plane, > 0
    depth_mm   sharp in one frame, > 0
    steps_per_mm  of the camera's drive at the first plane, > 0; None where a hand moves
    """

    series_id: str
    plane_mm: float
    frames: int
    step_mm: float
    depth_mm: float
    moved_by: MovedBy
    approach: Approach = Approach.NEAR
    steps_per_mm: float | None = None

    @property
    def away(self) -> int:
        """+1 when each plane lies farther away than the one before, −1 when nearer."""
        return 1 if self.approach is Approach.NEAR else -1

    @property
    def planes_mm(self) -> tuple[float, ...]:
        """The places of the plan's planes, mm, in the order in which they are shot."""
        return tuple(self.away * number * self.step_mm for number in range(min(self.frames, MOST_FRAMES)))

    @property
    def name(self) -> str:
        """`plane 2 of 7`; `plane at −1.32 mm` for one that was added to the plan."""
        place = self.away * self.plane_mm / self.step_mm
        if math.isfinite(place) and abs(place - round(place)) < NEAR_ENOUGH and 0 <= round(place) < self.frames:
            return f"plane {round(place) + 1} of {self.frames}"
        return f"plane at {place_mm_text(self.plane_mm)}"

    def again(self, series_id: str, moved_by: MovedBy, approach: Approach, steps_per_mm: float | None) -> SeriesPlane:
        """The first plane of a series that repeats this one: as many planes, as far apart."""
        return SeriesPlane(series_id, 0.0, self.frames, self.step_mm, self.depth_mm, moved_by, approach, steps_per_mm)

    def check(self) -> None:
        """Raise ValueError where no series could have such a plane: what comes from elsewhere may hold anything."""
        step, deepest = QUANTITIES["step_mm"], QUANTITIES["depth_needed_mm"].high
        possible = (
            1 <= self.frames <= MOST_FRAMES
            and step.holds(self.step_mm)
            and step.low <= self.depth_mm <= deepest
            and abs(self.plane_mm) <= deepest
            and (self.steps_per_mm is None or QUANTITIES["steps_per_mm"].holds(self.steps_per_mm))
        )
        if not possible:
            raise ImpossibleNumbersError(f"{self} is no plane of a focus series.")


NEAR_ENOUGH = 1e-6
"""Share of a step within which a place is that of a plane of the plan. Chosen."""


@dataclass(frozen=True)
class SeriesToRun:
    """A focus series as it is run.

    frames, step_mm, depth_mm  as of `SeriesPlane`
    steps_per_mm   of the camera's drive at the first plane, > 0; None where a hand moves
    play_steps     lost by the drive when it turns round; None where nobody measured it
    run_up_steps   by which the drive goes past a plane to come to it from the series' side: more than its play
    reach_mm       f/m of the lens at the first plane: the ring's way for a mm on the piece shrinks with r²/(r + z)²;
                   None: it is taken as even
    """

    series_id: str
    frames: int
    step_mm: float
    depth_mm: float
    moved_by: MovedBy
    approach: Approach = Approach.NEAR
    steps_per_mm: float | None = None
    play_steps: int | None = None
    run_up_steps: int = 0
    reach_mm: float | None = None

    @property
    def away(self) -> int:
        """+1 when each plane lies farther away than the one before, −1 when nearer."""
        return self.plane(0.0).away

    @property
    def planes_mm(self) -> tuple[float, ...]:
        """The places of the plan's planes, mm, in the order in which they are shot."""
        return self.plane(0.0).planes_mm

    def plane(self, plane_mm: float) -> SeriesPlane:
        """The plane of a frame at this place, mm, as the log keeps the plane."""
        return SeriesPlane(
            self.series_id,
            plane_mm,
            self.frames,
            self.step_mm,
            self.depth_mm,
            self.moved_by,
            self.approach,
            self.steps_per_mm,
        )

    @property
    def is_too_coarse(self) -> bool:
        """Whether planes in whole steps of the drive fall together, or lie farther apart than one frame is sharp."""
        try:
            places = [self.mm_at(self.steps_to(mm)) for mm in self.planes_mm]
        except ValueError:  # they lead past infinity, or into the lens
            return True
        return any(not 0 < abs(after - before) <= self.depth_mm for before, after in pairwise(places))

    def steps_to(self, plane_mm: float) -> int:
        """Steps of the drive from the first plane to a place, mm. By x = f·(m − m') with m' = f/(f/m + z).

        Raises ValueError for a place inside the lens.
        """
        if self.reach_mm is not None and self.reach_mm + plane_mm <= 0:
            raise ImpossibleNumbersError(f"a plane at {place_mm_text(plane_mm)} would lie inside the lens.")
        even_mm = plane_mm if self.reach_mm is None else plane_mm * self.reach_mm / (self.reach_mm + plane_mm)
        return round(even_mm * (self.steps_per_mm or 0.0))

    def mm_at(self, steps: int) -> float:
        """The place, mm from the first plane, so many steps of the drive from it; the way back from `steps_to`.

        Raises ValueError for more steps than there are to infinity.
        """
        even_mm = steps / self.steps_per_mm if self.steps_per_mm else 0.0
        if self.reach_mm is not None and even_mm >= self.reach_mm:
            pace = steps_text(self.steps_per_mm or 0.0)
            raise ImpossibleNumbersError(
                f"{steps} steps of the drive at {pace} a mm lead past infinity: one of them is wrong."
            )
        return even_mm if self.reach_mm is None else even_mm * self.reach_mm / (self.reach_mm - even_mm)
