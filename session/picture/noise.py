"""How noisy a picture is, read from its flattest places, and from how coarsely it was coded.

The kernel [1 −2 1; −2 4 −2; 1 −2 1]/6 takes out planes and edges and keeps the variance of white noise: Immerkær,
Computer Vision and Image Understanding 64 (1996) 300 (value from memory). JPEG coding then takes most of the
noise out of flat places, where its coefficients round to zero, but not out of textured ones, which is where the
checks measure. What rounding leaves of Gaussian noise follows from the file's quantisation steps, so from what
was left in flat places the noise that went in is worked out.

Textured all over, a picture is taken to be noisier than it is, which makes the checks careful.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from session.picture.linear_light import block_means

MEDIAN_TO_SD = 1.4826
"""The median of absolute deviations times this is the standard deviation of normal errors: 1 over the normal
distribution's upper quartile. Rousseeuw and Croux, J. Am. Stat. Assoc. 88 (1993) 1273 (value worked out)."""

BLOCK_PX = 16
FLATTEST = 0.1
QUANTILE_GAIN = 1.25
"""Variance is read from the flattest tenth of 16 px blocks. For pure noise that quantile lies at 1/1.25 of the
mean (simulated with this kernel; a test repeats it)."""

ROUNDING = 1 / 12
"""Variance of rounding to whole codes, code²."""

SIGMAS = np.geomspace(0.05, 60, 160)
"""Standard deviations tried, codes; 60 is more than any camera's noise."""


def noise_of(codes: NDArray[np.uint8], steps: tuple[int, ...] = ()) -> float:
    """Variance of the noise that was in a grey picture before it was coded, code²; at least the rounding's.

    codes   (height, width)
    steps   the 64 luma quantisation steps of its JPEG; () for a picture that was averaged down since, or never
            coded
    """
    left = max(_flattest(codes.astype(np.float32)), ROUNDING)
    if len(steps) != 64:
        return left
    # what is left of weak noise is little more than rounding: only an upper bound can be told, and is given
    return float(np.interp(left + ROUNDING, _coded_variances(steps), SIGMAS)) ** 2


def _flattest(values: NDArray[np.float32]) -> float:
    residual = (np.diff(np.diff(values, n=2, axis=1), n=2, axis=0) / 6).astype(np.float32)
    side = min(BLOCK_PX, *residual.shape)
    if side < 2:
        return 0.0
    return float(np.quantile(block_means(residual**2, side, side), FLATTEST)) * QUANTILE_GAIN


@lru_cache(maxsize=8)
def _coded_variances(steps: tuple[int, ...]) -> NDArray[np.float64]:
    """Variance that the kernel finds after coding, for noise of each of SIGMAS."""
    response = (2 - 2 * np.cos(2 * np.pi * np.arange(8) / 16)) ** 2  # a coefficient's wave: index/16 cycles/px
    weight = np.outer(response, response)
    weight /= weight.sum()
    size = np.array(steps, np.float64).reshape(8, 8)
    tried, kept = _rounded_normal()
    return np.array([float((weight * size**2 * np.interp(sigma / size, tried, kept)).sum()) for sigma in SIGMAS])


@lru_cache(maxsize=1)
def _rounded_normal() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Standard deviations in steps, and the variance of a normal variable rounded to whole steps, in steps²."""
    tried = np.geomspace(0.02, 80, 240)
    return tried, np.array([_rounded_variance(sigma) for sigma in tried])


def _rounded_variance(sigma: float) -> float:
    if sigma > 3:
        return sigma**2 + ROUNDING  # Sheppard's correction, exact to 1e-9 there
    edges = [math.erf((k + 0.5) / sigma / math.sqrt(2)) for k in range(32)]
    return sum(k**2 * (edges[k] - edges[k - 1]) for k in range(1, 32))
