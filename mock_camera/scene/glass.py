"""A sheet of glass at an angle before the lens: what it passes and throws back, and where a point seems to lie in it.

Light is taken as waves. Each face matches the fields on both its sides, which a characteristic matrix writes down
(Abelès 1950; from memory); a sheet thousands of waves thick shows the mean over all phases. To a plane wave the sheet
is a delay t (n cos r - cos i), so the waves from a point that fill the pupil come out bent, and differently along
the tilt and across it: two planes of focus.

The sheet is put up with the camera focused anew through it, halfway between both planes, and squared up anew, so
ratio and place in the picture stay. What its angle does away from the optical axis is left out.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

LEANS = ("across", "down")
PHASES = 64  # of a whole turn; the mean no longer changes in the last digits


@dataclass(frozen=True)
class GlassSheet:
    """The sheet: thickness in mm, its tilt from square to the axis in degrees, refractive index.

    leans  "across": its normal leans to the side of the picture; "down": to the upper or lower edge
    """

    thickness_mm: float
    tilt_deg: float = 45.0
    refractive_index: float = 1.52
    leans: str = "across"

    def transmittance(self) -> tuple[float, float]:
        """Share of the light that goes through, polarised across the plane of incidence and in it."""
        across, along = self.reflectance()
        return 1 - across, 1 - along

    def reflectance(self) -> tuple[float, float]:
        """Share of the light thrown back by both faces, polarised across the plane of incidence and in it."""
        outer = math.cos(math.radians(self.tilt_deg))
        inner = math.sqrt(1 - (math.sin(math.radians(self.tilt_deg)) / self.refractive_index) ** 2)
        index = self.refractive_index
        # ratio of magnetic to electric field along the face, outside and inside
        return _sheet_reflectance(outer, index * inner), _sheet_reflectance(1 / outer, index / inner)

    def apart_mm(self, half_angle: float) -> tuple[float, float]:
        """How much farther than halfway a point seems to lie, for rays spread across and down the picture, mm.

        half_angle  of the cone from the point that the pupil takes in, as a sine
        """
        along, aside = (
            (self._delay_mm(*at) + self._delay_mm(*(-v for v in at)) - 2 * self._delay_mm(0.0, 0.0)) / half_angle**2
            for at in ((half_angle, 0.0), (0.0, half_angle))
        )
        # a point d farther delays a wave by -d a^2 / 2 at the angle a
        off_mm = (aside - along) / 2
        return (off_mm, -off_mm) if self.leans == "across" else (-off_mm, off_mm)

    def _delay_mm(self, along: float, aside: float) -> float:
        """Delay of a plane wave in the sheet against air, mm; its direction by its sines along the tilt and aside."""
        tilt = math.radians(self.tilt_deg)
        outer = along * math.sin(tilt) + math.sqrt(1 - along**2 - aside**2) * math.cos(tilt)
        inner = math.sqrt(self.refractive_index**2 - 1 + outer**2)
        return self.thickness_mm * (inner - outer)


def _sheet_reflectance(outside: float, inside: float) -> float:
    """Share of the energy that a sheet throws back, over all phases, by the admittances of air and glass."""
    total = 0.0
    for number in range(PHASES):
        wave = cmath.exp(1j * math.pi * number / PHASES)
        electric = wave.real + 1j * wave.imag * outside / inside
        magnetic = 1j * inside * wave.imag + wave.real * outside
        total += abs((outside * electric - magnetic) / (outside * electric + magnetic)) ** 2
    return total / PHASES
