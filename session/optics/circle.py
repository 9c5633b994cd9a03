"""How much blur is allowed: the blur circle, and the blur radius that set-ups, wishes and verdicts speak of.

*Blur* that is shown or typed is a radius, on the sensor in pixels or on the piece in mm; a *blur circle* is a
diameter, as the handbooks of optics have it, and the word of `session.optics`. One becomes the other here, in
`RADII`, and nowhere else.

Conventions for the allowed blur circle follow, on the sensor in mm. None of them is a law. Say which one is in use; for
work that will be inspected, take it from what is delivered.
"""

from __future__ import annotations

import math

from session.optics.framing import positive_magnification
from session.units.quantities import require

# The eye resolves 5 line pairs/mm at 25 cm, a blur of 0.2 mm.
# Source: Ray, Applied Photographic Optics, p. 52, as quoted in an encyclopaedia article.
EYE_BLUR_MM = 0.2
EYE_DISTANCE_MM = 250.0

# Blur circle as a part of the diagonal. Source: Lyon, Depth of Field Outside the Box, draft 2006.
DIAGONAL_PARTS = 1500.0

# Blur that stays unseen when single pixels are looked at, in pixels; 2 to 3. Common practice, no source.
PIXEL_RULE = 2.0


RADII = 2.0
"""A circle is two radii across; the one place where a blur radius becomes a blur circle, and back."""


def blur_circle_from_limit_mm(blur_radius_px: float, pixel_pitch_um: float) -> float:
    """The blur circle on the sensor, mm, of a set-up's blur limit, a radius in its pixels.

    pixel_pitch_um  distance between pixel centres, µm
    Raises ValueError.
    """
    require(blur_radius_px=blur_radius_px, pixel_pitch_um=pixel_pitch_um)
    return RADII * blur_radius_px * pixel_pitch_um / 1000


def blur_limit_from_piece_px(blur_radius_on_piece_mm: float, magnification: float, pixel_pitch_um: float) -> float:
    """The blur limit, a radius in pixels of the sensor, for a radius of blur on the piece.

    blur_radius_on_piece_mm  radius on the piece, mm
    pixel_pitch_um           distance between pixel centres, µm
    Raises ValueError.
    """
    require(blur_radius_on_piece_mm=blur_radius_on_piece_mm, pixel_pitch_um=pixel_pitch_um)
    return 1000 * blur_radius_on_piece_mm * positive_magnification(magnification) / pixel_pitch_um


def blur_circle_from_diagonal_mm(
    sensor_width_mm: float, sensor_height_mm: float, parts: float = DIAGONAL_PARTS
) -> float:
    """Diagonal / parts, mm: 1500 by default, 1730 is the stricter custom. Raises ValueError."""
    require(sensor_width_mm=sensor_width_mm, sensor_height_mm=sensor_height_mm, parts=parts)
    return math.hypot(sensor_width_mm, sensor_height_mm) / parts


def blur_circle_from_print_mm(
    sensor_width_mm: float, print_width_mm: float, viewing_distance_mm: float = EYE_DISTANCE_MM
) -> float:
    """What the eye lets pass on a print, brought back to the sensor, mm: eye blur / enlargement.

    sensor_width_mm      width of the part of the sensor that is printed
    print_width_mm       width of that print
    viewing_distance_mm  eye to print
    Raises ValueError when an argument is out of range.
    """
    require(
        sensor_width_mm=sensor_width_mm,
        print_width_mm=print_width_mm,
        viewing_distance_mm=viewing_distance_mm,
    )
    seen_mm = EYE_BLUR_MM * viewing_distance_mm / EYE_DISTANCE_MM
    return seen_mm * sensor_width_mm / print_width_mm


def blur_circle_from_pixels_mm(pixel_pitch_um: float, blur_pixels: float = PIXEL_RULE) -> float:
    """Blur circle, mm, as a number of sensor pixels, for work inspected at 100 %; pixel pitch in µm.

    Raises ValueError.
    """
    require(pixel_pitch_um=pixel_pitch_um, blur_pixels=blur_pixels)
    return blur_pixels * pixel_pitch_um / 1000


def blur_circle_from_piece_mm(blur_radius_on_piece_mm: float, magnification: float) -> float:
    """The blur circle on the sensor, mm, of a blur radius on the piece: 2 · radius · m. Raises ValueError."""
    require(blur_radius_on_piece_mm=blur_radius_on_piece_mm)
    circle = RADII * blur_radius_on_piece_mm * positive_magnification(magnification)
    require(blur_circle_mm=circle)
    return circle


def blur_circle_from_delivery_mm(
    sensor_width_mm: float,
    delivered_pixels: float,
    delivered_width_mm: float | None = None,
    viewing_distance_mm: float = EYE_DISTANCE_MM,
    blur_pixels: float = PIXEL_RULE,
) -> float:
    """What can't be told from sharp in the picture that is handed over, as a blur on the sensor, mm.

    Two things hide blur: the delivered pixels (blur_pixels of them) and, when the picture is looked at in a
    known size, the eye. The larger of the two decides.

    sensor_width_mm      width of the part of the sensor that is delivered, after cropping
    delivered_pixels     pixels across the delivered picture
    delivered_width_mm   its width where it is looked at; None when it may be enlarged at will
    viewing_distance_mm  eye to picture
    Raises ValueError when an argument is out of range. Derived.
    """
    require(sensor_width_mm=sensor_width_mm, delivered_pixels=delivered_pixels, blur_pixels=blur_pixels)
    by_pixels = blur_pixels * sensor_width_mm / delivered_pixels
    if delivered_width_mm is None:
        return by_pixels
    require(delivered_width_mm=delivered_width_mm)
    return max(by_pixels, blur_circle_from_print_mm(sensor_width_mm, delivered_width_mm, viewing_distance_mm))
