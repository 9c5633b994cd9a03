"""The framing of the picture: field, ratio from framing, pixels on the piece, room before the lens.

Widths and heights are those of the upright picture; turn the camera by swapping the sensor's sides.
"""

from __future__ import annotations

import math

from session.units.quantities import RefusedNumberError, require

# Diagonal of the 36 mm x 24 mm frame, against which crop factors are counted. By definition.
FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)


def field_mm(sensor_side_mm: float, magnification: float) -> float:
    """Width (or height) taken in at the plane of focus, mm: sensor side / m.

    sensor_side_mm  the sensor's width or height, mm
    magnification   m > 0
    Raises ValueError when an argument is out of range.
    """
    require(sensor_side_mm=sensor_side_mm)
    return sensor_side_mm / positive_magnification(magnification)


def magnification_for_field(sensor_side_mm: float, field_mm: float) -> float:
    """Ratio at which the sensor's side takes in field_mm of the piece; the inverse of field_mm."""
    require(sensor_side_mm=sensor_side_mm, field_mm=field_mm)
    return sensor_side_mm / field_mm


def magnification_for_piece(
    sensor_width_mm: float,
    sensor_height_mm: float,
    piece_width_mm: float,
    piece_height_mm: float,
    fill: float = 0.8,
) -> float:
    """Largest ratio that still holds the whole piece with room around it. Sides of sensor and piece in mm.

    fill  share of the picture's width or height that the piece may take, whichever it meets first;
          0.8 by default (common practice, no source)
    Raises ValueError when an argument is out of range.
    """
    require(
        sensor_width_mm=sensor_width_mm,
        sensor_height_mm=sensor_height_mm,
        piece_width_mm=piece_width_mm,
        piece_height_mm=piece_height_mm,
        fill=fill,
    )
    sides = ((sensor_width_mm, piece_width_mm), (sensor_height_mm, piece_height_mm))
    return min(fill * magnification_for_field(sensor, piece) for sensor, piece in sides)


def pixel_pitch_um(sensor_width_mm: float, pixels: float) -> float:
    """Distance between pixel centres, µm, of a sensor of that width, mm, with that many pixels along it."""
    require(sensor_width_mm=sensor_width_mm, pixels=pixels)
    return 1000 * sensor_width_mm / pixels


def pixel_footprint_um(pixel_pitch_um: float, magnification: float) -> float:
    """Length on the piece that a pixel covers, µm: p / m. Raises ValueError, also at m = 0."""
    require(pixel_pitch_um=pixel_pitch_um)
    return pixel_pitch_um / positive_magnification(magnification)


def pixels_on_piece(piece_width_mm: float, magnification: float, pixel_pitch_um: float) -> float:
    """Pixels that fall on a piece, not rounded: 1000·w·m / p. The piece's width w in mm, the pixel pitch p in µm."""
    require(piece_width_mm=piece_width_mm, pixel_pitch_um=pixel_pitch_um)
    return 1000 * piece_width_mm * positive_magnification(magnification) / pixel_pitch_um


def reversed_working_distance_mm(focal_length_mm: float, flange_distance_mm: float, magnification: float) -> float:
    """Piece to the mount of a reversed lens focused at infinity, mm: flange distance + f/m.

    The mount now faces the piece and the rear focal point lies the flange distance in front of it; by
    Newton the piece is f/m beyond. At large m, or stacked before another lens at infinity, only the flange
    distance is left. Derived. Raises ValueError.
    """
    require(focal_length_mm=focal_length_mm, flange_distance_mm=flange_distance_mm)
    return flange_distance_mm + focal_length_mm / positive_magnification(magnification)


def clearance_mm(working_distance_mm: float, piece_in_front_mm: float = 0.0) -> float:
    """Room between the foremost point of the piece and the lens, mm; negative when they would touch.

    piece_in_front_mm  how far the piece rises towards the lens from the plane of focus
    """
    require(working_distance_mm=working_distance_mm, piece_in_front_mm=piece_in_front_mm)
    return working_distance_mm - piece_in_front_mm


def positive_magnification(magnification: float) -> float:
    """The ratio itself; raises ValueError when it is out of range or 0, where nothing is close up."""
    require(magnification=magnification)
    if magnification == 0:
        raise RefusedNumberError("magnification", 0.0, but="must be above 0: a piece at infinity has no size")
    return magnification
