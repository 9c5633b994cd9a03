"""How much blur is allowed: the blur circle, and the blur radius that set-ups, wishes and verdicts speak of.

*Blur* that is shown or typed is a radius, on the sensor in pixels or on the piece in mm; a *blur circle* is a
diameter, as the handbooks of optics have it, and the word of `session.optics`. `RADII` turns the radius into
the circle, and no other module does.

Conventions for the allowed blur circle follow, on the sensor in mm. No convention is a law. Name the convention in use;
for work that will be inspected, take the circle from the delivered picture.
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
