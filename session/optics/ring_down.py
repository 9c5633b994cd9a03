"""A stand's own frequency and damping from how the picture swings after a touch.

    x(t) = c + e^(−ζωt)·(a·cos ω_d t + b·sin ω_d t),   ω = 2πf, ω_d = ω√(1 − ζ²), and the same down

For each frequency and damping ratio c, a and b follow by linear least squares, so only two numbers are searched for:
on a grid, then closer around the best. Frames are few, so a frequency can be mistaken for another (an alias). A
second frequency that explains the samples nearly as well means that it can't be told; the same holds when the
fit itself leaves too wide a margin. Frames at exactly even times can never tell; those of a live view are uneven.

Derived; the separation of linear and other unknowns is Golub and Pereyra's (1973, value from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

SLOWEST_HZ, FASTEST_HZ = 0.8, 60.0
"""Stands are told between 2 and 40 Hz; what lies a little outside must be looked at too, to be excluded."""

LEAST_DAMPING, MOST_DAMPING, DAMPINGS = 0.002, 0.25, 12
"""Damping ratios tried, evenly on a logarithmic scale; stands have 0.005 to 0.1. Common practice, no source."""

CANDIDATES = 8
"""Frequencies that are looked at closely. At even times there are FASTEST_HZ / (frames a second) times two aliases."""

ROUNDS, CLOSER = 7, 0.4

PER_WIDTH = 5
"""Frequencies tried per width of a spectral peak, one over the time observed."""

FEWEST_SAMPLES = 8
"""Two numbers, and c, a and b each way, leave as many degrees of freedom again."""

RIVAL_CHI2, RIVAL_TIMES = 25.0, 3.0
"""A rival frequency must fit worse by five standard deviations, and leave so many times as much unexplained: times
noted a little late disturb a swift swing more than noise does, and its alias can take that up. The second is chosen
on simulated decays with frames noted up to 3 ms off."""

MOST_TOLD_DAMPING, MOST_TOLD_HZ = 0.12, 42.0
"""A little above what stands have; what looks damped more, or quicker, is most often another stand's alias. Seen on the
same decays."""

NEAR = 0.05
"""Frequencies this close, as a share, are the same answer."""

LEAST_EXPLAINED = 0.95
"""Of the samples' variance; below it the motion is no single swing, or the times of the frames are off by too much."""

SURE_FREQUENCY, SURE_DAMPING = 0.015, 0.05
"""Most relative standard deviation: a third and a quarter of the 5 % and 20 % within which the answer is to hold."""

LEAST_NOISE_PX = 0.003
"""Registration is no better than this, whatever the fit leaves."""


class UnclearSwingError(ValueError):
    """Frequency and damping can't be told from these samples; the text is a sentence that says why."""


@dataclass(frozen=True)
class RingDown:
    """How a stand rings down. Amplitude: half swing at the first sample, in the unit of the positions."""

    frequency_hz: float
    frequency_sd_hz: float
    damping_ratio: float
    damping_ratio_sd: float
    amplitude_px: float


def ring_down(time_s: ArrayLike, right_px: ArrayLike, down_px: ArrayLike) -> RingDown:
    """Frequency and damping of a free swing that dies away.

    time_s            (n,) rising, from after the touch
    right_px, down_px (n,) where the picture was; any unit of length
    Raises UnclearSwingError, with the reason; ValueError when the arrays' shapes differ.
    """
    time, right, down = (np.asarray(values, np.float64) for values in (time_s, right_px, down_px))
    if not time.shape == right.shape == down.shape or time.ndim != 1:
        raise ValueError(f"shapes differ: {time.shape}, {right.shape}, {down.shape}")
    if len(time) < FEWEST_SAMPLES:
        raise UnclearSwingError("Too few live pictures fell into the swing to tell its frequency.")
    time = time - time[0]
    place = np.stack([right - right.mean(), down - down.mean()])
    frequency, damping, rival = _search(time, place)
    residual, amplitude = _residual(time, place, frequency, damping)
    left = float((residual**2).sum())
    freedom = max(residual.size - FEWEST_SAMPLES, 1)
    variance = max(left / freedom, LEAST_NOISE_PX**2)
    if left > (1 - LEAST_EXPLAINED) * float((place**2).sum()):
        raise UnclearSwingError("The picture doesn't move as one swing that dies away.")
    unlikely = damping > MOST_TOLD_DAMPING or frequency > MOST_TOLD_HZ
    if unlikely or rival - left < RIVAL_CHI2 * variance or rival < RIVAL_TIMES * left:
        raise UnclearSwingError("Can't tell the frequency at this frame rate: another one fits as well.")
    frequency_sd, damping_sd = _deviations(time, place, frequency, damping, variance)
    if frequency_sd > SURE_FREQUENCY * frequency or damping_sd > SURE_DAMPING * damping:
        raise UnclearSwingError("Can't tell frequency and damping at this frame rate: too little of the swing is seen.")
    return RingDown(frequency, frequency_sd, damping, damping_sd, amplitude)


