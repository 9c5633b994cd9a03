"""Blur by wave optics without a formula: the pupil sampled, its transfer by FFT, half contrast read off.

A round pupil of radius RADIUS samples bears the wavefront of a defocus, the same or not in both directions; the
transfer along an axis is the autocorrelation of that pupil. Blur is counted in units of wavelength times f-number.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

RADIUS = 128
MOST_GEOMETRIC = 80.0
"""Beyond, diffraction adds less than a hundredth to the disc."""

_PLACE = (np.arange(-RADIUS, RADIUS) + 0.5) / RADIUS
_X, _Y = np.meshgrid(_PLACE, _PLACE)
_INSIDE = np.hypot(_X, _Y) <= 1

DISC_HALF = float(optimize.brentq(lambda x: 2 * special.j1(np.pi * x) / (np.pi * x) - 0.5, 0.3, 0.9))
"""Diameter times frequency at which a disc passes half the contrast; Goodman, Fourier Optics, from memory."""


def transfer(waves_along: float, waves_across: float) -> NDArray[np.float64]:
    """Contrast along x at frequencies 0, 1/(2·RADIUS), … of the cut-off, with that defocus in waves at the rim."""
    pupil = _INSIDE * np.exp(2j * np.pi * (waves_along * _X**2 + waves_across * _Y**2))
    spectrum = np.fft.fft(pupil, 4 * RADIUS, axis=1)
    correlated = np.fft.ifft(np.abs(spectrum) ** 2, axis=1).sum(axis=0).real
    return np.asarray(correlated[: 2 * RADIUS] / correlated[0])


@lru_cache(maxsize=4096)
def blur(geometric_along: float, geometric_across: float | None = None) -> float:
    """Diameter of the disc with the same half contrast along x, in units of wavelength times f-number.

    geometric_along  diameter of the geometric blur along x, in the same units; across: along y, the same by default
    """
    across = geometric_along if geometric_across is None else geometric_across
    contrast = transfer(geometric_along / 8, across / 8)
    below = int(np.argmax(contrast < 0.5))
    high, low = contrast[below - 1], contrast[below]
    frequency = (below - 1 + (high - 0.5) / (high - low)) / (2 * RADIUS)
    return float(DISC_HALF / frequency)


@lru_cache(maxsize=1)
def _table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    geometric = np.concatenate([np.linspace(0, 6, 49), np.geomspace(6.3, MOST_GEOMETRIC, 30)])
    return geometric, np.array([blur(float(one)) for one in geometric])


def blur_in_table(geometric: float) -> float:
    """The same, read between values that were worked out once."""
    nodes, blurs = _table()
    if geometric > MOST_GEOMETRIC:
        return geometric + float(blurs[-1] - nodes[-1])
    return float(np.interp(geometric, nodes, blurs))


def geometric_in_table(total: float) -> float:
    """The geometric diameter that comes to a total blur; 0 where diffraction alone is larger."""
    nodes, blurs = _table()
    if total <= blurs[0]:
        return 0.0
    if total > blurs[-1]:
        return total - float(blurs[-1] - nodes[-1])
    return float(np.interp(total, blurs, nodes))
