"""The peak between steps, on exact parabolas and on the contrast of detail under a defocus disc."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.special import j1

from session.live.peak import fit_peak


@given(
    st.floats(-50, 50),
    st.floats(30, 200),
    st.floats(0.1, 40),
    st.integers(3, 15),
    st.floats(0, 0.99),
)
def test_parabola_in_the_logarithm_gives_its_vertex(
    top: float, width: float, height: float, step: int, phase: float
) -> None:
    places = np.arange(-300, 300, step) + phase * step
    readings = height * np.exp(-(((places - top) / width) ** 2))
    peak = fit_peak(list(places), list(readings))
    assume((np.abs(places - top) < 0.47 * width).sum() >= 5)
    assert peak is not None
    assert peak.at_steps == pytest.approx(top, abs=1e-5 * width)
    assert peak.contrast == pytest.approx(height, rel=1e-6)
    assert peak.at_sd_steps < 1e-4 * width


@pytest.mark.parametrize("top", [-7.3, 0.0, 4.4])
def test_contrast_under_a_defocus_disc_peaks_where_the_disc_vanishes(top: float) -> None:
    """2·J1(x)/x of a disc whose size goes with the distance from focus; scipy's Bessel function."""
    places = np.arange(-80, 81, 8)
    x = np.abs(places - top) / 30 + 1e-9
    peak = fit_peak(list(places), list(10 * np.abs(2 * j1(x) / x) + 0.5))
    assert peak is not None
    assert peak.at_steps == pytest.approx(top, abs=0.3)
    assert peak.contrast == pytest.approx(10.5, rel=0.01)


def test_deviation_told_is_the_scatter_found() -> None:
    chance, places = np.random.default_rng(1), np.arange(-60, 61, 10)
    clean = 10 * np.exp(-((places / 100) ** 2))
    peaks = [fit_peak(list(places), list(clean * np.exp(0.01 * chance.standard_normal(13)))) for _ in range(300)]
    found = [peak for peak in peaks if peak is not None]
    scatter = float(np.std([peak.at_steps for peak in found]))
    told = math.sqrt(float(np.mean([peak.at_sd_steps**2 for peak in found])))
    assert told == pytest.approx(scatter, rel=0.15)


@pytest.mark.parametrize(
    "readings",
    [[], [1.0], [1.0, 2.0, 3.0, 2.0], [1, 2, 3, 4, 5, 6, 7.0], [3.0] * 9, [9, 8.9, 8.7, 8.5, 8.3, 8.0, 7.7]],
    ids=["nothing", "one", "four", "still rising", "level", "falling"],
)
def test_no_peak_is_told_where_none_was_passed(readings: list[float]) -> None:
    assert fit_peak(list(range(len(readings))), readings) is None


def test_a_lower_hill_beside_is_left_out() -> None:
    places = np.arange(0, 200, 5)
    readings = 10 * np.exp(-(((places - 60) / 25) ** 2)) + 9 * np.exp(-(((places - 150) / 25) ** 2))
    peak = fit_peak(list(places), list(readings))
    assert peak is not None
    assert peak.at_steps == pytest.approx(60, abs=1)


def test_lengths_must_agree() -> None:
    with pytest.raises(ValueError, match="2 places and 1 readings"):
        fit_peak([1.0, 2.0], [1.0])
