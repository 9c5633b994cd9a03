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


def _limit_mm(blur_mm: float, opening: float) -> float:
    return blur_mm / opening if opening > 0 else math.inf
