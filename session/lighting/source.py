"""Sources with a size: why a softbox moved from 50 to 25 cm gives 1.16 stops more and not 2.

A source that shines evenly and faces the piece is a disc or a rectangle with the piece on its axis. The light
on the piece is the share of its half-space that the source fills (the view factor); far away that becomes
the inverse square of the distance. By the IES the inverse square holds within 1 % from five times the
source's largest dimension.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

# Source: IES Lighting Handbook definition 9.1.1, inverse square law, with the five-times note.
FIVE_TIMES = 5.0


def disc_view_factor(source_size_mm: float, distance_mm: float) -> float:
    """Share of its half-space that a disc fills for a point on its axis: R²/(R² + d²).

    source_size_mm  diameter 2R
    distance_mm     d from the disc to the point, facing each other
    Raises ValueError. Source: view factor of a Lambertian disc; an integral over the disc agrees.
    """
    require(source_size_mm=source_size_mm, distance_mm=distance_mm)
    radius_mm = source_size_mm / 2
    return radius_mm**2 / (radius_mm**2 + distance_mm**2)


def rectangle_view_factor(width_mm: float, height_mm: float, distance_mm: float) -> float:
    """View factor of a rectangle from a point before its centre, a share of 1; sides and distance in mm.

    Raises ValueError. Source: view factor of a rectangle to a parallel element before its corner, from
    memory; an integral over the rectangle agrees.
    """
    require(width_mm=width_mm, height_mm=height_mm, distance_mm=distance_mm)
    across, along = width_mm / (2 * distance_mm), height_mm / (2 * distance_mm)
    wide, high = math.hypot(1, across), math.hypot(1, along)
    corner = across / wide * math.atan(along / wide) + along / high * math.atan(across / high)
    return 2 / math.pi * corner


def inverse_square_error_ev(source_size_mm: float, distance_mm: float) -> float:
    """Light of a disc on its axis compared with the promise of its far guide number, EV, <= 0.

    log2(d²/(R² + d²)), in mm. Raises ValueError.
    """
    require(source_size_mm=source_size_mm, distance_mm=distance_mm)
    return -math.log2(1 + (source_size_mm / (2 * distance_mm)) ** 2)


def distance_change_ev(
    from_distance_mm: float, to_distance_mm: float, source_size_mm: float = 0.0, origin_behind_mm: float = 0.0
) -> float:
    """EV (stops) gained when a light moves, positive when it comes closer.

    2·log2(d1/d2) for a small source; less than that, by the disc's view factor, for a large one, and where the light
    comes from behind its front. Lengths in mm.

    source_size_mm    diameter of the disc that shines; 0 for a small source
    origin_behind_mm  how far behind its front the light seems to come from (origin_behind_mm)
    Raises ValueError. Source: CIE International Lighting Vocabulary, photometric distance law; view factor.
    """
    require(
        from_distance_mm=from_distance_mm,
        to_distance_mm=to_distance_mm,
        source_size_mm=source_size_mm,
        origin_behind_mm=origin_behind_mm,
    )
    radius_mm = source_size_mm / 2
    far_mm, near_mm = (math.hypot(mm + origin_behind_mm, radius_mm) for mm in (from_distance_mm, to_distance_mm))
    return 2 * math.log2(far_mm / near_mm)


def origin_behind_mm(far_distance_mm: float, near_distance_mm: float, change_ev: float) -> float:
    """How far behind its front a light seems to come from, by two readings, mm: (d1 − k·d2)/(k − 1), k = 2^(EV/2).

    In a tube, a snoot, a grid or a zoom head the light comes from the lamp or its image, not from the front rim from
    which distances are measured, and so falls off slower than those distances say.

    far_distance_mm, near_distance_mm  from the piece to the front of the light, mm
    change_ev  how much more light the near reading showed, EV
    Raises ValueError when an argument is out of range, or the readings contradict each other: a light that gains more
    than the inverse square allows was measured wrongly, one that gains nothing has no place.
    Source: CIE International Lighting Vocabulary, photometric distance law; solved for the distance behind the front.
    """
    require(far_distance_mm=far_distance_mm, near_distance_mm=near_distance_mm, change_ev=change_ev)
    most_ev = 2 * math.log2(far_distance_mm / near_distance_mm)
    if not 0 < change_ev <= most_ev + 1e-9:
        raise ImpossibleNumbersError(
            f"change_ev is {change_ev:.3g} EV, but from {far_distance_mm:.4g} to {near_distance_mm:.4g} mm a light "
            f"gains more than 0 and at most {most_ev:.3g} EV."
        )
    ratio = 2 ** (change_ev / 2)
    return max(0.0, (far_distance_mm - ratio * near_distance_mm) / (ratio - 1))


@dataclass(frozen=True)
class ClearPlace:
    """Where a large source may stand: how far from the piece, mm, and at which angle from the optical axis, degrees."""

    distance_mm: float
    from_axis_deg: float


def clear_place(distance_mm: float, angle_deg: float, source_size_mm: float, beside_mm: float) -> ClearPlace:
    """The place nearest to a wanted one where a source that faces the piece stands wholly free.

    No part of it is below the plane of the piece: R·tan θ <= d. None is in the camera's view or before its lens:
    d·sin θ − R·cos θ >= b. It is turned farther from the axis first, and moved away where that isn't enough.

    distance_mm     d of its middle from the piece
    angle_deg       θ from the optical axis, wanted
    source_size_mm  diameter 2R of what shines
    beside_mm       b, how far lens and picture reach from the axis
    Raises ValueError when an argument is out of range. Derived from the disc's two ends.
    """
    require(distance_mm=distance_mm, angle_deg=angle_deg, source_size_mm=source_size_mm, beside_mm=beside_mm)
    radius_mm = source_size_mm / 2
    turned_deg = max(angle_deg, _least_angle_deg(distance_mm, radius_mm, beside_mm))
    if radius_mm * math.tan(math.radians(min(turned_deg, 89.99))) <= distance_mm:
        return ClearPlace(distance_mm, turned_deg)
    low, high = distance_mm, max(4 * (radius_mm + beside_mm), radius_mm * math.tan(math.radians(angle_deg)))
    for _ in range(50):
        middle = (low + high) / 2
        turned_deg = max(angle_deg, _least_angle_deg(middle, radius_mm, beside_mm))
        free = radius_mm * math.tan(math.radians(min(turned_deg, 89.99))) <= middle
        low, high = (low, middle) if free else (middle, high)
    return ClearPlace(high, max(angle_deg, _least_angle_deg(high, radius_mm, beside_mm)))


def nearest_clear_mm(angle_deg: float, source_size_mm: float, beside_mm: float) -> float:
    """How near such a source may come at that angle, mm: the larger of R·tan θ and (b + R·cos θ)/sin θ.

    angle_deg  θ in degrees from the optical axis, above 0; source_size_mm and beside_mm in mm, as in clear_place
    Raises ValueError.
    """
    require(angle_deg=angle_deg, source_size_mm=source_size_mm, beside_mm=beside_mm)
    radius_mm, angle = source_size_mm / 2, math.radians(angle_deg)
    return max(radius_mm * math.tan(angle), (beside_mm + radius_mm * math.cos(angle)) / math.sin(angle))


def _least_angle_deg(distance_mm: float, radius_mm: float, beside_mm: float) -> float:
    """From which angle on the inner end of a disc stands beside what reaches so far from the axis."""
    inner = beside_mm / math.hypot(distance_mm, radius_mm)
    return math.degrees(math.atan2(radius_mm, distance_mm) + math.asin(min(1.0, inner)))


def incidence_loss_ev(incidence_angle_deg: float) -> float:
    """Stops that a level surface loses because the light comes from aside, positive: −log2 cos θ.

    incidence_angle_deg  θ between the light and the normal of the surface, which faces the camera; for a camera that
                         looks straight down 90° less the light's elevation over the table; 45° costs half a stop
    A guide number holds for a surface that faces the light: subtract this where the piece faces the camera, and
    leave it out for the parts of a piece that face the light. A large source must stand wholly before the surface.
    Raises ValueError when it is out of range. Source: cosine law, Lambert, any handbook (value from memory).
    """
    require(incidence_angle_deg=incidence_angle_deg)
    return -math.log2(math.cos(math.radians(incidence_angle_deg)))
