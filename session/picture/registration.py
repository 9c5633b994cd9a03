"""How far the picture moved since the reference: phase correlation with a sub-pixel peak.

Shifts say where the content went: +right, +down, in pixels of the arrays. Light is taken out first, by
working on the logarithm of local contrast, so that relit, brighter and darker frames register alike; the
correlation is limited to low frequencies, which survive a blur.

Sources: phase correlation, Kuglin and Hines 1975; sub-pixel peak by a matrix-multiply DFT, Guizar-Sicairos,
Thurman and Fienup, Optics Letters 33 (2008) 156.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from session.picture.linear_light import ONE_CODE
from session.units.refusals import UnlikeShapesError

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

QUICK_FACTORS = (2, 3, 5, 7, 11)
"""Lengths made of these NumPy's Fourier transform takes without a detour."""

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


@dataclass(frozen=True, eq=False)
class Contrast:
    """A picture as it is registered: the spectrum of its local contrast, and its own power under the low pass.

    shape  (height, width) of the picture; of it the upper left part is registered that transforms quickly
    """

    spectrum: NDArray[np.complexfloating[Any]]
    shape: tuple[int, int]
    power: float


def contrast_of(light: NDArray[np.float32]) -> Contrast:
    """A picture, (height, width) linear light, prepared for `shift_between`; worth keeping for a reference."""
    height, width = (_quick(length) for length in light.shape)
    spectrum = np.fft.rfft2(local_contrast(light[:height, :width]))
    power = float((_grids(height, width).weight * (spectrum.real**2 + spectrum.imag**2)).sum())
    return Contrast(spectrum, (light.shape[0], light.shape[1]), power)


