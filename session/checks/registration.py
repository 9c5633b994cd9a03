"""How far the picture moved since the reference: phase correlation with a sub-pixel peak.

Shifts say where the content went: +right, +down, in pixels of the arrays. Light is taken out first, by
working on the logarithm of local contrast, so that relit, brighter and darker frames register alike; the
correlation is limited to low frequencies, which survive a blur.

Sources: phase correlation, Kuglin and Hines 1975; sub-pixel peak by a matrix-multiply DFT, Guizar-Sicairos,
Thurman and Fienup, Optics Letters 33 (2008) 156.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.light import ONE_CODE

PASS_CYCLES_PER_PX = 0.15
"""Standard deviation of the Gaussian low pass: a blur disc of 2 px passes 0.4 there and keeps its sign."""

FINE_STEP_PX = 0.1
"""Step of the second search around the whole-pixel peak; a parabola finds the place between."""

RIVAL_WITHIN = 0.8
"""Peaks this close to the highest may be the right one in a repeating texture; the one nearest to no shift
is taken, for a tripod moves little. Guessed."""

LOWEST_RESPONSE = 6.0
"""Peak height in standard deviations of the correlation surface below which nothing matched: pure chance
reaches 5.0 once in 3 million places (normal tail), and a surface here has up to 100 000."""


@dataclass(frozen=True)
class Shift:
    """Where the content went, px, and how surely.

    response  peak height in standard deviations of the correlation surface
    """

    right_px: float
    down_px: float
    response: float

    @property
    def found(self) -> bool:
        return self.response >= LOWEST_RESPONSE


NOT_MOVED = Shift(0.0, 0.0, float("inf"))


def local_contrast(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Logarithm of light without its mean plane, faded out at the edges; (height, width)."""
    log = np.log2(light + np.float32(4 * ONE_CODE))
    height, width = log.shape
    down = np.linspace(-1, 1, height, dtype=np.float32)[:, None]
    right = np.linspace(-1, 1, width, dtype=np.float32)[None]
    log -= log.mean()
    log -= down * (log * down).mean() / max(float((down**2).mean()), 1e-9)
    log -= right * (log * right).mean() / max(float((right**2).mean()), 1e-9)
    faded: NDArray[np.float32] = log * np.hanning(height).astype(np.float32)[:, None]
    return faded * np.hanning(width).astype(np.float32)[None]


def shift_between(reference: NDArray[np.float32], frame: NDArray[np.float32], most_px: float | None = None) -> Shift:
    """Where the content of `reference` lies in `frame`; both (height, width) linear light of one shape.

    most_px  look no further than this; the arrays' size allows half their sides
    Raises ValueError when the shapes differ.
    """
    if reference.shape != frame.shape:
        raise ValueError(f"shapes differ: {reference.shape} and {frame.shape}")
    cross = np.fft.rfft2(local_contrast(frame)) * np.conj(np.fft.rfft2(local_contrast(reference)))
    cross = _whitened(cross, reference.shape)
    surface = np.fft.irfft2(cross, s=reference.shape)
    down, right, height = _peak(surface, most_px)
    fine_down, fine_right = _fine_peak(cross, reference.shape, down, right)
    return Shift(fine_right, fine_down, height / max(float(surface.std()), 1e-12))


def _whitened(cross: NDArray[np.complex128], shape: tuple[int, ...]) -> NDArray[np.complex128]:
    """Phases only, under a Gaussian low pass; bins with next to no power count less."""
    size = np.abs(cross)
    down = np.fft.fftfreq(shape[0])[:, None]
    right = np.fft.rfftfreq(shape[1])[None]
    low_pass = np.exp(-(down**2 + right**2) / (2 * PASS_CYCLES_PER_PX**2))
    low_pass[0, 0] = 0
    whitened: NDArray[np.complex128] = cross / (size + 1e-3 * size.mean() + 1e-12) * low_pass
    return whitened


def _peak(surface: NDArray[np.float64], most_px: float | None) -> tuple[int, int, float]:
    """Whole-pixel peak as (down, right, height), signed."""
    rows = np.fft.fftfreq(surface.shape[0], 1 / surface.shape[0])[:, None]
    columns = np.fft.fftfreq(surface.shape[1], 1 / surface.shape[1])[None]
    distance = np.hypot(rows, columns)
    allowed = surface if most_px is None else np.where(distance <= most_px, surface, -np.inf)
    rivals = np.argwhere(allowed >= RIVAL_WITHIN * max(float(allowed.max()), 0.0))
    nearest = min(rivals, key=lambda at: distance[at[0], at[1]])
    row, column = _climb(surface, int(nearest[0]), int(nearest[1]))
    return int(rows[row, 0]), int(columns[0, column]), float(surface[row, column])


def _climb(surface: NDArray[np.float64], row: int, column: int) -> tuple[int, int]:
    """Up to the top of the peak on whose flank the place lies."""
    height, width = surface.shape
    for _ in range(height + width):
        around = [((row + i) % height, (column + j) % width) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        best = max(around, key=lambda at: surface[at])
        if best == (row, column):
            break
        row, column = best
    return row, column


def _fine_peak(cross: NDArray[np.complex128], shape: tuple[int, ...], down: int, right: int) -> tuple[float, float]:
    """Peak to a fraction of a pixel: the inverse transform on a fine grid around the whole-pixel peak."""
    steps = np.arange(-10, 11) * FINE_STEP_PX
    rows = np.fft.fftfreq(shape[0])[None, :]
    columns = np.fft.rfftfreq(shape[1])[:, None]
    by_rows = np.exp(2j * np.pi * (down + steps)[:, None] * rows)
    by_columns = np.exp(2j * np.pi * columns * (right + steps)[None, :])
    fine = (by_rows @ cross @ by_columns).real
    row, column = (int(at) for at in np.unravel_index(int(fine.argmax()), fine.shape))
    return (
        down + float(steps[row]) + FINE_STEP_PX * _vertex(fine[:, column], row),
        right + float(steps[column]) + FINE_STEP_PX * _vertex(fine[row, :], column),
    )


def _vertex(values: NDArray[np.float64], at: int) -> float:
    """Place of the vertex of a parabola through three neighbours, in steps from the middle one."""
    if not 0 < at < len(values) - 1:
        return 0.0
    left, middle, right = values[at - 1 : at + 2]
    curve = left - 2 * middle + right
    return float((left - right) / (2 * curve)) if curve < 0 else 0.0
