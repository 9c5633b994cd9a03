"""The duration of a flash, the share of it that the shutter lets through, and the motion that it freezes.

t0.5 and t0.1 are the times above one half and above one tenth of the peak. A tube that burns out falls
exponentially: t0.1 = 3.32·t0.5. A tube that is switched off ends sharply and both are nearly the same; other
pulses lie between. So t0.1 is a figure of the unit at that power, to be taken from its manual or measured.
At lower power switched units burn shorter, voltage-controlled ones often longer (common practice, no source).
Source: ISO 2827:1988 for the definitions; the exponential fall is fitted to measured discharges in a student
study of 2009.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from session.units.quantities import RefusedNumberError, require
from session.units.refusals import ImpossibleNumbersError

# t0.1/t0.5 for an exponential fall, ln 10/ln 2, and for a Gaussian pulse, its square root. Derived.
EXPONENTIAL_RATIO = math.log(10) / math.log(2)
GAUSSIAN_RATIO = math.sqrt(EXPONENTIAL_RATIO)


def decay_time_s(duration_t01_s: float) -> float:
    """Time constant τ of the exponential fall, s: t0.1/ln 10. Raises ValueError."""
    require(duration_t01_s=duration_t01_s)
    return duration_t01_s / math.log(10)


def share_given(elapsed_s: float, duration_t01_s: float) -> float:
    """Share of the flash's light that has been given by then, 0 to 1: 1 − exp(−t/τ).

    elapsed_s       since the flash fired; at or below 0 nothing was given
    duration_t01_s  0 for a flash without length
    Raises ValueError when an argument is out of range.
    """
    require(elapsed_s=elapsed_s)
    decay = decay_time_s(duration_t01_s)
    if elapsed_s <= 0:
        return 0.0
    return -math.expm1(-elapsed_s / decay) if decay > 0 else 1.0


def shutter_loss_ev(open_after_flash_s: float, duration_t01_s: float) -> float:
    """EV (stops) of the flash that are cut off when the shutter closes some seconds after it fired, positive.

    open_after_flash_s, duration_t01_s  in s
    Infinite when the shutter closes before the flash. Raises ValueError as share_given does.
    """
    require(open_after_flash_s=open_after_flash_s)
    given = share_given(open_after_flash_s, duration_t01_s)
    return -math.log2(given) if given > 0 else math.inf


def duration_at_power_s(durations_t01_s: Mapping[float, float], power_ev: float) -> float:
    """t0.1 at a power between those that are known for the unit, s; straight in log t against EV.

    durations_t01_s  power_ev → t0.1, from the manual or measured; at least one
    Raises ValueError when power_ev lies outside the known ones: units differ too much to guess.
    """
    require(power_ev=power_ev)
    for known_ev, duration in durations_t01_s.items():
        require(power_ev=known_ev, duration_t01_s=duration)
        if duration == 0:
            raise RefusedNumberError("duration_t01_s", 0.0, but="a flash burns for some time")
    below = max((known for known in durations_t01_s if known <= power_ev), default=None)
    above = min((known for known in durations_t01_s if known >= power_ev), default=None)
    if below is None or above is None:
        raise ImpossibleNumbersError(
            f"power_ev is {power_ev:.3g} EV, but no flash duration is known on both sides of it."
        )
    if above == below:
        return durations_t01_s[below]
    part = (power_ev - below) / (above - below)
    return float(durations_t01_s[below] ** (1 - part) * durations_t01_s[above] ** part)
