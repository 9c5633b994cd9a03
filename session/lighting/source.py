"""Sources with a size: why a softbox moved from 50 to 25 cm gives 1.16 stops more and not 2.

A source that shines evenly and faces the piece is a disc or a rectangle with the piece on its axis. The light
on the piece is the share of its half-space that the source fills (the view factor); far away that becomes
the inverse square of the distance. By the IES the inverse square holds within 1 % from five times the
source's largest dimension.
"""

from __future__ import annotations

import math

from session.units.quantities import require

# Source: IES Lighting Handbook definition 9.1.1, inverse square law, with the five-times note.
FIVE_TIMES = 5.0


def equal_area_diameter_mm(width_mm: float, height_mm: float) -> float:
    """Diameter of the disc as large as a rectangle, mm: 2·√(w·h/π). Raises ValueError."""
    require(width_mm=width_mm, height_mm=height_mm)
    return 2 * math.sqrt(width_mm * height_mm / math.pi)


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


def inverse_square_holds(source_size_mm: float, distance_mm: float) -> bool:
    """Whether the distance is at least five times the source's largest dimension, both in mm. Raises ValueError."""
    require(source_size_mm=source_size_mm, distance_mm=distance_mm)
    return distance_mm >= FIVE_TIMES * source_size_mm


def inverse_square_error_ev(source_size_mm: float, distance_mm: float) -> float:
    """Light of a disc on its axis compared with the promise of its far guide number, EV, <= 0.

    log2(d²/(R² + d²)), in mm. Raises ValueError.
    """
    require(source_size_mm=source_size_mm, distance_mm=distance_mm)
    return -math.log2(1 + (source_size_mm / (2 * distance_mm)) ** 2)


def distance_change_ev(from_distance_mm: float, to_distance_mm: float, source_size_mm: float = 0.0) -> float:
    """EV (stops) gained when a light moves, positive when it comes closer.

    2·log2(d1/d2) for a small source; less than that, by the disc's view factor, for a large one. Lengths in mm.

    source_size_mm  diameter of the disc that shines; 0 for a small source
    Raises ValueError. Source: CIE International Lighting Vocabulary, photometric distance law; view factor.
    """
    require(from_distance_mm=from_distance_mm, to_distance_mm=to_distance_mm, source_size_mm=source_size_mm)
    radius_mm = source_size_mm / 2
    return 2 * math.log2(math.hypot(from_distance_mm, radius_mm) / math.hypot(to_distance_mm, radius_mm))


def incidence_loss_ev(incidence_angle_deg: float) -> float:
    """Stops that a level surface loses because the light comes from aside, positive: −log2 cos θ.

    incidence_angle_deg  θ between the light and the normal of the surface, which faces the camera: 90° less the
                         light's elevation over the table; 45° costs half a stop
    A guide number holds for a surface that faces the light: subtract this where the piece faces the camera, and
    leave it out for the parts of a piece that face the light. A large source must stand wholly before the surface.
    Raises ValueError when it is out of range. Source: cosine law, Lambert, any handbook (value from memory).
    """
    require(incidence_angle_deg=incidence_angle_deg)
    return -math.log2(math.cos(math.radians(incidence_angle_deg)))
