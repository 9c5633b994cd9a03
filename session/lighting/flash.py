"""How much light one flash gives: guide number, power, ISO, distance, close-up loss; recycling.

The guide number is f-number times distance in metres at full power and ISO 100 for a small source far away.
Close up the lens loses 1 + m/P of it (the light on the sensor follows the effective f-number), a shaper loses
what was measured for it, and a large source gives less than the inverse square promises (`source`). The
printed number was found in a room with pale walls: measure one frame and calibrate.
Source: ISO 1230:1992, Determination of flash guide numbers; published formula for distance, ISO and power.
"""

from __future__ import annotations

import math

from session.optics.closeup import exposure_increase_ev
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

FEET_PER_METRE = 3.28084

# Guide numbers are stated at this speed. Source: ISO 1230:1992.
GUIDE_ISO = 100.0


def guide_number_m(effective_f_number: float, distance_mm: float) -> float:
    """Guide number that a right exposure shows, in metres: N_e·d, d in mm. Raises ValueError."""
    require(effective_f_number=effective_f_number, distance_mm=distance_mm)
    return effective_f_number * distance_mm / 1000


def guide_number_at_m(guide_number_m: float, power_ev: float = 0.0, iso: float = GUIDE_ISO) -> float:
    """Guide number at reduced power and another ISO, metres: GN·√(S/100)·2^(power/2).

    power_ev  0 full, −2 a quarter
    Raises ValueError when an argument is out of range.
    """
    require(guide_number_m=guide_number_m, power_ev=power_ev, iso=iso)
    return guide_number_m * math.sqrt(iso / GUIDE_ISO) * float(2 ** (power_ev / 2))


def f_number(
    guide_number_m: float,
    distance_mm: float,
    power_ev: float = 0.0,
    iso: float = GUIDE_ISO,
    magnification: float = 0.0,
    pupil_magnification: float = 1.0,
    source_size_mm: float = 0.0,
    loss_ev: float = 0.0,
    origin_behind_mm: float = 0.0,
) -> float:
    """f-number to set on the lens, as marked, for a right exposure by this one light.

    N = GN·√(S/100)·2^((power − loss)/2) / (√((d + o)² + R²)·(1 + m/P)), d, o and R in metres

    guide_number_m   of the flash as calibrated, metres, ISO 100, full power
    distance_mm      d, front of the light to piece
    source_size_mm   diameter 2R of the disc that shines, facing the piece; 0 for a bare small flash. A
                     rectangle: that of the disc as large, 2·√(w·h/π)
    loss_ev          stops lost in shaper, gel or plate, positive (as measured, plate.loss_both_passes_ev)
    origin_behind_mm o, how far behind that front the light seems to come from (source.origin_behind_mm)
    Raises ValueError when an argument is out of range.
    """
    require(distance_mm=distance_mm, source_size_mm=source_size_mm, origin_behind_mm=origin_behind_mm)
    reach_m = _reach_m(distance_mm, source_size_mm, origin_behind_mm)
    marked_ev = _change_ev(magnification, pupil_magnification, loss_ev)
    return guide_number_at_m(guide_number_m, power_ev, iso) * float(2 ** (marked_ev / 2)) / reach_m


def power_ev_for(
    f_number: float,
    guide_number_m: float,
    distance_mm: float,
    iso: float = GUIDE_ISO,
    magnification: float = 0.0,
    pupil_magnification: float = 1.0,
    source_size_mm: float = 0.0,
    loss_ev: float = 0.0,
    origin_behind_mm: float = 0.0,
) -> float:
    """Power in EV for a right exposure at a marked f-number; the inverse of f_number.

    guide_number_m               full power, m
    distance_mm, source_size_mm, origin_behind_mm  in mm
    loss_ev                      in EV
    Above 0 the flash hasn't enough: so many stops are missing. Not held to what the unit can be set to.
    Raises ValueError when an argument is out of range.
    """
    require(
        f_number=f_number,
        distance_mm=distance_mm,
        source_size_mm=source_size_mm,
        origin_behind_mm=origin_behind_mm,
    )
    reach_m = _reach_m(distance_mm, source_size_mm, origin_behind_mm)
    full = guide_number_at_m(guide_number_m, 0.0, iso) / reach_m
    return 2 * math.log2(f_number / full) - _change_ev(magnification, pupil_magnification, loss_ev)


def distance_mm_for(
    f_number: float,
    guide_number_m: float,
    power_ev: float = 0.0,
    iso: float = GUIDE_ISO,
    magnification: float = 0.0,
    pupil_magnification: float = 1.0,
    source_size_mm: float = 0.0,
    loss_ev: float = 0.0,
    origin_behind_mm: float = 0.0,
) -> float:
    """Distance of the light for a right exposure at a marked f-number, mm; the inverse of f_number.

    guide_number_m     full power, m
    power_ev, loss_ev  in EV
    source_size_mm     diameter of the disc that shines, mm; origin_behind_mm as in f_number, mm
    Raises ValueError when an argument is out of range, and when a source of that size gives too little even
    when it touches the piece.
    """
    require(f_number=f_number, source_size_mm=source_size_mm, origin_behind_mm=origin_behind_mm)
    marked_ev = _change_ev(magnification, pupil_magnification, loss_ev)
    reach_m = guide_number_at_m(guide_number_m, power_ev, iso) * float(2 ** (marked_ev / 2)) / f_number
    nearest_m = _reach_m(0.0, source_size_mm, origin_behind_mm)
    if reach_m <= nearest_m:
        raise ImpossibleNumbersError(
            f"f_number is {f_number:.3g}, but this light gives at most f/{f_number * reach_m / nearest_m:.3g} "
            "however near it stands."
        )
    return 1000 * math.sqrt(reach_m**2 - (source_size_mm / 2000) ** 2) - origin_behind_mm


def calibrated_guide_number_m(guide_number_m: float, measured_change_ev: float) -> float:
    """Guide number corrected by one measured frame, metres: GN·2^(e/2).

    measured_change_ev  e, how much brighter the frame came out than it should, EV; darker is negative
    Store the number for the light with the shaper used. Raises ValueError when out of range.
    """
    require(guide_number_m=guide_number_m, measured_change_ev=measured_change_ev)
    corrected = guide_number_m * float(2 ** (measured_change_ev / 2))
    require(guide_number_m=corrected)
    return corrected


def recycling_time_s(full_recycling_time_s: float, power_ev: float) -> float:
    """Time to be ready again after a flash, s: full time · 2^power.

    A model, the charger of constant power: measure it on the unit, since the ready lamp may come on early.
    full_recycling_time_s  after a flash at full power, s
    power_ev               EV, 0 or below
    Raises ValueError when an argument is out of range. Common practice, no source.
    """
    require(full_recycling_time_s=full_recycling_time_s, power_ev=power_ev)
    return full_recycling_time_s * float(2**power_ev)


def _reach_m(distance_mm: float, source_size_mm: float, origin_behind_mm: float) -> float:
    return math.hypot(distance_mm + origin_behind_mm, source_size_mm / 2) / 1000


def _change_ev(magnification: float, pupil_magnification: float, loss_ev: float) -> float:
    require(loss_ev=loss_ev)
    return -exposure_increase_ev(magnification, pupil_magnification) - loss_ev
