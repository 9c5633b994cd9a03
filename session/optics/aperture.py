"""Defocus and diffraction together: combined blur, the best aperture for a depth, the most depth for a blur.

Three rules add the two blurs, and the answers differ: name the rule with the answer.

- `wave`    the transfer function of the defocused pupil. Its frequency of half contrast is turned into the
            diameter of the disc with the same frequency, to be compared with a blur circle.
- `rss`     √(defocus² + Airy²), the handbook rule. It is pessimistic: in focus it puts half contrast 28 %
            too low, and it opens the lens a third of a stop too far, though the optimum is so flat that
            this costs only 2.5 % of it.
- `linear`  defocus + Airy, more pessimistic still.

Depth counts symmetrically around the plane of focus here (the close-up form of `depth`), and a depth T on
the piece means a geometric blur of T·m²/(2·N_e) at its ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from session.optics.diffraction import (
    AIRY_FACTOR,
    DISC_MTF50,
    GREEN_UM,
    airy_diameter_um,
    cut_off_cycles_per_mm,
    defocus_waves,
    mtf50,
    waves_at_mtf50,
)
from session.optics.framing import positive_magnification
from session.units.quantities import require

Rule = Literal["wave", "rss", "linear"]

# Defocus at the ends of the depth for which half contrast there lies highest: the maximum of √W·mtf50(W),
# and mtf50 at it. RSS puts it at 0.3050. Worked out from diffraction.mtf50.
BEST_WAVES = 0.236846
BEST_MTF50 = 0.309723


@dataclass(frozen=True)
class Opening:
    """An effective f-number with the depth on the piece that it serves and the total blur at its ends."""

    effective_f_number: float
    depth_mm: float
    blur_mm: float


def combined_blur_mm(
    defocus_blur_mm: float,
    effective_f_number: float,
    wavelength_um: float = GREEN_UM,
    rule: Rule = "wave",
) -> float:
    """Total blur diameter at the sensor, mm, from the geometric one and diffraction.

    defocus_blur_mm     geometric blur diameter, mm, >= 0
    effective_f_number  N_e
    wavelength_um       λ in µm
    Raises ValueError when an argument is out of range.
    Source: `wave` Hopkins 1955, from memory; `rss` Hansma 1996, from memory.
    """
    require(defocus_blur_mm=defocus_blur_mm)
    waves = defocus_waves(defocus_blur_mm, effective_f_number, wavelength_um)
    airy_mm = airy_diameter_um(effective_f_number, wavelength_um) / 1000
    if rule == "rss":
        return math.hypot(defocus_blur_mm, airy_mm)
    if rule == "linear":
        return defocus_blur_mm + airy_mm
    return DISC_MTF50 / (mtf50(waves) * cut_off_cycles_per_mm(effective_f_number, wavelength_um))


def half_contrast_cycles_per_mm(
    defocus_blur_mm: float, effective_f_number: float, wavelength_um: float = GREEN_UM
) -> float:
    """Frequency at the sensor where contrast has fallen to one half, cycles/mm, by wave optics.

    defocus_blur_mm  geometric blur diameter at the sensor, mm
    wavelength_um    λ in µm
    Raises ValueError when an argument is out of range.
    """
    require(defocus_blur_mm=defocus_blur_mm)
    waves = defocus_waves(defocus_blur_mm, effective_f_number, wavelength_um)
    return mtf50(waves) * cut_off_cycles_per_mm(effective_f_number, wavelength_um)


def best_aperture(
    depth_mm: float, magnification: float, wavelength_um: float = GREEN_UM, rule: Rule = "wave"
) -> Opening:
    """The opening that leaves the least blur at both ends of a depth that must be sharp.

    depth_mm       on the piece, near to far, mm
    magnification  m > 0
    wavelength_um  λ in µm
    Returns the effective f-number and the blur at the ends.
    Raises ValueError when an argument is out of range. Source: as combined_blur_mm.
    """
    require(depth_mm=depth_mm, wavelength_um=wavelength_um)
    image_shift_mm = depth_mm * positive_magnification(magnification) ** 2 / 2
    airy_mm = AIRY_FACTOR * wavelength_um / 1000
    if rule == "wave":
        opening = math.sqrt(image_shift_mm / (8 * BEST_WAVES * wavelength_um / 1000))
        return Opening(opening, depth_mm, DISC_MTF50 / BEST_MTF50 * opening * wavelength_um / 1000)
    # Both sums are least where the two parts are equal.
    opening = math.sqrt(image_shift_mm / airy_mm)
    return Opening(opening, depth_mm, (math.sqrt(2) if rule == "rss" else 2) * airy_mm * opening)


def most_depth(
    blur_circle_mm: float, magnification: float, wavelength_um: float = GREEN_UM, rule: Rule = "wave"
) -> Opening:
    """The opening that makes most of the piece sharp when the total blur may be as large as a given circle.

    blur_circle_mm  total blur allowed at the sensor, diffraction included, mm
    wavelength_um   λ in µm
    Returns the effective f-number and the depth it gives. Raises ValueError when an argument is out of
    range. Source: as combined_blur_mm; the maximum is worked out.
    """
    require(blur_circle_mm=blur_circle_mm, wavelength_um=wavelength_um)
    ratio = positive_magnification(magnification)
    wavelength_mm = wavelength_um / 1000
    airy_mm = AIRY_FACTOR * wavelength_mm
    if rule == "wave":
        opening = blur_circle_mm * BEST_MTF50 / (DISC_MTF50 * wavelength_mm)
        depth_mm = 16 * opening**2 * wavelength_mm * BEST_WAVES / ratio**2
    elif rule == "rss":
        opening = blur_circle_mm / (math.sqrt(2) * airy_mm)
        depth_mm = blur_circle_mm**2 / (airy_mm * ratio**2)
    else:
        opening = blur_circle_mm / (2 * airy_mm)
        depth_mm = blur_circle_mm**2 / (2 * airy_mm * ratio**2)
    return Opening(opening, depth_mm, blur_circle_mm)


def depth_with_diffraction_mm(
    effective_f_number: float, magnification: float, blur_circle_mm: float, wavelength_um: float = GREEN_UM
) -> float:
    """Depth on the piece in which total blur stays within the circle by wave optics, mm.

    blur_circle_mm  total blur allowed at the sensor, mm
    wavelength_um   λ in µm
    Returns 0 when diffraction alone is already larger: no focus step brings that back.
    Raises ValueError when an argument is out of range.
    """
    require(effective_f_number=effective_f_number, blur_circle_mm=blur_circle_mm, wavelength_um=wavelength_um)
    ratio = positive_magnification(magnification)
    wavelength_mm = wavelength_um / 1000
    needed = DISC_MTF50 * wavelength_mm * effective_f_number / blur_circle_mm
    return 16 * effective_f_number**2 * wavelength_mm * waves_at_mtf50(needed) / ratio**2


def quarter_wave_depth_mm(effective_f_number: float, magnification: float, wavelength_um: float = GREEN_UM) -> float:
    """Depth in which the wavefront errs by at most a quarter wave, mm: 4·λ·N_e²/m², with λ in µm.

    The step for a series limited by diffraction only. Source: Rayleigh's criterion, from memory.
    Raises ValueError.
    """
    require(effective_f_number=effective_f_number, wavelength_um=wavelength_um)
    return 4 * wavelength_um / 1000 * (effective_f_number / positive_magnification(magnification)) ** 2
