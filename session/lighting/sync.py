"""The part of the flash that a focal-plane shutter cuts off.

Model: each curtain crosses the frame in T_c at even speed, the second t after the first; the flash fires τ_d
after the first curtain has fully opened the frame and then falls off with time constant τ. Places in the
frame are counted along the curtains' travel, 0 where it begins, 1 where it ends. The place y is open from
y·T_c to y·T_c + t, so its share of the flash is 1 − exp(−(t − (1 − y)·T_c − τ_d)/τ): the place that the
second curtain reaches first, y = 0, loses most, and goes dark first.

An electronic shutter is the same with its read-out time as T_c: rows share time only when t >= T_c. A shutter
between the lenses opens everywhere at once: T_c is 0, no band, only the loss at the end of the flash.
Source: two articles on flash synchronisation speed for the principle; the numbers are derived.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from session.lighting.duration import decay_time_s, shutter_loss_ev
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError


def dark_share(exposure_s: float, curtain_travel_s: float, trigger_delay_s: float = 0.0) -> float:
    """Share of the frame that an instantaneous flash leaves dark, 0 to 1: (T_c + τ_d − t)/T_c.

    exposure_s        t
    curtain_travel_s  T_c; the read-out time of an electronic shutter
    trigger_delay_s   τ_d, radio trigger and flash together
    Raises ValueError when an argument is out of range or missing.
    """
    require(exposure_s=exposure_s, curtain_travel_s=curtain_travel_s, trigger_delay_s=trigger_delay_s)
    return min(max((curtain_travel_s + trigger_delay_s - exposure_s) / curtain_travel_s, 0.0), 1.0)


def fastest_exposure_s(
    curtain_travel_s: float, trigger_delay_s: float = 0.0, flash_duration_t01_s: float = 0.0
) -> float:
    """Shortest time at which the whole frame sees the flash down to a tenth of its peak, s: T_c + τ_d + t0.1.

    Even there the edge loses a tenth of the light of an exponential flash (edge_loss_ev); allow a third of a
    stop to one stop for an unknown radio trigger, 0.2 to 1 ms (common practice, no source).
    Raises ValueError when an argument is out of range or missing.
    """
    require(
        curtain_travel_s=curtain_travel_s,
        trigger_delay_s=trigger_delay_s,
        flash_duration_t01_s=flash_duration_t01_s,
    )
    return curtain_travel_s + trigger_delay_s + flash_duration_t01_s


def sync_margin_ev(
    exposure_s: float,
    curtain_travel_s: float,
    trigger_delay_s: float = 0.0,
    flash_duration_t01_s: float = 0.0,
) -> float:
    """EV (stops) by which the exposure time is longer than the fastest safe one; negative: too short. Times in s."""
    require(exposure_s=exposure_s)
    return math.log2(exposure_s / fastest_exposure_s(curtain_travel_s, trigger_delay_s, flash_duration_t01_s))


def edge_loss_ev(
    exposure_s: float, curtain_travel_s: float, trigger_delay_s: float, flash_duration_t01_s: float
) -> float:
    """EV (stops) lost at the edge that the second curtain reaches first, positive, infinite when it is dark.

    Times in s. The other edge loses less or nothing, so this is a gradient over the frame, also inside the rated
    sync time. Raises ValueError when an argument is out of range or missing.
    """
    require(
        exposure_s=exposure_s,
        curtain_travel_s=curtain_travel_s,
        trigger_delay_s=trigger_delay_s,
        flash_duration_t01_s=flash_duration_t01_s,
    )
    return shutter_loss_ev(exposure_s - curtain_travel_s - trigger_delay_s, flash_duration_t01_s)


def loss_along_frame_ev(
    place: ArrayLike,
    exposure_s: float,
    curtain_travel_s: float,
    trigger_delay_s: float,
    flash_duration_t01_s: float,
) -> NDArray[np.float64]:
    """EV (stops) lost at places along the curtains' travel, positive, infinite where the frame is dark.

    place  any shape, 0 where the travel begins to 1 where it ends
    Times in s. Returns a new array of that shape. Raises ValueError when an argument is out of range or missing.
    """
    require(
        exposure_s=exposure_s,
        curtain_travel_s=curtain_travel_s,
        trigger_delay_s=trigger_delay_s,
        flash_duration_t01_s=flash_duration_t01_s,
    )
    y = np.asarray(place, dtype=np.float64)
    if not np.all((y >= 0) & (y <= 1)):
        outside = y[~((y >= 0) & (y <= 1))].flat[0]
        raise ImpossibleNumbersError(
            f"a place is at {outside:.4g}, but must be from 0 to 1 along the curtains' travel."
        )
    decay = decay_time_s(flash_duration_t01_s)
    left_s = exposure_s - (1 - y) * curtain_travel_s - trigger_delay_s
    given = -np.expm1(-np.maximum(left_s, 0.0) / decay) if decay > 0 else (left_s > 0).astype(np.float64)
    with np.errstate(divide="ignore"):
        loss: NDArray[np.float64] = -np.log2(given)
    return np.abs(loss)


def slit_share(exposure_s: float, curtain_travel_s: float) -> float:
    """Width of the open slit as a share of the frame's height, t/T_c, times in s; from 1 on wholly open once."""
    require(exposure_s=exposure_s, curtain_travel_s=curtain_travel_s)
    return exposure_s / curtain_travel_s


def high_speed_sync_share(exposure_s: float, curtain_travel_s: float) -> float:
    """Share of the light that each place gets from a burst as long as the whole travel: t/(T_c + t).

    No band, but at 1/1000 s and 3 ms two stops are gone. Raises ValueError. Derived.
    """
    require(exposure_s=exposure_s, curtain_travel_s=curtain_travel_s)
    return exposure_s / (curtain_travel_s + exposure_s)


def dark_band_side(downward_at_sensor: bool = True, flash_early: bool = False) -> str:
    """Edge of the upright picture along which the band lies, "top" or "bottom".

    downward_at_sensor  the curtains run from top to bottom as seen at the sensor, where the image stands on
                        its head
    flash_early         the flash fired before the first curtain had opened the frame
    Source: geometry.
    """
    return "bottom" if downward_at_sensor != flash_early else "top"
