"""Depth of field close up: exact limits, the close-up form and its error, and blur from defocus and back.

All follow from one cone of light. A point δ behind the plane of focus is imaged as a disc of diameter

    b = (m²/N_e)·δ / (1 + δ/u_E)

on the sensor, with u_E from piece to entrance pupil: positive δ behind the plane of focus (away from the
camera), negative in front of it. Near and far limits are where b reaches the blur circle. The close-up form
leaves out δ/u_E, so that near and far come out equal: below m = 0.1 use the exact one. This is geometry;
what diffraction adds is in `aperture`.

Source: van Walree, Derivation of the DOF equations (pupil magnification included), derived anew; a
marginal-ray trace of two-lens systems agrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.optics.arrangement import EquivalentLens, bare
from session.optics.framing import positive_magnification
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError


@dataclass(frozen=True)
class DepthOfField:
    """Limits counted from the plane of focus, mm, both positive; far and depth may be infinite."""

    near_mm: float
    far_mm: float

    @property
    def depth_mm(self) -> float:
        """Depth from the near to the far limit, mm."""
        return self.near_mm + self.far_mm


def depth_of_field(
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    blur_circle_mm: float,
    pupil_magnification: float = 1.0,
) -> DepthOfField:
    """Exact limits of a bare lens, or of one on tubes.

    near = u_E·c/(m·D + c), far = u_E·c/(m·D − c), D = f/N the entrance pupil's diameter; the far limit is
    infinite when m·D <= c.

    focal_length_mm  in use at this ratio, mm
    f_number         as marked on the lens
    magnification    m > 0
    blur_circle_mm   allowed blur diameter on the sensor, mm
    Raises ValueError when an argument is out of range.
    """
    return depth_of_lens(bare(focal_length_mm, f_number, magnification, pupil_magnification), blur_circle_mm)


def depth_of_lens(lens: EquivalentLens, blur_circle_mm: float) -> DepthOfField:
    """Exact limits for any arrangement, from the blur circle at the sensor, mm; see depth_of_field.

    Raises ValueError.
    """
    require(blur_circle_mm=blur_circle_mm)
    opening = positive_magnification(lens.magnification) ** 2 / lens.effective_f_number
    closing = blur_circle_mm / lens.entrance_pupil_distance_mm
    return DepthOfField(_limit_mm(blur_circle_mm, opening + closing), _limit_mm(blur_circle_mm, opening - closing))


def close_up_depth_mm(
    f_number: float, magnification: float, blur_circle_mm: float, pupil_magnification: float = 1.0
) -> float:
    """Total depth in the close-up form, mm: 2·N·c·(1 + m/P)/m². Raises ValueError.

    Source: Smith, Modern Optical Engineering, ch. 9, eqs 9.7 and 9.8.
    """
    require(f_number=f_number, blur_circle_mm=blur_circle_mm, pupil_magnification=pupil_magnification)
    ratio = positive_magnification(magnification)
    return 2 * f_number * blur_circle_mm * (1 + ratio / pupil_magnification) / ratio**2


def close_up_depth_error(
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    blur_circle_mm: float,
) -> float:
    """How much the close-up form falls short, as a share of the exact depth: (c·N/(m·f))², at most 1; c and f in mm.

    The same for every pupil magnification. Raises ValueError when an argument is out of range. Derived.
    """
    require(focal_length_mm=focal_length_mm, f_number=f_number, blur_circle_mm=blur_circle_mm)
    return min((blur_circle_mm * f_number / (positive_magnification(magnification) * focal_length_mm)) ** 2, 1.0)


def hyperfocal_distance_mm(focal_length_mm: float, f_number: float, blur_circle_mm: float) -> float:
    """Focus here, from the front principal plane, and infinity is just sharp, mm: f²/(N·c) + f.

    For the room behind the piece, not for the piece. Source: any handbook; value from memory, derived.
    Raises ValueError.
    """
    require(focal_length_mm=focal_length_mm, f_number=f_number, blur_circle_mm=blur_circle_mm)
    return focal_length_mm**2 / (f_number * blur_circle_mm) + focal_length_mm


def half_depth_of_focus_mm(effective_f_number: float, blur_circle_mm: float) -> float:
    """How far the sensor may lie before or behind the image, mm: c·N_e. On the piece it is 1/m² of that.

    Source: Smith, Modern Optical Engineering, ch. 9, eqs 9.7 and 9.8. Raises ValueError.
    """
    require(effective_f_number=effective_f_number, blur_circle_mm=blur_circle_mm)
    return blur_circle_mm * effective_f_number


def blur_diameter_mm(
    defocus_mm: float,
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    pupil_magnification: float = 1.0,
) -> float:
    """Diameter on the sensor of the disc that a point out of focus becomes, mm, >= 0; exact.

    defocus_mm  the point's distance from the plane of focus, mm: + behind it, − in front of it
    Raises ValueError when an argument is out of range or the point lies at or behind the entrance pupil.
    """
    return blur_of_lens_mm(defocus_mm, bare(focal_length_mm, f_number, magnification, pupil_magnification))


def blur_of_lens_mm(defocus_mm: float, lens: EquivalentLens) -> float:
    """The same for any arrangement; see blur_diameter_mm. Raises ValueError."""
    require(defocus_mm=defocus_mm)
    opening = positive_magnification(lens.magnification) ** 2 / lens.effective_f_number
    spread = 1 + defocus_mm / lens.entrance_pupil_distance_mm
    if not spread > 0:
        raise ImpossibleNumbersError(
            f"defocus_mm is {defocus_mm:.4g} mm, but the entrance pupil is only "
            f"{lens.entrance_pupil_distance_mm:.4g} mm before the plane of focus."
        )
    return opening * abs(defocus_mm) / spread


def defocus_for_blur_mm(
    blur_diameter_mm: float,
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    pupil_magnification: float = 1.0,
    *,
    behind: bool = True,
) -> float:
    """How far out of focus a point is whose disc has that diameter, the exact inverse of blur_diameter_mm.

    behind  a disc can't tell its side: the point behind the plane of focus by default (result >= 0, and
            infinite when no distance blurs so much), the one in front of it (<= 0) when False
    Raises ValueError when an argument is out of range.
    """
    lens = bare(focal_length_mm, f_number, magnification, pupil_magnification)
    return defocus_of_lens_mm(blur_diameter_mm, lens, behind=behind)


def defocus_of_lens_mm(blur_diameter_mm: float, lens: EquivalentLens, *, behind: bool = True) -> float:
    """The same for any arrangement; see defocus_for_blur_mm. Raises ValueError."""
    require(blur_diameter_mm=blur_diameter_mm)
    opening = positive_magnification(lens.magnification) ** 2 / lens.effective_f_number
    closing = blur_diameter_mm / lens.entrance_pupil_distance_mm
    if behind:
        return _limit_mm(blur_diameter_mm, opening - closing)
    return -_limit_mm(blur_diameter_mm, opening + closing)


def _limit_mm(blur_mm: float, opening: float) -> float:
    return blur_mm / opening if opening > 0 else math.inf
