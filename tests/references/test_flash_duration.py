"""Flash duration against pulses that are measured here sample by sample. Sources: SOURCES.md."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad

from session.lighting import duration

TIME_MS = np.linspace(-10, 20, 3_000_001)


def width_ms(pulse: NDArray[np.float64], level: float) -> float:
    """Time above a share of the peak, as ISO 2827:1988 defines t0.5 and t0.1."""
    above = TIME_MS[pulse > level * pulse.max()]
    return float(above[-1] - above[0])


def test_t2_exponential_pulse() -> None:
    # T2. [17] exponential decay, τ = 1 ms.
    pulse = np.where(TIME_MS >= 0, np.exp(-np.maximum(TIME_MS, 0)), 0)
    t05, t01 = width_ms(pulse, 0.5), width_ms(pulse, 0.1)
    assert t05 == pytest.approx(0.69315, abs=2e-5)
    assert t01 == pytest.approx(2.30259, abs=2e-5)
    assert pytest.approx(3.32193, abs=5e-6) == duration.EXPONENTIAL_RATIO
    assert duration.decay_time_s(t01 / 1000) == pytest.approx(0.001, rel=1e-4)


@pytest.mark.parametrize(
    ("elapsed", "share"),
    [(math.log(2) / math.log(10), 0.5), (1, 0.9), (2, 0.99), (0.5, 0.684)],
    ids=["T3-t0.5", "T3-t0.1", "T3-2t0.1", "T3-t0.1/2"],
)
def test_light_given_by_then(elapsed: float, share: float) -> None:
    # T3. From T2; the area of the pulse again by scipy.
    t01 = 0.0023
    assert duration.share_given(elapsed * t01, t01) == pytest.approx(share, abs=3e-4)
    decay = t01 / math.log(10)
    area, _ = quad(lambda t: math.exp(-t / decay) / decay, 0, elapsed * t01)
    assert duration.share_given(elapsed * t01, t01) == pytest.approx(area, rel=1e-9)


def test_t4_gaussian_pulse_has_a_smaller_ratio() -> None:
    # T4. Derived; "three times t0.5" doesn't hold for every unit.
    pulse = np.exp(-0.5 * TIME_MS**2)
    ratio = width_ms(pulse, 0.1) / width_ms(pulse, 0.5)
    assert pytest.approx(1.82262, abs=5e-6) == duration.GAUSSIAN_RATIO
    assert pytest.approx(ratio, rel=1e-4) == duration.GAUSSIAN_RATIO
