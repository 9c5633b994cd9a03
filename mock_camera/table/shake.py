"""Vibration after a touch: the picture swings on the sensor and dies away.

Each touch starts a damped oscillation x(t) = A exp(-z w t) sin(w sqrt(1 - z^2) t), w = 2 pi f, counted from
the touch; several add up. Displacements in mm at the sensor, upright picture, right and down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]

FLASH_SLICES = 16
LEAST_SLICES, MOST_SLICES = 40, 240


@dataclass(frozen=True)
class Touch:
    """strength_um: swing at the sensor before damping, um; direction 0 degrees = to the right, 90 = down."""

    at_s: float
    strength_um: float
    frequency_hz: float
    damping_ratio: float
    direction_deg: float = 75.0

    def swing_mm(self, time_s: Samples) -> Samples:
        """Displacement, mm, along the touch's direction at each time in s, (n,); 0 before the touch."""
        since = np.maximum(time_s - self.at_s, 0.0)
        omega = 2 * math.pi * self.frequency_hz
        turn = omega * math.sqrt(1 - self.damping_ratio**2)
        return self.strength_um / 1000 * np.exp(-self.damping_ratio * omega * since) * np.sin(turn * since)

    def left_mm(self, time_s: float) -> float:
        """Envelope of the swing, mm, at a time in s: how far it can still reach."""
        omega = 2 * math.pi * self.frequency_hz
        since = max(time_s - self.at_s, 0.0)
        return self.strength_um / 1000 * math.exp(-self.damping_ratio * omega * since)


def displacement_mm(touches: list[Touch], time_s: Samples) -> tuple[Samples, Samples]:
    """Sum of all touches at each time in s: right, down (n,) in mm at the sensor."""
    right, down = np.zeros_like(time_s), np.zeros_like(time_s)
    for touch in touches:
        swing = touch.swing_mm(time_s)
        right += math.cos(math.radians(touch.direction_deg)) * swing
        down += math.sin(math.radians(touch.direction_deg)) * swing
    return right, down


@dataclass(frozen=True)
class Smear:
    """Where the picture was while light fell: positions in px (n,) and the light's weights (n,), sum 1."""

    right_px: Samples
    down_px: Samples
    weight: Samples

    @property
    def mean_px(self) -> tuple[float, float]:
        """Mean position while exposed, right and down, px."""
        return float(self.right_px @ self.weight), float(self.down_px @ self.weight)

    @property
    def deviation_px(self) -> float:
        """Standard deviation of the position while exposed, px, both directions together."""
        right, down = self.mean_px
        spread = (self.right_px - right) ** 2 + (self.down_px - down) ** 2
        return float(np.sqrt(spread @ self.weight))

    @property
    def length_px(self) -> float:
        """Longest extent of the smear, px, counting positions that get at least 2 % of the mean weight."""
        seen = self.weight > 0.02 / len(self.weight)
        return float(math.hypot(np.ptp(self.right_px[seen]), np.ptp(self.down_px[seen])))

    def transfer(self, height: int, width: int) -> NDArray[np.complex64]:
        """The smear's transfer function on the half plane of a real (height, width) Fourier transform."""
        down = np.exp(-2j * np.pi * np.outer(np.fft.fftfreq(height), self.down_px)).astype(np.complex64)
        right = np.exp(-2j * np.pi * np.outer(self.right_px, np.fft.rfftfreq(width))).astype(np.complex64)
        mixed: NDArray[np.complex64] = (down * self.weight.astype(np.float32)) @ right
        return mixed


def flash_smear(touches: list[Touch], start_s: float, duration_t01_s: float, pitch_mm: float) -> Smear:
    """Smear under one flash: its exponential tail in slices of equal light.

    Times in s, the pitch of the pixels in mm.
    """
    share = (np.arange(FLASH_SLICES) + 0.5) / FLASH_SLICES
    times = start_s - duration_t01_s / math.log(10) * np.log1p(-share)
    return _smear(touches, times, pitch_mm)


def steady_smear(touches: list[Touch], start_s: float, length_s: float, pitch_mm: float) -> Smear:
    """Smear under continuous light, in even slices: enough for the shape of each swing, as far as allowed.

    Times in s, the pitch of the pixels in mm.
    """
    fastest_hz = max((touch.frequency_hz for touch in touches), default=0.0)
    slices = min(MOST_SLICES, LEAST_SLICES + math.ceil(24 * fastest_hz * length_s))
    times = start_s + length_s * (np.arange(slices) + 0.5) / slices
    return _smear(touches, times, pitch_mm)


def _smear(touches: list[Touch], times: Samples, pitch_mm: float) -> Smear:
    right, down = displacement_mm(touches, times)
    return Smear(right / pitch_mm, down / pitch_mm, np.full(len(times), 1 / len(times)))
