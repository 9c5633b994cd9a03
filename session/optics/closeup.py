"""Where things stand close up, and how much light is left: distances, track, pupils, effective f-number.

A lens is its focal length in use, its pupil magnification P (exit pupil / entrance pupil diameter, lens in
normal orientation) and the gap between its principal planes. Subject-side distances count from the front
principal plane (or the entrance pupil, where said) towards the piece, image-side ones from the rear
principal plane towards the sensor; all are positive. Magnification m is positive, although the image is
upside down: texts that count it negative write N(1 − m/P) for the same thing.
"""

from __future__ import annotations

import math

from session.units.quantities import RefusedNumberError, require
from session.units.refusals import ImpossibleNumbersError


def effective_f_number(f_number: float, magnification: float, pupil_magnification: float = 1.0) -> float:
    """f-number that sets light and blur at the sensor when the piece is close.

    N_e = N·(1 + m/P)

    f_number             N as marked on the lens
    magnification        m, >= 0
    pupil_magnification  P
    Returns N_e, no unit; at m = 1, P = 1 it is 2 N, two stops less light. Metering through the lens already
    contains the loss, and some bodies display N_e: never apply it twice.
    Raises ValueError when an argument is out of range.
    Source: Greivenkamp, Field Guide to Geometrical Optics, SPIE FG01 (2004), p. 29, with m counted positive.
    """
    require(f_number=f_number, magnification=magnification, pupil_magnification=pupil_magnification)
    return f_number * (1 + magnification / pupil_magnification)


def exposure_increase_ev(magnification: float, pupil_magnification: float = 1.0) -> float:
    """EV (stops) to add because the lens is close: 2·log2(1 + m/P), >= 0.

    Light falls as 1/N_e²; see effective_f_number. Raises ValueError when an argument is out of range.
    """
    require(magnification=magnification, pupil_magnification=pupil_magnification)
    return 2 * math.log2(1 + magnification / pupil_magnification)


def pupil_magnification_in_use(f_number: float, effective_f_number: float, magnification: float) -> float:
    """P that the effective f-number at a ratio shows: m/(N_e/N − 1), the inverse of effective_f_number.

    f_number            N as marked; effective_f_number N_e as measured there
    magnification       m > 0
    A lens that focuses inside changes its pupils on the way; this value counts for light and depth.
    Raises ValueError when an argument is out of range, or the lens shows no loss, which no P explains.
    """
    require(f_number=f_number, effective_f_number=effective_f_number, magnification=magnification)
    lost = effective_f_number / f_number - 1
    if magnification == 0 or not lost > 0:
        raise ImpossibleNumbersError(
            f"effective_f_number is {effective_f_number:.4g}, but must be more than the marked one, {f_number:.4g}, at "
            f"a ratio above 0, here {magnification:.4g}."
        )
    found = magnification / lost
    require(pupil_magnification=found)
    return found


def subject_distance_mm(focal_length_mm: float, magnification: float) -> float:
    """Piece to front principal plane, mm: u = f·(1 + 1/m); infinite at m = 0.

    Source: Smith, Modern Optical Engineering, ch. 2 (thin lens in Newton's form). Raises ValueError.
    """
    require(focal_length_mm=focal_length_mm, magnification=magnification)
    return focal_length_mm * (1 + 1 / magnification) if magnification > 0 else math.inf


def image_distance_mm(focal_length_mm: float, magnification: float) -> float:
    """Rear principal plane to sensor, mm: v = f·(1 + m). Raises ValueError."""
    require(focal_length_mm=focal_length_mm, magnification=magnification)
    return focal_length_mm * (1 + magnification)


def track_mm(focal_length_mm: float, magnification: float, principal_gap_mm: float = 0.0) -> float:
    """Piece to sensor, mm: T = f·(1 + m)²/m + h.

    principal_gap_mm  h, front to rear principal plane; negative when they are crossed
    Returns infinity at m = 0. Raises ValueError. Source: derived from u + v.
    """
    require(principal_gap_mm=principal_gap_mm)
    between = subject_distance_mm(focal_length_mm, magnification)
    return between + image_distance_mm(focal_length_mm, magnification) + principal_gap_mm


def focal_length_in_use_mm(track_mm: float, magnification: float, principal_gap_mm: float = 0.0) -> float:
    """Focal length a lens has at this ratio, mm: f = (T − h)·m/(1 + m)².

    An internal-focus lens shortens as it focuses: one marked 100 mm that reaches m = 1 at a track of
    300 mm works near 75 mm there. Extension and depth follow this length, not the marked one.
    Raises ValueError when an argument is out of range, m is 0, or no length is left after the gap.
    """
    require(track_mm=track_mm, magnification=magnification, principal_gap_mm=principal_gap_mm)
    if magnification == 0:
        raise RefusedNumberError("magnification", 0.0, but="the track of a lens at infinity says nothing of its length")
    if track_mm <= principal_gap_mm:
        raise ImpossibleNumbersError(
            f"track_mm is {track_mm:.4g} mm, but must be longer than the gap between the principal planes, "
            f"{principal_gap_mm:.4g} mm."
        )
    return (track_mm - principal_gap_mm) * magnification / (1 + magnification) ** 2


def entrance_pupil_distance_mm(focal_length_mm: float, magnification: float, pupil_magnification: float = 1.0) -> float:
    """Piece to entrance pupil, mm: u_E = f·(1/m + 1/P); infinite at m = 0.

    Perspective and depth of field count from here.
    Source: van Walree, Derivation of the DOF equations; agrees with a paraxial ray trace. Raises ValueError.
    """
    require(focal_length_mm=focal_length_mm, magnification=magnification, pupil_magnification=pupil_magnification)
    if magnification == 0:
        return math.inf
    return focal_length_mm * (1 / magnification + 1 / pupil_magnification)
