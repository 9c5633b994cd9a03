"""A support's own frequency and damping from how the picture swings after a touch.

Frequencies and damping ratios are tried on a grid, by least squares; the few that leave least are fitted closely, as
`swing_fit.py` says, with what places and times are off by. Frames are few, so a frequency can be mistaken for another
(an alias). A second frequency that is nearly as likely means that it can't be told; the same holds when the fit itself
leaves too wide a margin. Frames at exactly even times can never tell; those of a live view are uneven.

For each frequency and ratio the swing's size and phase follow by linear least squares; that separation is Golub and
Pereyra's (1973, value from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from session.optics.swing_fit import Floats, SwingFit, fit_swing
from session.units.refusals import UnlikeShapesError

SLOWEST_HZ, FASTEST_HZ = 0.8, 60.0
"""Supports are told between 2 and 40 Hz; what lies a little outside must be looked at too, to be excluded."""

LEAST_DAMPING, MOST_DAMPING, DAMPINGS = 0.002, 0.25, 12
"""Damping ratios tried, evenly on a logarithmic scale; stands have 0.005 to 0.1. Common practice, no source."""

CANDIDATES = 8
"""Frequencies that are looked at closely. At even times there are FASTEST_HZ / (frames a second) times two aliases."""

ROUNDS, CLOSER = 4, 0.4
"""Looks at a place of the grid, each as much closer: to a fortieth of a step, near enough for the close fit."""

PER_WIDTH = 5
"""Frequencies tried per width of a spectral peak, one over the time observed."""

FEWEST_SAMPLES = 8
"""Two numbers, and c, a and b each way, leave as many degrees of freedom again."""

RIVAL_CHI2 = 16.0
"""A rival frequency must be less likely by four standard deviations. With three, 1 of 443 simulated decays was told
wrongly, with four none of 427."""

MOST_TOLD_DAMPING, MOST_TOLD_HZ = 0.12, 42.0
"""A little above what supports have; what looks damped more, or quicker, is most often another support's alias. Seen on
simulated decays with frames noted up to 3 ms off."""

NEAR = 0.05
"""Frequencies this close, as a share, are the same answer."""

LEAST_EXPLAINED = 0.95
"""Of the samples' variance; below it the motion is no single swing, or the times of the frames are off by too much."""

SURE_FREQUENCY, SURE_DAMPING = 0.015, 0.05
"""Most relative standard deviation: a third and a quarter of the 5 % and 20 % within which the answer is to hold."""


class UnclearSwingError(ValueError):
    """Frequency and damping can't be told from these samples; the text is a sentence that says why."""


@dataclass(frozen=True)
class RingDown:
    """How a support rings down. Amplitude: half swing at the first sample, in the unit of the positions."""

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
        raise UnlikeShapesError(time.shape, right.shape, down.shape)
    if len(time) < FEWEST_SAMPLES:
        raise UnclearSwingError(
            f"Too few live pictures fell into the swing to tell a frequency: {len(time)} of at least {FEWEST_SAMPLES}."
        )
    time = time - time[0]
    place = np.stack([right - right.mean(), down - down.mean()])
    found = _candidates(time, place)
    best = found[0]
    others = [other for other in found if abs(other.frequency_hz - best.frequency_hz) > NEAR * best.frequency_hz]
    if best.left > 1 - LEAST_EXPLAINED:
        raise UnclearSwingError(
            "Can't tell at this frame rate: the picture doesn't move as one swing that dies away, which explains only "
            f"{1 - best.left:.0%} of it."
        )
    unlikely = best.damping_ratio > MOST_TOLD_DAMPING or best.frequency_hz > MOST_TOLD_HZ
    if unlikely or any(2 * (other.cost - best.cost) < RIVAL_CHI2 for other in others):
        raise UnclearSwingError(
            f"Can't tell the frequency at this frame rate: {best.frequency_hz:.1f} Hz fits best, another one as well."
        )
    if best.frequency_sd > SURE_FREQUENCY or best.damping_sd > SURE_DAMPING:
        raise UnclearSwingError(
            f"Can't tell frequency and damping at this frame rate: about {best.frequency_hz:.1f} Hz, but too little of "
            "the swing is seen."
        )
    return RingDown(
        best.frequency_hz,
        best.frequency_sd * best.frequency_hz,
        best.damping_ratio,
        best.damping_sd * best.damping_ratio,
        best.amplitude_px,
    )


def _candidates(time: Floats, place: Floats) -> list[SwingFit]:
    """The swings that fit best, each at another frequency, likeliest first."""
    step_hz = 1 / (PER_WIDTH * max(float(time[-1]), 0.2))
    frequencies = np.arange(SLOWEST_HZ, FASTEST_HZ, step_hz)
    dampings = np.geomspace(LEAST_DAMPING, MOST_DAMPING, DAMPINGS)
    left = np.stack([_left_over(time, place, frequencies, ratio) for ratio in dampings])
    least, width_hz = left.min(axis=0), 2 * PER_WIDTH * step_hz
    found: list[SwingFit] = []
    while len(found) < CANDIDATES and np.isfinite(least).any():
        at = int(least.argmin())
        near = _closer(time, place, float(frequencies[at]), float(dampings[int(left[:, at].argmin())]), step_hz)
        found.append(fit_swing(time, place, *near))
        least[np.abs(frequencies - frequencies[at]) <= max(NEAR * frequencies[at], width_hz)] = np.inf
    return sorted(found, key=lambda one: one.cost)


def _closer(time: Floats, place: Floats, frequency: float, ratio: float, step_hz: float) -> tuple[float, float]:
    """Frequency and ratio that leave least around a place of the grid, closer each round."""
    factor = (MOST_DAMPING / LEAST_DAMPING) ** (1 / (DAMPINGS - 1))
    for _ in range(ROUNDS):
        frequencies = np.maximum(frequency + step_hz * np.linspace(-1, 1, 9), SLOWEST_HZ / 2)
        dampings = np.clip(ratio * factor ** np.linspace(-1, 1, 9), LEAST_DAMPING / 4, 0.9)
        left = np.stack([_left_over(time, place, frequencies, value) for value in dampings])
        row, column = (int(at) for at in np.unravel_index(int(left.argmin()), left.shape))
        frequency, ratio = float(frequencies[column]), float(dampings[row])
        step_hz, factor = step_hz * CLOSER, factor**CLOSER
    return frequency, ratio


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
