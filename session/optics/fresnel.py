"""Light that a clean, uncoated, clear plate reflects and lets pass, per polarisation.

s is the polarisation across the plane of incidence, p the one within it; unpolarised light is half of each.
A plate adds the light of all its internal reflections as intensities, since flash light is not coherent
over the thickness of a plate. No absorption.
Source: Fresnel's equations, as in Born & Wolf, Principles of Optics, from memory; the libraries tmm and
colour-science agree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.units.quantities import require

# Refractive index at 587.56 nm of the usual crown glass, from its Sellmeier sum, and of plain window glass
# (value from memory).
CROWN_GLASS_INDEX = 1.5168
WINDOW_GLASS_INDEX = 1.52


@dataclass(frozen=True)
class Polarised:
    """A share of the light, 0 to 1, for each polarisation."""

    s: float
    p: float

    @property
    def mean(self) -> float:
        """Mean of both polarisations, the share for unpolarised light."""
        return (self.s + self.p) / 2

    @property
    def degree_of_polarisation(self) -> float:
        """(s − p)/(s + p) of unpolarised light after this; 0 when nothing is left."""
        return (self.s - self.p) / (self.s + self.p) if self.s + self.p > 0 else 0.0


def surface_reflectance(angle_deg: float, refractive_index: float) -> Polarised:
    """Share reflected by one surface, air to glass.

    angle_deg         angle of incidence, from the normal of the plate
    refractive_index  of the glass against air
    Raises ValueError when an argument is out of range.
    """
    require(angle_deg=angle_deg, refractive_index=refractive_index)
    cos_in = math.cos(math.radians(angle_deg))
    sin_in = math.sin(math.radians(angle_deg))
    cos_out = math.sqrt(1 - (sin_in / refractive_index) ** 2)
    s = (cos_in - refractive_index * cos_out) / (cos_in + refractive_index * cos_out)
    p = (refractive_index * cos_in - cos_out) / (refractive_index * cos_in + cos_out)
    return Polarised(s * s, p * p)


def plate_reflectance(angle_deg: float, refractive_index: float) -> Polarised:
    """Share of light reflected by the whole plate: 2R/(1 + R). Angle of incidence in degrees. Raises ValueError."""
    one = surface_reflectance(angle_deg, refractive_index)
    return Polarised(2 * one.s / (1 + one.s), 2 * one.p / (1 + one.p))


def plate_transmittance(angle_deg: float, refractive_index: float) -> Polarised:
    """Share of light that passes the whole plate: (1 − R)/(1 + R). Angle of incidence in degrees. Raises ValueError."""
    one = surface_reflectance(angle_deg, refractive_index)
    return Polarised((1 - one.s) / (1 + one.s), (1 - one.p) / (1 + one.p))


def second_image_strength(angle_deg: float, refractive_index: float) -> Polarised:
    """Reflection off the back of the plate as a share of the reflection off its front: (1 − R)², nearly as strong.

    Angle of incidence in degrees. Raises ValueError.
    """
    one = surface_reflectance(angle_deg, refractive_index)
    return Polarised((1 - one.s) ** 2, (1 - one.p) ** 2)


def brewster_angle_deg(refractive_index: float) -> float:
    """Angle at which no p light is reflected, degrees: atan n. Raises ValueError."""
    require(refractive_index=refractive_index)
    return math.degrees(math.atan(refractive_index))