def local_contrast(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Logarithm of light without its mean plane, faded out at the edges; (height, width)."""
    grids = _grids(*light.shape)
    log = np.log2(light + np.float32(4 * ONE_CODE))
    by_row, by_column = log.mean(axis=1, keepdims=True), log.mean(axis=0, keepdims=True)
    log -= by_row.mean()
    log -= grids.down * ((by_row * grids.down).mean() / max(float((grids.down**2).mean()), 1e-9))
    log -= grids.right * ((by_column * grids.right).mean() / max(float((grids.right**2).mean()), 1e-9))
    faded: NDArray[np.float32] = log * grids.fade
    return faded


def shift_between(
    reference: NDArray[np.float32] | Contrast, frame: NDArray[np.float32] | Contrast, most_px: float | None = None
) -> Shift:
    """Where the content of `reference` lies in `frame`, each (height, width) linear light, of equal shape.

    most_px  look no further than this; the arrays' size allows half their sides
    Raises ValueError when the shapes differ.
    """
    if reference.shape != frame.shape:
        raise UnlikeShapesError(reference.shape, frame.shape)
    before = reference if isinstance(reference, Contrast) else contrast_of(reference)
    now = frame if isinstance(frame, Contrast) else contrast_of(frame)
    quick = _quick(before.shape[0]), _quick(before.shape[1])
    grids = _grids(*quick)
    cross = now.spectrum * np.conj(before.spectrum)
    phases = _whiten(cross, grids)
    down, right = _peak(np.fft.irfft2(phases, s=quick), grids.distance, most_px)
    fine_down, fine_right = _fine_peak(phases, grids, down, right)
    return Shift(fine_right, fine_down, _likeness(cross, before.power * now.power, grids, fine_down, fine_right))


@dataclass(frozen=True, eq=False)
class _Grids:
    """Arrays that depend on a picture's shape alone.

    rows, columns  frequencies of the half spectrum, cycles/px: (height, 1) and (1, half the width)
    low_pass, weight  for the correlation, and for the likeness of gradients
    down, right    −1 … 1 over the picture; `fade` its edges
    distance       of each place of the correlation from no shift, px
    """

    rows: NDArray[np.floating[Any]]
    columns: NDArray[np.floating[Any]]
    low_pass: NDArray[np.float32]
    weight: NDArray[np.float32]
    down: NDArray[np.float32]
    right: NDArray[np.float32]
    fade: NDArray[np.float32]
    distance: NDArray[np.float64]


@lru_cache(maxsize=64)
def _quick(length: int) -> int:
    """The longest length up to this one without a prime factor above 11: others take up to ten times as long."""
    rest = length
    for factor in QUICK_FACTORS:
        while rest % factor == 0:
            rest //= factor
    return length if rest <= 1 else _quick(length - 1)


@lru_cache(maxsize=8)
def _grids(height: int, width: int) -> _Grids:
    rows, columns = np.fft.fftfreq(height)[:, None], np.fft.rfftfreq(width)[None]
    squares = rows**2 + columns**2
    low_pass = np.exp(-squares / (2 * PASS_CYCLES_PER_PX**2))
    low_pass[0, 0] = 0
    fade = np.outer(np.hanning(height), np.hanning(width))
    return _Grids(
        rows=rows,
        columns=columns,
        low_pass=low_pass.astype(np.float32),
        weight=(squares * np.exp(-squares / PASS_CYCLES_PER_PX**2)).astype(np.float32),
        down=np.linspace(-1, 1, height, dtype=np.float32)[:, None],
        right=np.linspace(-1, 1, width, dtype=np.float32)[None],
        fade=fade.astype(np.float32),
        distance=np.hypot(np.fft.fftfreq(height, 1 / height)[:, None], np.fft.fftfreq(width, 1 / width)[None]),
    )


def _likeness(
    cross: NDArray[np.complexfloating[Any]], powers: float, grids: _Grids, down: float, right: float
) -> float:
    """Correlation of the two pictures' gradients under the low pass, the second moved back."""
    back_down, back_right = np.exp(2j * np.pi * grids.rows * down), np.exp(2j * np.pi * grids.columns * right)
    by_row = (grids.weight * cross) @ back_right[0].astype(cross.dtype)
    common = float((by_row * back_down[:, 0]).real.sum())
    return common / max(math.sqrt(powers), 1e-12)


def _whiten(cross: NDArray[np.complexfloating[Any]], grids: _Grids) -> NDArray[np.complexfloating[Any]]:
    """Phases, and power only a little, under a Gaussian low pass."""
    size = np.abs(cross) ** np.float32(WHITENING)
    whitened: NDArray[np.complexfloating[Any]] = cross * (grids.low_pass / (size + (1e-3 * size.mean() + 1e-12)))
    return whitened


def _peak(surface: NDArray[np.floating[Any]], distance: NDArray[np.float64], most_px: float | None) -> tuple[int, int]:
    """Whole-pixel peak as (down, right), signed."""
    allowed = surface if most_px is None else np.where(distance <= most_px, surface, -np.inf)
    top = _signed_shift(surface.shape, int(allowed.argmax()))
    rivals = np.flatnonzero(allowed >= RIVAL_WITHIN * max(float(allowed.max()), 0.0))
    nearest = _signed_shift(surface.shape, int(rivals[distance.ravel()[rivals].argmin()])) if len(rivals) else top
    if math.hypot(nearest[0] - top[0], nearest[1] - top[1]) < RIVAL_FROM_PX:
        nearest = top
    row, column = _climb(surface, nearest[0] % surface.shape[0], nearest[1] % surface.shape[1])
    return _signed_shift(surface.shape, row * surface.shape[1] + column)


def _signed_shift(shape: tuple[int, ...], flat: int) -> tuple[int, int]:
    """A place of the correlation as a shift (down, right)."""
    row, column = divmod(flat, shape[1])
    return row - shape[0] * (row >= (shape[0] + 1) // 2), column - shape[1] * (column >= (shape[1] + 1) // 2)


def _climb(surface: NDArray[np.floating[Any]], row: int, column: int) -> tuple[int, int]:
    """Up to the top of the peak on whose flank the place lies."""
    height, width = surface.shape
    for _ in range(height + width):
        around = [((row + i) % height, (column + j) % width) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        best = max(around, key=lambda at: surface[at])
        if best == (row, column):
            break
        row, column = best
    return row, column


def _fine_peak(phases: NDArray[np.complexfloating[Any]], grids: _Grids, down: int, right: int) -> tuple[float, float]:
    """Peak to a fraction of a pixel: the inverse transform on a fine grid around the whole-pixel peak."""
    steps = np.arange(-10, 11) * FINE_STEP_PX
    by_rows = np.exp(2j * np.pi * (down + steps)[:, None] * grids.rows.T).astype(phases.dtype)
    by_columns = np.exp(2j * np.pi * grids.columns.T * (right + steps)[None, :])
    fine = ((by_rows @ phases) @ by_columns).real
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
