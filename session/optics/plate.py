"""Axial light by a glass plate before the lens: stops to add, what the plate does to the picture, its size.

The light comes from the side, is reflected down the optical axis by the tilted plate, returns from the piece
and passes the plate into the lens. angle_deg is the angle of incidence on the axis: 45° is usual, and the
tilt of the plate from square-on. Lengths in proportion to the plate's thickness, mm.

Coordinates for aiming: z along the axis from the piece (0) to the lens, x sideways, the light at negative x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from session.optics.fresnel import plate_reflectance, plate_transmittance
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

Piece = Literal["diffuse", "mirror"]


@dataclass(frozen=True)
class AimPoint:
    """Mirror image of the piece in the plate, mm from the piece: beyond the plate as the light sees it."""

    sideways_mm: float
    along_axis_mm: float


def loss_both_passes_ev(angle_deg: float, refractive_index: float, piece: Piece = "diffuse") -> float:
    """EV (stops) to add for unpolarised light that is reflected once and transmitted once, positive.

    angle_deg  angle of incidence, degrees
    piece      "diffuse" scrambles the polarisation: mean R · mean T; "mirror" keeps it: mean of R·T, a little
               less light
    Raises ValueError when an argument is out of range. Source: Fresnel's equations, see fresnel.
    """
    reflected = plate_reflectance(angle_deg, refractive_index)
    passed = plate_transmittance(angle_deg, refractive_index)
    if piece == "mirror":
        return -math.log2((reflected.s * passed.s + reflected.p * passed.p) / 2)
    return -math.log2(reflected.mean * passed.mean)


def loss_with_polariser_ev(angle_deg: float, refractive_index: float) -> float:
    """EV (stops) to add when the light is polarised across the plane of incidence and a mirror-like piece keeps it.

    Angle of incidence in degrees. Counted from the light behind its polariser: the filter's own loss comes on top.
    Raises ValueError.
    """
    reflected = plate_reflectance(angle_deg, refractive_index)
    passed = plate_transmittance(angle_deg, refractive_index)
    return -math.log2(reflected.s * passed.s)


def shift_mm(angle_deg: float, refractive_index: float, thickness_mm: float) -> float:
    """How far the plate displaces the picture sideways, mm: t·sin θ·(1 − cos θ/√(n² − sin²θ)), t in mm, θ in degrees.

    Source: textbook problem on the parallel plate; a ray trace agrees. Raises ValueError.
    """
    sine, cosine, root = _refraction(angle_deg, refractive_index, thickness_mm)
    return thickness_mm * sine * (1 - cosine / root)


def double_image_mm(angle_deg: float, refractive_index: float, thickness_mm: float) -> float:
    """Distance across the beam between the highlights off the plate's front and back, mm: t·sin 2θ/√(n² − sin²θ).

    t in mm, θ in degrees. Both highlights are nearly equally strong. Derived. Raises ValueError.
    """
    sine, cosine, root = _refraction(angle_deg, refractive_index, thickness_mm)
    return thickness_mm * 2 * sine * cosine / root


def astigmatism_mm(angle_deg: float, refractive_index: float, thickness_mm: float) -> float:
    """Sagittal minus tangential plane of focus, mm; negative: the tangential one is farther from the lens.

    t/√(n² − sin²θ) · (n²·cos²θ/(n² − sin²θ) − 1), with t in mm and θ in degrees. Compare the result with the depth
    of field: above about a third of it, use thinner glass (common practice, no source). Derived; a skew-ray trace
    agrees. Raises ValueError.
    """
    _, cosine, root = _refraction(angle_deg, refractive_index, thickness_mm)
    return thickness_mm / root * ((refractive_index * cosine / root) ** 2 - 1)


def clear_aperture_mm(
    field_mm: float, entrance_pupil_diameter_mm: float, pupil_distance_mm: float, plate_distance_mm: float
) -> float:
    """Width of the imaging beam where it crosses the plate, mm.

    field_mm                    width (or height, or diagonal) of the field at the piece
    entrance_pupil_diameter_mm  f/N of the lens
    pupil_distance_mm           piece to entrance pupil
    plate_distance_mm           piece to the plate's centre, less than pupil_distance_mm
    Raises ValueError when an argument is out of range. Source: similar triangles.
    """
    require(
        field_mm=field_mm,
        entrance_pupil_diameter_mm=entrance_pupil_diameter_mm,
        pupil_distance_mm=pupil_distance_mm,
        plate_distance_mm=plate_distance_mm,
    )
    if plate_distance_mm >= pupil_distance_mm:
        raise ImpossibleNumbersError(
            f"plate_distance_mm is {plate_distance_mm:.4g} mm, but the lens's pupil is only "
            f"{pupil_distance_mm:.4g} mm from the piece."
        )
    along = plate_distance_mm / pupil_distance_mm
    return field_mm + (entrance_pupil_diameter_mm - field_mm) * along


def plate_length_mm(clear_aperture_mm: float, angle_deg: float, refractive_index: float, thickness_mm: float) -> float:
    """Length of plate along its tilt that clears the beam, mm: A/cos θ plus the shift. Across it A will do.

    A and the thickness in mm, the angle of incidence in degrees. Add a margin for the converging beam and the
    clamps. Derived. Raises ValueError.
    """
    require(clear_aperture_mm=clear_aperture_mm)
    shift = shift_mm(angle_deg, refractive_index, thickness_mm)
    return clear_aperture_mm / math.cos(math.radians(angle_deg)) + shift


def aim_point(plate_distance_mm: float, angle_deg: float) -> AimPoint:
    """Where the light must aim: the mirror image of the piece in the plate.

    plate_distance_mm  piece to the plate's centre along the axis
    At 45° the image lies level with the plate's centre and as far to its side as the piece lies below it.
    Raises ValueError when an argument is out of range. Source: law of reflection.
    """
    require(plate_distance_mm=plate_distance_mm, angle_deg=angle_deg)
    double = math.radians(2 * angle_deg)
    return AimPoint(plate_distance_mm * math.sin(double), plate_distance_mm * (1 + math.cos(double)))


def _refraction(angle_deg: float, refractive_index: float, thickness_mm: float) -> tuple[float, float, float]:
    """sin θ, cos θ and √(n² − sin²θ), arguments checked."""
    require(angle_deg=angle_deg, refractive_index=refractive_index, thickness_mm=thickness_mm)
    sine, cosine = math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg))
    return sine, cosine, math.sqrt(refractive_index**2 - sine**2)
