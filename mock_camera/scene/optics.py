"""The mock camera's own optics: where the lens focuses, how large a blur it makes, what it transfers.

Kept apart from the product's optics on purpose, since the product's optics are checked by these. The lens is
a unit-focusing lens with pupils, the subject side held still: turning the ring moves the sensor side, so
the entrance pupil stays where it is and the picture's scale changes a little with focus.

Signs: distances along the axis count from the plane in which the region lies, + = away from the camera.
Lengths in mm, spatial frequencies in cycles per mm at the sensor.

Sources: thin-lens conjugates and pupil relations, any optics text (e.g. Smith, Modern Optical
Engineering); the transfer function of a circular pupil with defocus is the overlap integral of
Hopkins (1955), evaluated here by Gauss-Legendre quadrature, so diffraction and defocus are not added
as two separate blurs. Through a tilted sheet of glass (glass.py) the defocus differs across and down the picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mock_camera.scene.arrays import Floats
from mock_camera.scene.glass import GlassSheet

WAVELENGTH_MM = 0.55e-3  # green light; the one wavelength that the whole picture is formed with
AIRY_ZERO = 1.2196699  # first zero of J1, divided by pi


@dataclass(frozen=True)
class FocusedLens:
    """Lens and distance, as set up with the region in focus.

    magnification        image / subject in the plane of the region, > 0
    focal_length_mm      > 0
    pupil_magnification  exit / entrance pupil diameter, > 0
    widest_f_number      the aperture that live view uses
    rim_mm               diameter of its front, as a mirror on the table shows it; 0 leaves it out
    rim_before_mm        height of its front over the region
    """

    magnification: float = 1.0
    focal_length_mm: float = 100.0
    pupil_magnification: float = 1.0
    widest_f_number: float = 2.8
    rim_mm: float = 0.0
    rim_before_mm: float = 1.0

    @property
    def pupil_distance_mm(self) -> float:
        """Entrance pupil to the plane of the region, mm: f (1/m + 1/P)."""
        return self.focal_length_mm * (1 / self.magnification + 1 / self.pupil_magnification)


@dataclass(frozen=True)
class Focus:
    """The lens with its plane of focus moved by `focus_mm` from the region (+ = away).

    magnification       in the plane of focus
    pupil_distance_mm   entrance pupil to the plane of focus
    effective_f_number  N (1 + m/P), the working aperture at the sensor
    scale               size of the image of anything still, relative to its size at focus_mm = 0
    glass               between piece and lens
    """

    arrangement: FocusedLens
    f_number: float
    magnification: float
    pupil_distance_mm: float
    effective_f_number: float
    scale: float
    glass: GlassSheet | None = None

    @property
    def pupil_mm(self) -> float:
        """Diameter of the entrance pupil, mm."""
        return self.arrangement.focal_length_mm / self.f_number

    def blur_circle_mm(self, away_mm: float) -> float:
        """Diameter at the sensor of the geometric blur disc of a point `away_mm` behind the region.

        Through glass the longer axis of the spot.
        """
        return max(abs(spread_mm) for spread_mm in self.spreads_mm(away_mm))

    def spreads_mm(self, away_mm: float) -> tuple[float, float]:
        """Width and height at the sensor of the geometric spot of such a point; negative behind the plane of focus.

        c = m D (u_f - u) / u, D = f/N, u from the entrance pupil; exact for any distance.
        """
        across_mm, down_mm = 0.0, 0.0
        if self.glass:
            across_mm, down_mm = self.glass.apart_mm(self.pupil_mm / 2 / self.pupil_distance_mm)
        return self._spread_mm(away_mm + across_mm), self._spread_mm(away_mm + down_mm)

    def _spread_mm(self, away_mm: float) -> float:
        point_mm = max(self.arrangement.pupil_distance_mm + away_mm, 1.0)
        return self.magnification * self.pupil_mm * (self.pupil_distance_mm - point_mm) / point_mm

    @property
    def airy_radius_mm(self) -> float:
        """Centre to first dark ring of the diffraction pattern at the sensor, mm."""
        return AIRY_ZERO * WAVELENGTH_MM * self.effective_f_number


def focus_at(arrangement: FocusedLens, f_number: float, focus_mm: float, glass: GlassSheet | None = None) -> Focus:
    """The lens with its plane of focus `focus_mm` behind the region's plane (negative: in front).

    Newton's equation from the front focus, x x' = f^2, gives m' = f / (f/m + focus_mm); the exit pupil
    lies f (m + P) from the sensor, which scales the picture by (m' + P) / (m + P).
    """
    f, m, p = arrangement.focal_length_mm, arrangement.magnification, arrangement.pupil_magnification
    moved_m = f / (f / m + focus_mm)
    return Focus(
        arrangement=arrangement,
        f_number=f_number,
        magnification=moved_m,
        pupil_distance_mm=arrangement.pupil_distance_mm + focus_mm,
        effective_f_number=f_number * (1 + moved_m / p),
        scale=(moved_m + p) / (m + p),
        glass=glass,
    )


@lru_cache(maxsize=64)
def _nodes(count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return np.polynomial.legendre.leggauss(count)


def transfer(frequency: NDArray[np.float64], blur_circle_mm: float, effective_f_number: float) -> Floats:
    """Optical transfer of a circular pupil with defocus (real, may be negative), 1 at frequency 0.

    frequency           (n,) cycles per mm at the sensor, >= 0
    blur_circle_mm      diameter of the geometric blur disc; 0 gives the diffraction limit
    OTF(s) = (4/pi) int_0^acos(s) sin^2(a) cos(8 pi W s (cos a - s)) da, s = frequency x wavelength x N_e,
    W = blur_circle / (8 wavelength N_e) waves of defocus at the edge of the pupil.
    """
    wave_mm = WAVELENGTH_MM * effective_f_number
    s = np.clip(frequency * wave_mm, 0.0, 1.0)
    waves = blur_circle_mm / (8 * wave_mm)
    node, weight = _nodes(24 + 8 * math.ceil(min(waves, 60.0)))
    half = np.arccos(s)[:, None] / 2
    angle = half * (node[None, :] + 1)
    phase = 8 * math.pi * waves * s[:, None] * (np.cos(angle) - s[:, None])
    summed = (np.sin(angle) ** 2 * np.cos(phase)) @ weight
    return ((4 / math.pi) * half[:, 0] * summed).astype(np.float32)


def two_way_transfer(
    across: NDArray[np.float64], down: NDArray[np.float64], spreads_mm: tuple[float, float], effective_f_number: float
) -> Floats:
    """Optical transfer of a circular pupil whose defocus differs in both directions, (down, across).

    across, down  (n,), (m,) cycles per mm at the sensor along the picture's axes, either sign
    spreads_mm    width and height of the geometric spot, with signs
    The same overlap of two pupils as in `transfer`, where a phase grows evenly along a line that is no longer that of
    the frequency: each strip of the overlap along the frequency gives a sine over its length, and strips are summed.
    """
    wave_mm = WAVELENGTH_MM * effective_f_number
    x, y = np.meshgrid(across * wave_mm, down * wave_mm)
    s = np.hypot(x, y)
    safe = np.where(s > 0, s, 1.0)
    waves_x, waves_y = (spread / (8 * wave_mm) for spread in spreads_mm)
    # phase for each pupil radius along the frequency, and aside of it
    along = 8 * math.pi * (waves_x * x * x + waves_y * y * y) / safe
    aside = 8 * math.pi * (waves_y - waves_x) * x * y / safe
    node, weight = _nodes(24 + 8 * math.ceil(min(max(abs(waves_x), abs(waves_y)), 60.0)))
    inside = np.minimum(s, 1.0)
    half = np.arccos(inside) / 2
    total = np.zeros_like(s)
    for place, share in zip(node, weight, strict=True):
        angle = half * (place + 1)
        length = np.cos(angle) - inside
        strip = length * np.sinc(along * length / math.pi) * np.cos(aside * np.sin(angle)) * np.cos(angle)
        total += share * strip
    return ((4 / math.pi) * half * total).astype(np.float32)
