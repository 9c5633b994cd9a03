"""Blur and depth counted on the piece, by one curve that serves every lens, ratio and f-number.

On the piece a lens is nothing but its opening a = N_e/m. In units of λ·a a slice of depth d gives the geometric
blur g = d/(2·a)/(λ·a) at its ends, and wave optics a total blur β(g), the disc of the same half contrast as in
`optics.aperture`. β is taken from `optics.diffraction.mtf50` once, at nodes even in asinh g, and read between
them in a straight line: a planner asks for it thousands of times. It is right to 3 parts in 100 000.

Blurs here are blur circles, diameters. Planner and rules count depth and frames by `sharp_series`, so that a set-up
needs as many frames at the bench as its plan said.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache

from session.optics.aperture import quarter_wave_depth_mm
from session.optics.diffraction import DISC_MTF50, GREEN_UM, mtf50
from session.optics.framing import positive_magnification
from session.optics.steps import FocusSteps, focus_steps
from session.units.quantities import require

NODES = 513
LARGEST_WAVES = 1000.0
"""Beyond, diffraction adds less than 3 parts in 100 000 to the geometric blur."""


USUAL_OVERLAP = 0.25
"""Of the depths in a focus series; 0.2 to 0.3 is usual. Common practice, no source."""


@dataclass(frozen=True)
class SharpSeries:
    """How a depth is made sharp at one aperture.

    depth_mm  sharp in one frame; a quarter wave's where no plane is as sharp as allowed
    by_diffraction  no plane is, since diffraction alone exceeds what is allowed
    by_plate  no plane is, since with it the astigmatism of the glass before the lens does
    steps     frames, and how far apart
    """

    depth_mm: float
    by_diffraction: bool
    by_plate: bool
    steps: FocusSteps

    @property
    def never_sharp(self) -> bool:
        """No plane is as sharp as allowed, however many frames are taken."""
        return self.by_diffraction or self.by_plate


def sharp_series(
    needed_mm: float,
    effective_f_number: float,
    magnification: float,
    blur_circle_on_piece_mm: float,
    overlap: float = USUAL_OVERLAP,
    wavelength_um: float = GREEN_UM,
    astigmatism_mm: float = 0.0,
) -> SharpSeries:
    """Depth of one frame by wave optics, and the frames that cover the depth needed with it.

    needed_mm                depth on the piece that must be sharp, mm
    blur_circle_on_piece_mm  total blur allowed, diffraction included, as a diameter, mm
    wavelength_um            λ in µm
    astigmatism_mm           of glass before the lens (plate.astigmatism_mm): so much less is sharp, mm
    Raises ValueError when an argument is out of range or the series would be absurdly long.
    """
    deep_mm = depth_mm(blur_circle_on_piece_mm, opening(effective_f_number, magnification), wavelength_um)
    by_diffraction = deep_mm == 0
    deep_mm -= abs(astigmatism_mm)
    by_plate = deep_mm <= 0 and not by_diffraction
    if by_diffraction or by_plate:
        deep_mm = quarter_wave_depth_mm(effective_f_number, magnification, wavelength_um)
    return SharpSeries(deep_mm, by_diffraction, by_plate, focus_steps(needed_mm, deep_mm, overlap))


def opening(effective_f_number: float, magnification: float) -> float:
    """a = N_e/m, what the piece sees of the lens: the cone of light from a point is 1/a wide. Raises ValueError."""
    require(effective_f_number=effective_f_number)
    return effective_f_number / positive_magnification(magnification)


def blur_at_ends_mm(depth_mm: float, opening: float, wavelength_um: float, astigmatism_mm: float = 0.0) -> float:
    """Total blur on the piece at both ends of a slice, the plane of focus in its middle, mm; across the worse lines.

    depth_mm       near to far end, mm, >= 0
    wavelength_um  λ in µm
    astigmatism_mm  of glass before the lens, either sign, mm: lines up and across are sharp so far apart, so that at
                   either end the worse of them is out of focus by half of it more
    Source: derived; contrast along an axis of the pupil doesn't depend on the defocus across it. An FFT agrees.
    """
    unit_mm = wavelength_um / 1000 * opening
    geometric = (depth_mm + abs(astigmatism_mm)) / (2 * opening * unit_mm)
    nodes, excess, _, _ = _curve()
    return unit_mm * (geometric + _between(math.asinh(geometric), nodes, excess))


def depth_mm(blur_mm: float, opening: float, wavelength_um: float) -> float:
    """Depth in which the total blur on the piece stays within blur_mm, mm: the inverse of blur_at_ends_mm.

    wavelength_um  λ in µm
    Returns 0 when diffraction alone is larger.
    """
    unit_mm = wavelength_um / 1000 * opening
    total = blur_mm / unit_mm
    _, excess, log_totals, shares = _curve()
    if total <= excess[0]:
        return 0.0
    geometric = math.sqrt(total**2 - excess[0] ** 2) * _between(math.log(total), log_totals, shares)
    return 2 * opening * unit_mm * geometric


@lru_cache(maxsize=1)
def _curve() -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """asinh g and β − g there; log β and g/√(β² − β(0)²) there, which is smooth where g alone is not."""
    step = math.asinh(8 * LARGEST_WAVES) / (NODES - 1)
    nodes = tuple(k * step for k in range(NODES))
    geometric = [math.sinh(node) for node in nodes]
    total = [DISC_MTF50 / mtf50(g / 8) for g in geometric]
    shares = [g / math.sqrt(b * b - total[0] ** 2) for g, b in zip(geometric[1:], total[1:], strict=True)]
    return (
        nodes,
        tuple(b - g for g, b in zip(geometric, total, strict=True)),
        tuple(math.log(b) for b in total),
        (shares[0], *shares),
    )


def _between(x: float, xs: tuple[float, ...], ys: tuple[float, ...]) -> float:
    """y at x, straight between the nodes, level beyond the last one."""
    if x >= xs[-1]:
        return ys[-1]
    right = bisect_right(xs, x)
    if right == 0:
        return ys[0]
    left = right - 1
    return ys[left] + (ys[right] - ys[left]) * (x - xs[left]) / (xs[right] - xs[left])
