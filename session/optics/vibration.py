"""Shake: blur in pixels from shifts and turns, how a support rings down, and how long to wait.

A touched support swings at its own frequency and dies away by e to the −ζωt, ω = 2πf; ζ is the damping ratio.
Amplitudes are half the swing. Under flash alone the exposure that counts is the flash's t0.1, not the
shutter's time. Derived from the damped oscillator and from geometry, unless said.
"""

from __future__ import annotations

import math

from session.optics.framing import positive_magnification
from session.units.quantities import require


def shift_blur_px(shift_um: float, magnification: float, pixel_pitch_um: float) -> float:
    """Blur from a sideways shift of camera or piece while the light falls, px: m·x/p.

    shift_um        x on the piece, µm
    magnification   m > 0
    pixel_pitch_um  p
    Raises ValueError when an argument is out of range.
    """
    require(shift_um=shift_um, pixel_pitch_um=pixel_pitch_um)
    return positive_magnification(magnification) * shift_um / pixel_pitch_um


def decay_time_constant_s(frequency_hz: float, damping_ratio: float) -> float:
    """Time in which the swing falls to 1/e, s: 1/(ζω), from its frequency in Hz. Raises ValueError."""
    require(frequency_hz=frequency_hz, damping_ratio=damping_ratio)
    return 1 / (damping_ratio * 2 * math.pi * frequency_hz)


def log_decrement(damping_ratio: float) -> float:
    """Natural logarithm of the ratio of one swing to the next: 2πζ/√(1 − ζ²). Raises ValueError."""
    require(damping_ratio=damping_ratio)
    return 2 * math.pi * damping_ratio / math.sqrt(1 - damping_ratio**2)


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