def _search(time: Floats, place: Floats) -> tuple[float, float, float]:
    """Best frequency and damping, and the sum of squares that the best other frequency leaves.

    Other frequencies are searched as closely as the best one: on the grid alone an alias would look worse than it is.
    """
    step_hz = 1 / (PER_WIDTH * max(float(time[-1]), 0.2))
    frequencies = np.arange(SLOWEST_HZ, FASTEST_HZ, step_hz)
    dampings = np.geomspace(LEAST_DAMPING, MOST_DAMPING, DAMPINGS)
    left = np.stack([_left_over(time, place, frequencies, ratio) for ratio in dampings])
    least, width_hz = left.min(axis=0), 2 * PER_WIDTH * step_hz
    found: list[tuple[float, float, float]] = []
    while len(found) < CANDIDATES and np.isfinite(least).any():
        at = int(least.argmin())
        found.append(_closer(time, place, float(frequencies[at]), float(dampings[int(left[:, at].argmin())]), step_hz))
        least[np.abs(frequencies - frequencies[at]) <= max(NEAR * frequencies[at], width_hz)] = np.inf
    found.sort(key=lambda candidate: candidate[2])
    best = found[0]
    rivals = [other[2] for other in found[1:] if abs(other[0] - best[0]) > NEAR * best[0]]
    return best[0], best[1], min(rivals, default=math.inf)


def _closer(time: Floats, place: Floats, frequency: float, ratio: float, step_hz: float) -> tuple[float, float, float]:
    """Around a place of the grid, closer each round; with the sum of squares that it leaves."""
    factor, least = (MOST_DAMPING / LEAST_DAMPING) ** (1 / (DAMPINGS - 1)), math.inf
    for _ in range(ROUNDS):
        frequencies = np.maximum(frequency + step_hz * np.linspace(-1, 1, 9), SLOWEST_HZ / 2)
        dampings = np.clip(ratio * factor ** np.linspace(-1, 1, 9), LEAST_DAMPING / 4, 0.9)
        left = np.stack([_left_over(time, place, frequencies, value) for value in dampings])
        row, column = (int(at) for at in np.unravel_index(int(left.argmin()), left.shape))
        frequency, ratio, least = float(frequencies[column]), float(dampings[row]), float(left.min())
        step_hz, factor = step_hz * CLOSER, factor**CLOSER
    return frequency, ratio, least


def _left_over(time: Floats, place: Floats, frequencies: Floats, ratio: float) -> Floats:
    """Sum of squares that the best swing of each frequency leaves, (frequencies,)."""
    omega = 2 * np.pi * frequencies[:, None]
    fade = np.exp(-ratio * omega * time)
    turn = omega * math.sqrt(1 - ratio**2) * time
    basis = np.stack([np.ones_like(fade), fade * np.cos(turn), fade * np.sin(turn)], axis=1)
    gram = basis @ basis.transpose(0, 2, 1)
    gram += 1e-9 * np.trace(gram, axis1=1, axis2=2)[:, None, None] * np.eye(3)
    onto = basis @ place.T
    explained: Floats = (onto * np.linalg.solve(gram, onto)).sum(axis=(1, 2))
    return float((place**2).sum()) - explained


def _residual(time: Floats, place: Floats, frequency: float, ratio: float) -> tuple[Floats, float]:
    """What the best swing leaves (2, n), and its half swing at the first sample."""
    omega = 2 * math.pi * frequency
    fade, turn = np.exp(-ratio * omega * time), omega * math.sqrt(1 - ratio**2) * time
    basis = np.stack([np.ones_like(time), fade * np.cos(turn), fade * np.sin(turn)])
    swing = np.linalg.lstsq(basis.T, place.T, rcond=None)[0]
    amplitude = math.sqrt(max(np.linalg.eigvalsh(swing[1:] @ swing[1:].T)[-1], 0.0))
    return place - (basis.T @ swing).T, amplitude


def _deviations(time: Floats, place: Floats, frequency: float, ratio: float, variance: float) -> tuple[float, float]:
    """Standard deviations of frequency and damping ratio from how the residual answers to each."""
    by_frequency, by_ratio = 1e-4 * frequency, 1e-3 * ratio
    steps = [(frequency + by_frequency, ratio), (frequency, ratio + by_ratio)]
    here = _residual(time, place, frequency, ratio)[0].ravel()
    slopes = np.stack([_residual(time, place, *step)[0].ravel() - here for step in steps], axis=1)
    slopes /= np.array([by_frequency, by_ratio])
    gram = slopes.T @ slopes
    if np.linalg.cond(gram) > 1e14:
        return math.inf, math.inf
    covariance = variance * np.linalg.inv(gram)
    return math.sqrt(covariance[0, 0]), math.sqrt(covariance[1, 1])
