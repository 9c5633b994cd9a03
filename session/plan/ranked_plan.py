"""A plan: an arrangement of the kit with its best stop, and the plan's rank among other plans.

The points of a rank, in order; `ranking` says how they decide, within an arrangement and between them:

1. what fails, summed, a picture that the    2. what can't be told for want of a number
   piece doesn't fill among it where no
   pixels are wished; a tenth of a stop more
   or less is equal
3. frames in the focus series                4. aperture set by the camera before one set by hand
5. fewest added parts                        6. room to spare, up to twice the room needed
7. pixels to spare, likewise                 8. least blur, in tenths of a stop
9. most room, however much                   10. least blur, however little

Room and pixels count in hundredths of a stop, so that rounding doesn't decide before blur does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.optics.framing import field_mm, pixels_on_piece
from session.plan.arrangements import Build
from session.plan.criteria import Criterion
from session.plan.mounting import Mounted
from session.plan.powers import LightPlan, TimePlan
from session.plan.ranking import TOLERANCE_EV, Rank
from session.plan.reflection import Reflection
from session.plan.room import PlatePlace
from session.plan.stops import Stop
from session.plan.wish import Wish

AMPLE_EV = 1.0
"""Room and pixels beyond twice what is needed buy nothing more. Chosen."""

RAIL_ABOVE = 1.0
"""Ratio above which focus is set by moving the camera. Common practice, no source."""


@dataclass(frozen=True)
class Plan:
    """An arrangement with its best stop: everything that the photographer needs to put it up.

    turned           the camera stands upright
    room_needed_mm   between the foremost point of the piece and the lens; clearance_mm is what there is
    lights           that the exposure is made with, all together
    alternatives     each of these would do alone instead
    reflection       what a mirror-like piece shows; None for another
    blur_limit_px    the wish's blur radius in pixels of the body, for the set-up
    """

    wish: Wish
    mounting: Mounted
    stop: Stop
    turned: bool
    pixel_pitch_um: float
    room_needed_mm: float
    clearance_mm: float | None
    plate: PlatePlace | None
    lights: tuple[LightPlan, ...]
    alternatives: tuple[LightPlan, ...]
    time: TimePlan
    hold_off_s: float
    blur_limit_px: float
    reflection: Reflection | None
    criteria: tuple[Criterion, ...]

    @property
    def build(self) -> Build:
        return self.mounting.build

    @property
    def failing(self) -> tuple[Criterion, ...]:
        """The criteria that fail, worst first."""
        return tuple(sorted((one for one in self.criteria if one.short_ev), key=lambda one: -one.short_ev))

    @property
    def holds(self) -> bool:
        """Whether what fails comes to no more than the ranking takes for nothing."""
        return self.rank[0] <= TOLERANCE_EV

    @property
    def unknown(self) -> tuple[Criterion, ...]:
        """The criteria that the kit doesn't tell enough for."""
        return tuple(one for one in self.criteria if one.spare_ev is None)

    @property
    def rank(self) -> Rank:
        """The plan's points, for `ranking`."""
        return rank(self.build, self.criteria, self.stop)

    @property
    def field_mm(self) -> tuple[float, float]:
        """Width and height, mm, that the picture takes in, as the camera is turned."""
        body, ratio = self.build.body, self.mounting.magnification
        width_mm, height_mm = field_mm(body.sensor_width_mm, ratio), field_mm(body.sensor_height_mm, ratio)
        return (height_mm, width_mm) if self.turned else (width_mm, height_mm)

    @property
    def pixels_on_piece(self) -> float:
        """Pixels of the sensor across the piece."""
        return pixels_on_piece(self.wish.piece_width_mm, self.mounting.magnification, self.pixel_pitch_um)

    @property
    def delivered_pixels(self) -> float:
        """Pixels across the delivered picture, before it is scaled."""
        return self.pixels_on_piece / self.wish.fill

    @property
    def exposure_increase_ev(self) -> float:
        """EV (stops) that the arrangement costs compared with the f-number on the lens."""
        return 2 * math.log2(self.stop.effective_f_number / self.stop.f_number)

    @property
    def focus_by_moving(self) -> bool:
        """Focus by moving camera or piece, not by the ring."""
        return bool(self.build.ring or self.build.tubes) or self.mounting.magnification > RAIL_ABOVE

    @property
    def series_s(self) -> float:
        """Time for the whole focus series, s, waits and recycling included."""
        recycling_s = max((light.recycling_time_s for light in self.lights), default=0.0)
        return self.stop.series.frames * (max(self.hold_off_s, recycling_s) + self.time.exposure_s)


def rank(build: Build, criteria: tuple[Criterion, ...], stop: Stop) -> Rank:
    """See the module's text; smaller is better."""
    spare = {criterion.name: criterion.spare_ev for criterion in criteria}
    room_ev, pixels_ev = spare["room"] or 0.0, spare.get("pixels") or 0.0
    return (
        math.fsum(criterion.short_ev for criterion in criteria),
        sum(criterion.spare_ev is None for criterion in criteria),
        stop.series.frames,
        build.aperture_by_hand,
        build.parts,
        -round(min(room_ev, AMPLE_EV), 2),
        -round(min(pixels_ev, AMPLE_EV), 2),
        round(math.log2(stop.blur_circle_mm), 1),
        -round(room_ev, 2),
        stop.blur_circle_mm,
    )
