"""Stops between two settings, and the true values behind the rounded ones that are engraved.

f/11 is √2 to the 7th, 11.314; 1/125 s is 1/128 s. A camera may report either, so settings are compared with
`SETTING_SLACK_EV` of `session.units.numbers` to spare. Differences are positive when the second setting gives more
light.
"""

from __future__ import annotations

import math

from session.units.quantities import require

# Steps per stop on cameras and lenses. By custom.
STEPS_PER_EV = 3


def f_number_change_ev(from_f_number: float, to_f_number: float) -> float:
    """EV (stops) gained from one f-number to another: 2·log2(from/to). Raises ValueError."""
    require(from_f_number=from_f_number, to_f_number=to_f_number)
    return 2 * math.log2(from_f_number / to_f_number)


def exposure_time_change_ev(from_exposure_s: float, to_exposure_s: float) -> float:
    """EV (stops) gained from one exposure time in s to another, for lasting light: log2(to/from). Raises ValueError."""
    require(from_exposure_s=from_exposure_s, to_exposure_s=to_exposure_s)
    return math.log2(to_exposure_s / from_exposure_s)


def iso_change_ev(from_iso: float, to_iso: float) -> float:
    """EV (stops) gained from one ISO speed to another: log2(to/from). Raises ValueError."""
    require(from_iso=from_iso, to_iso=to_iso)
    return math.log2(to_iso / from_iso)


def exact_f_number(marked_f_number: float, steps_per_ev: int = STEPS_PER_EV) -> float:
    """The power of √2 behind an engraved f-number: 11 gives 11.314, 5.6 gives 5.657. Raises ValueError.

    steps_per_ev  f-numbers engraved per stop (EV), 3 for thirds
    """
    require(marked_f_number=marked_f_number, steps_per_ev=steps_per_ev)
    steps = round(2 * math.log2(marked_f_number) * steps_per_ev)
    return float(2 ** (steps / (2 * steps_per_ev)))


def exact_exposure_s(marked_exposure_s: float, steps_per_ev: int = STEPS_PER_EV) -> float:
    """The power of 2 behind an engraved exposure time, s: 1/125 gives 1/128. Raises ValueError.

    steps_per_ev  times engraved per stop (EV), 3 for thirds
    """
    require(marked_exposure_s=marked_exposure_s, steps_per_ev=steps_per_ev)
    return float(2 ** (round(math.log2(marked_exposure_s) * steps_per_ev) / steps_per_ev))
