"""Shake: blur in pixels from shifts and turns, how a support rings down, and how long to wait.

A touched support swings at its own frequency and dies away by e to the −ζωt, ω = 2πf; ζ is the damping ratio.
Amplitudes are half the swing. Under flash alone the exposure that counts is the flash's t0.1, not the
shutter's time. Derived from the damped oscillator and from geometry, unless said.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from session.optics.framing import positive_magnification
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError


def shift_blur_px(shift_um: float, magnification: float, pixel_pitch_um: float) -> float:
    """Blur from a sideways shift of camera or piece while the light falls, px: m·x/p.

    shift_um        x on the piece, µm
    magnification   m > 0
    pixel_pitch_um  p
    Raises ValueError when an argument is out of range.
    """
    require(shift_um=shift_um, pixel_pitch_um=pixel_pitch_um)
    return positive_magnification(magnification) * shift_um / pixel_pitch_um


def motion_blur_px(speed_mm_per_s: float, exposure_s: float, magnification: float, pixel_pitch_um: float) -> float:
    """Blur of a piece that moves across at even speed, px: m·s·t/p, speed s in mm/s, time t in s, pixel pitch p in µm.

    exposure_s  how long the light falls: the shutter's time under lasting light, t0.1 under flash
    Raises ValueError when an argument is out of range.
    """
    require(speed_mm_per_s=speed_mm_per_s, exposure_s=exposure_s, pixel_pitch_um=pixel_pitch_um)
    return positive_magnification(magnification) * 1000 * speed_mm_per_s * exposure_s / pixel_pitch_um


def rotation_blur_px(
    rotation_deg: float,
    magnification: float,
    pixel_pitch_um: float,
    entrance_pupil_distance_mm: float,
    behind_pupil_mm: float = 0.0,
) -> float:
    """Blur when the camera turns by an angle about an axis across the view, px: m·θ·(u_E + r)/p.

    rotation_deg                θ, degrees
    pixel_pitch_um              p, µm
    entrance_pupil_distance_mm  u_E, piece to entrance pupil, mm
    behind_pupil_mm             r, entrance pupil to the axis, towards the camera, mm
    Raises ValueError when an argument is out of range.
    """
    require(
        rotation_deg=rotation_deg,
        pixel_pitch_um=pixel_pitch_um,
        entrance_pupil_distance_mm=entrance_pupil_distance_mm,
        behind_pupil_mm=behind_pupil_mm,
    )
    arm_mm = entrance_pupil_distance_mm + behind_pupil_mm
    shift_mm = positive_magnification(magnification) * math.radians(rotation_deg) * arm_mm
    return 1000 * shift_mm / pixel_pitch_um


def decay_time_constant_s(frequency_hz: float, damping_ratio: float) -> float:
    """Time in which the swing falls to 1/e, s: 1/(ζω), from its frequency in Hz. Raises ValueError."""
    require(frequency_hz=frequency_hz, damping_ratio=damping_ratio)
    return 1 / (damping_ratio * 2 * math.pi * frequency_hz)


def log_decrement(damping_ratio: float) -> float:
    """Natural logarithm of the ratio of one swing to the next: 2πζ/√(1 − ζ²). Raises ValueError."""
    require(damping_ratio=damping_ratio)
    return 2 * math.pi * damping_ratio / math.sqrt(1 - damping_ratio**2)


def damping_ratio_from_swings(first_amplitude_um: float, later_amplitude_um: float, swings: int) -> float:
    """Damping ratio of a support from the amplitudes in µm of two swings, `swings` full swings apart.

    Raises ValueError when the later swing isn't smaller or an amplitude or the count isn't positive.
    """
    require(first_amplitude_um=first_amplitude_um, later_amplitude_um=later_amplitude_um)
    if not (swings >= 1 and first_amplitude_um > later_amplitude_um > 0):
        raise ImpossibleNumbersError(
            f"later_amplitude_um is {later_amplitude_um:.4g} µm after {swings} swings, but must be above 0 and "
            f"below the first, {first_amplitude_um:.4g} µm, at least one swing later."
        )
    decrement = math.log(first_amplitude_um / later_amplitude_um) / swings
    return decrement / math.hypot(2 * math.pi, decrement)


def share_left(frequency_hz: float, damping_ratio: float, delay_s: float) -> float:
    """Share of the swing that is left after a wait, 0 to 1: e to the −ζωt.

    frequency_hz  of the support, Hz
    delay_s       the wait t, s
    Raises ValueError.
    """
    require(delay_s=delay_s)
    return math.exp(-delay_s / decay_time_constant_s(frequency_hz, damping_ratio))


def delay_for_share_s(frequency_hz: float, damping_ratio: float, share: float = 0.01) -> float:
    """Wait until only a given share of the swing is left, s: ln(1/share)/(ζω).

    frequency_hz  of the support, Hz
    Raises ValueError.
    """
    require(share=share)
    return math.log(1 / share) * decay_time_constant_s(frequency_hz, damping_ratio)


def smear_um(amplitude_um: float, frequency_hz: float, exposure_s: float) -> float:
    """Longest path on which a swinging point is drawn out while the light falls, µm.

    2A·sin(πft) for times below half a period, the whole swing 2A above; A in µm, f in Hz, t in s. Raises ValueError.
    """
    require(amplitude_um=amplitude_um, frequency_hz=frequency_hz, exposure_s=exposure_s)
    half_turns = frequency_hz * exposure_s
    return 2 * amplitude_um * (math.sin(math.pi * half_turns) if half_turns < 0.5 else 1.0)


def hold_off_s(
    amplitude_um: float,
    frequency_hz: float,
    damping_ratio: float,
    exposure_s: float,
    magnification: float,
    pixel_pitch_um: float,
    blur_px: float,
) -> float:
    """Wait after a touch until the smear stays within blur_px, s; 0 when it does at once.

    amplitude_um    swing against the piece just after the touch, µm, as it would shift the picture on the piece
    frequency_hz    of the support, Hz
    exposure_s      how long the light falls, s: the shutter's time, or t0.1 when only flash counts
    pixel_pitch_um  distance between pixel centres, µm
    Raises ValueError when an argument is out of range.
    """
    require(blur_px=blur_px)
    time_constant_s = decay_time_constant_s(frequency_hz, damping_ratio)
    smear = smear_um(amplitude_um, frequency_hz, exposure_s)
    at_once_px = shift_blur_px(min(smear, 1e6), magnification, pixel_pitch_um)
    if at_once_px <= blur_px:
        return 0.0
    return math.log(at_once_px / blur_px) * time_constant_s


def transfer_of_smear(lengths_times_frequency: ArrayLike) -> NDArray[np.float64]:
    """Transfer along an even smear: sin(πx)/(πx), x = length · frequency; signed, half at x = 0.603355.

    Returns a new array of the argument's shape. Raises ValueError when a value is negative or no number.
    """
    x = np.asarray(lengths_times_frequency, dtype=np.float64)
    if not np.all(x >= 0):
        raise ImpossibleNumbersError(f"a length times frequency is {np.min(x):.4g}, but must be a number from 0 up.")
    return np.sinc(x)
