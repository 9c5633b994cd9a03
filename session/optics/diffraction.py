"""Diffraction of a round opening, in focus and out of it, by wave optics.

Spatial frequency s is counted in units of the cut-off 1/(λ·N_e), so that one set of curves serves every
lens; defocus W is the wavefront error W020 at the edge of the pupil, in waves. A shift δ of the sensor and
the geometric blur diameter b of a point are the same thing in other units:

    W = δ/(8·N_e²·λ),   b = δ/N_e = 8·W·λ·N_e

The transfer function is the overlap integral of two displaced pupils (Hopkins 1955). With one pupil centre at
−s and the other at +s it is, after x + s = cos θ,

    H(s, W) = (4/π) ∫ sin²θ · cos(8π·W·s·(cos θ − s)) dθ,  θ from 0 to acos s

a smooth integral that Gauss-Legendre panels do to ten digits. Negative values mean reversed contrast.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from session.optics.framing import positive_magnification
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

# Green light, near the eye's peak; what the values below assume unless said. Common practice, no source.
GREEN_UM = 0.55

# Diameter of the first dark ring of the Airy pattern in units of λ·N_e: twice the first zero of J1, 3.8317,
# over π. Usually rounded to 2.44.
AIRY_FACTOR = 2.439339782533

# Where the transfer function of a geometric disc falls to one half, in diameters times frequency: the root
# of 2·J1(πx)/(πx) = 1/2.
DISC_MTF50 = 0.7050848445272

_PANEL_NODES, _PANEL_WEIGHTS = np.polynomial.legendre.leggauss(16)


def airy_diameter_um(effective_f_number: float, wavelength_um: float = GREEN_UM) -> float:
    """Diameter of the first dark ring at the sensor, µm: 2.43934·λ·N_e.

    effective_f_number  N_e, not the marked one
    Divide by m for the piece. Raises ValueError. Source: first zero of the Bessel function J1.
    """
    require(effective_f_number=effective_f_number, wavelength_um=wavelength_um)
    return AIRY_FACTOR * wavelength_um * effective_f_number


def airy_diameter_on_piece_um(
    effective_f_number: float, magnification: float, wavelength_um: float = GREEN_UM
) -> float:
    """The Airy diameter brought back to the piece, µm: 2.43934·λ·N_e/m. Raises ValueError."""
    return airy_diameter_um(effective_f_number, wavelength_um) / positive_magnification(magnification)


def cut_off_cycles_per_mm(effective_f_number: float, wavelength_um: float = GREEN_UM) -> float:
    """Frequency at the sensor above which nothing is transferred, cycles/mm: 1000/(λ·N_e), λ in µm."""
    require(effective_f_number=effective_f_number, wavelength_um=wavelength_um)
    return 1000 / (wavelength_um * effective_f_number)


def defocus_waves(blur_diameter_mm: float, effective_f_number: float, wavelength_um: float = GREEN_UM) -> float:
    """W in waves from the geometric blur diameter at the sensor: b/(8·λ·N_e), b in mm, λ in µm. Raises ValueError.

    Source: wavefront of a displaced focus to second order, as in the documentation of prysm.
    """
    require(blur_diameter_mm=blur_diameter_mm, effective_f_number=effective_f_number, wavelength_um=wavelength_um)
    return 1000 * blur_diameter_mm / (8 * wavelength_um * effective_f_number)


def transfer_defocused(frequency: ArrayLike, defocus_waves: float) -> NDArray[np.float64]:
    """Transfer of a round pupil out of focus, the module's H(s, W); signed.

    frequency      any shape, s >= 0 in units of the cut-off
    defocus_waves  W >= 0
    Returns a new array of that shape. Raises ValueError when an argument is out of range.
    Source: Hopkins, The frequency response of a defocused optical system (1955), from memory; an FFT of the
    pupil agrees.
    """
    require(defocus_waves=defocus_waves)
    s = np.minimum(_frequencies(frequency), 1.0)
    theta, weight = _panels(1 + math.ceil(defocus_waves))
    span = np.arccos(s)[..., None]
    angle = span * theta
    phase = 8 * np.pi * defocus_waves * s[..., None] * (np.cos(angle) - s[..., None])
    total: NDArray[np.float64] = np.sum(weight * np.sin(angle) ** 2 * np.cos(phase), axis=-1)
    return (4 / np.pi) * span[..., 0] * total


def transfer_of_disc(diameters_times_frequency: ArrayLike) -> NDArray[np.float64]:
    """Transfer of a geometric blur disc: 2·J1(πx)/(πx), x = diameter · frequency; signed.

    Returns a new array of the argument's shape. Raises ValueError when a value is negative or not a number.
    """
    x = _frequencies(diameters_times_frequency)
    theta, weight = _panels(1 + math.ceil(float(np.max(x, initial=0.0))))
    angle = theta * np.pi / 2
    waves = np.cos(np.pi * x[..., None] * np.cos(angle))
    total: NDArray[np.float64] = np.sum(weight * np.sin(angle) ** 2 * waves, axis=-1)
    return 2 * total


@lru_cache(maxsize=4096)
def mtf50(defocus_waves: float) -> float:
    """First frequency at which the transfer falls to one half, in units of the cut-off.

    defocus_waves  W >= 0; 0.40397 in focus, about 0.0881/W far out of it
    Raises ValueError when it is out of range.
    """
    require(defocus_waves=defocus_waves)
    high = 0.41 if defocus_waves < 0.2 else min(0.41, 1.2 * DISC_MTF50 / (8 * defocus_waves))
    return _half_crossing(lambda s: _transfer_at(s, defocus_waves), high)


@lru_cache(maxsize=4096)
def waves_at_mtf50(relative_frequency: float) -> float:
    """Defocus in waves that brings half contrast down to a frequency, the inverse of mtf50; 0 where focus itself does.

    relative_frequency  in units of the cut-off, > 0
    Raises ValueError when it is out of range.
    """
    require(relative_frequency=relative_frequency)
    if relative_frequency >= mtf50(0.0):
        return 0.0
    high = 1.1 * DISC_MTF50 / (8 * relative_frequency)
    return _half_crossing(lambda waves: _transfer_at(relative_frequency, waves), high)


def _half_crossing(transfer: Callable[[float], float], high: float) -> float:
    """Where a falling transfer meets 1/2 between 0 and high, by false position (Illinois rule) to 1e-12."""
    low, above, below = 0.0, transfer(0.0) - 0.5, transfer(high) - 0.5
    last_side = 0
    for _ in range(100):
        middle = (low * below - high * above) / (below - above)
        value = transfer(middle) - 0.5
        if abs(value) < 1e-13 or high - low < 1e-13 * high:
            break
        side = 1 if value > 0 else -1
        if side > 0:
            low, above = middle, value
            below = below / 2 if side == last_side else below
        else:
            high, below = middle, value
            above = above / 2 if side == last_side else above
        last_side = side
    return middle


def _transfer_at(s: float, waves: float) -> float:
    """H(s, W) for one frequency up to the half crossing, where the phase is small for every W: one panel."""
    theta, weight = _panels(1)
    span = math.acos(s)
    cosine = np.cos(span * theta)
    phase = 8 * math.pi * waves * s * (cosine - s)
    return 4 / math.pi * span * float(np.dot(weight, (1 - cosine * cosine) * np.cos(phase)))


@lru_cache(maxsize=64)
def _panels(count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nodes and weights of Gauss-Legendre panels on (0, 1), each (16·count,)."""
    starts = np.arange(count)[:, None]
    nodes = (starts + (_PANEL_NODES + 1) / 2) / count
    weights = np.broadcast_to(_PANEL_WEIGHTS / (2 * count), nodes.shape)
    return nodes.ravel(), weights.ravel()


def _frequencies(values: ArrayLike) -> NDArray[np.float64]:
    array = np.asarray(values, dtype=np.float64)
    if not np.all(array >= 0):
        raise ImpossibleNumbersError(f"a spatial frequency is {np.min(array):.4g}, but must be a number from 0 up.")
    return array
