"""Shake against a damped oscillator that is integrated here. Sources: SOURCES.md."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from session.optics import vibration

# f in Hz, ζ, then time constant s, delay s with the share left, time to 1 %.
DECAYS = {
    "V4-10Hz-0.02": (10, 0.02, 0.7958, 0.0810, 3.665),
    "V4-10Hz-0.05": (10, 0.05, 0.3183, 0.00187, 1.466),
    "V4-20Hz-0.02": (20, 0.02, None, 0.00656, 1.832),
    "V4-5Hz-0.03": (5, 0.03, None, 0.1518, 4.886),
}


def longest_path_um(exposure_s: float) -> float:
    """Longest stretch that a point swinging at 10 Hz by 10 µm covers in that time, over all phases."""
    phases = np.linspace(0, 2 * np.pi, 1001)[:, None]
    times = np.linspace(0, exposure_s, 2001)[None, :]
    path = 10 * np.sin(2 * np.pi * 10 * times + phases)
    return float(np.max(np.ptp(path, axis=1)))


def test_v1_sideways_shift() -> None:
    # V1. Definition.
    assert vibration.shift_blur_px(5, 2, 4.3) == pytest.approx(2.326, abs=5e-4)


@pytest.mark.parametrize("row", DECAYS.values(), ids=DECAYS.keys())
def test_swing_dies_away(row: tuple[float, float, float | None, float, float]) -> None:
    # V4. Damped oscillator.
    frequency, damping, constant, after_two, to_one_percent = row
    if constant is not None:
        assert vibration.decay_time_constant_s(frequency, damping) == pytest.approx(constant, abs=5.1e-5)
    assert vibration.share_left(frequency, damping, 2) == pytest.approx(after_two, rel=2e-3)
    assert vibration.delay_for_share_s(frequency, damping) == pytest.approx(to_one_percent, abs=5.1e-4)


def test_v4_peaks_of_an_integrated_oscillator_fall_as_the_envelope() -> None:
    # V4. scipy integrates x'' + 2ζωx' + ω²x = 0; successive peaks give the decrement, 0.12569 at ζ = 0.02.
    frequency, damping = 10.0, 0.02
    omega = 2 * math.pi * frequency
    period = 1 / (frequency * math.sqrt(1 - damping**2))

    def moves(_: float, state: np.ndarray) -> list[float]:
        return [state[1], -2 * damping * omega * state[1] - omega**2 * state[0]]

    at = [0, period, 10 * period]
    swing = solve_ivp(moves, (0, 10 * period), [1.0, 0.0], t_eval=at, rtol=1e-10, atol=1e-12).y[0]
    assert math.log(swing[0] / swing[1]) == pytest.approx(0.12569, abs=5e-6)
    assert vibration.log_decrement(damping) == pytest.approx(math.log(swing[0] / swing[1]), rel=1e-6)
    assert vibration.share_left(frequency, damping, 10 * period) == pytest.approx(swing[2], rel=1e-6)


@pytest.mark.parametrize(
    ("exposure_s", "smear"), [(0.001, 0.628), (1 / 125, 4.974), (1 / 20, 20)], ids=["V5a", "V5b", "V5c"]
)
def test_worst_smear_of_a_swinging_point(exposure_s: float, smear: float) -> None:
    # V5. Derived; again by trying every phase of the swing.
    got = vibration.smear_um(10, 10, exposure_s)
    assert got == pytest.approx(smear, abs=5.1e-4)
    assert got == pytest.approx(longest_path_um(exposure_s), rel=1e-4)


@pytest.mark.parametrize("exposure_s", [0.004, 0.02, 0.03, 0.045, 0.08, 0.3])
def test_v5_smear_agrees_with_every_phase_of_the_swing(exposure_s: float) -> None:
    assert vibration.smear_um(10, 10, exposure_s) == pytest.approx(longest_path_um(exposure_s), rel=1e-4)


def test_v5_flash_keeps_an_eighth_of_the_smear() -> None:
    # V5. A 1 ms flash against 1/125 s of lasting light: 12.6 %.
    kept = vibration.smear_um(10, 10, 0.001) / vibration.smear_um(10, 10, 1 / 125)
    assert 100 * kept == pytest.approx(12.6, abs=0.05)
