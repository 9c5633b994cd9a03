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

PASS_CYCLES_PER_PX = 0.1
"""Standard deviation of the Gaussian low pass: a blur disc of 5 px passes with its sign up to 0.12."""

WHITENING = 0.6
"""Exponent with which a frequency's power is divided out: 1 would count phases only, and with them the reversed
ones that a large blur leaves; 0 would count nothing but coarse shading. Chosen on photographs under discs."""

FINE_STEP_PX = 0.1
"""Step of the second search around the whole-pixel peak; a parabola finds the place between."""

RIVAL_WITHIN = 0.8
RIVAL_FROM_PX = 6
"""Another peak so far away and this close in height may be the right one in a repeating texture; the one
nearest to no shift is taken, for a tripod moves little. Guessed."""

LEAST_LIKENESS = 0.25
"""Below this the pictures show different things. 66 pairs of different photographs reached 0.21; the same one
under a blur of 8 px and noise of 6 codes kept 0.3, relit and moved ones more. Chosen on these."""


@dataclass(frozen=True)
class Shift:
    """Where the content went, px, and how surely.

    likeness  −1…1: correlation of both pictures' fine contrast at this shift
    """

    right_px: float
    down_px: float
    likeness: float

    @property
    def found(self) -> bool:
        return self.likeness >= LEAST_LIKENESS


NOT_MOVED = Shift(0.0, 0.0, 1.0)


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
    before, now = (np.fft.rfft2(local_contrast(picture)) for picture in (reference, frame))
    phases = _whitened(now * np.conj(before), reference.shape)
    down, right = _peak(np.fft.irfft2(phases, s=reference.shape), most_px)
    fine_down, fine_right = _fine_peak(phases, reference.shape, down, right)
    return Shift(fine_right, fine_down, _likeness(before, now, reference.shape, fine_down, fine_right))


def _likeness(
    before: NDArray[np.complex128], now: NDArray[np.complex128], shape: tuple[int, ...], down: float, right: float
) -> float:
    """Correlation of the two pictures' gradients under the low pass, the second moved back."""
    rows, columns = np.fft.fftfreq(shape[0])[:, None], np.fft.rfftfreq(shape[1])[None]
    squares = rows**2 + columns**2
    weight = squares * np.exp(-squares / PASS_CYCLES_PER_PX**2)
    back = np.exp(2j * np.pi * (rows * down + columns * right))
    common = float((weight * (now * np.conj(before) * back).real).sum())
    own = (float((weight * np.abs(spectrum) ** 2).sum()) for spectrum in (before, now))
    return common / max(float(np.sqrt(np.prod(list(own)))), 1e-12)


def _whitened(cross: NDArray[np.complex128], shape: tuple[int, ...]) -> NDArray[np.complex128]:
    """Phases, and power only a little, under a Gaussian low pass."""
    size = np.abs(cross) ** WHITENING
    down = np.fft.fftfreq(shape[0])[:, None]
    right = np.fft.rfftfreq(shape[1])[None]
    low_pass = np.exp(-(down**2 + right**2) / (2 * PASS_CYCLES_PER_PX**2))
    low_pass[0, 0] = 0
    whitened: NDArray[np.complex128] = cross / (size + 1e-3 * size.mean() + 1e-12) * low_pass
    return whitened


def _peak(surface: NDArray[np.float64], most_px: float | None) -> tuple[int, int]:
    """Whole-pixel peak as (down, right), signed."""
    rows = np.fft.fftfreq(surface.shape[0], 1 / surface.shape[0])[:, None]
    columns = np.fft.fftfreq(surface.shape[1], 1 / surface.shape[1])[None]
    distance = np.hypot(rows, columns)
    allowed = surface if most_px is None else np.where(distance <= most_px, surface, -np.inf)
    top = np.unravel_index(int(allowed.argmax()), allowed.shape)
    rivals = np.argwhere(allowed >= RIVAL_WITHIN * max(float(allowed.max()), 0.0))
    nearest = min(rivals, key=lambda at: distance[at[0], at[1]], default=np.array(top))
    apart = np.hypot(rows[nearest[0], 0] - rows[top[0], 0], columns[0, nearest[1]] - columns[0, top[1]])
    if apart < RIVAL_FROM_PX:
        nearest = np.array(top)
    row, column = _climb(surface, int(nearest[0]), int(nearest[1]))
    return int(rows[row, 0]), int(columns[0, column])


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
