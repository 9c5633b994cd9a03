"""A swing that dies away fitted to places and times that are both a little off.

    x(t) = c + e^(−ζωt)·(a·cos ω_d t + b·sin ω_d t),   ω = 2πf, ω_d = ω√(1 − ζ²), and the same down

A frame noted late by δ shows the swing at another phase, φ = ω_d·δ. With φ normal about 0, of deviation s, and
q = e^(−s²/2), the cosine and sine of a phase θ noted so come out smaller by q, and vary by

    var cos = (1 − q²)(1 − q²·cos 2θ)/2,  var sin = (1 − q²)(1 + q²·cos 2θ)/2,  cov = −(1 − q²)·q²·sin 2θ/2

for the swing without that q. It is added to the noise of the places: early frames, where the swing is large, say less
than late ones, and frames at the ends of a swing more than those in its middle. Both deviations are looked for by
greatest likelihood together with the swing, whose own numbers follow by weighted least squares (Levenberg and
Marquardt's).

Derived: moments of a normal angle, E cos nφ = e^(−n²s²/2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NUMBERS = 8
"""Of the swing: frequency, damping ratio, and c, a and b each way."""

LEAST_NOISE_PX = 0.003
"""Registration is no better than this, whatever the fit leaves."""

PLACE_SHARES = np.geomspace(0.05, 1.5, 18)
"""Noise of the places that is tried, of what the fit leaves: a fifth apart."""

LATE_SD_S = np.concatenate([[0.0], np.geomspace(5e-5, 5e-3, 24)])
"""Deviations of the noted times that are tried, a fifth apart: up to a twelfth of the time between two frames at 15 a
second, more than a cable's. A guess."""

ROUNDS, STEPS = 8, 12
"""Of weights, and of least squares with them; both end sooner when nothing changes."""

SETTLED = 1e-3
"""Largest change of the cost that counts as no change: a thirtieth of a standard deviation."""

NEAR = 0.1
"""How far from the guess a frequency is looked for, as a share: farther lies another guess."""

LEAST_RATIO, MOST_RATIO = 0.0005, 0.9


@dataclass(frozen=True)
class SwingFit:
    """The likeliest swing near a guess.

    frequency_sd, damping_sd  relative standard deviations
    amplitude_px              half swing at the first sample
    late_sd_s                 standard deviation of the frames' times
    left                      share of the samples' variance that it doesn't explain
    cost                      minus the logarithm of its likelihood, but for a constant
    """

    frequency_hz: float
    damping_ratio: float
    frequency_sd: float
    damping_sd: float
    amplitude_px: float
    late_sd_s: float
    left: float
    cost: float


def fit_swing(time_s: Floats, place_px: Floats, frequency_hz: float, damping_ratio: float) -> SwingFit:
    """The likeliest swing near a frequency and damping ratio.

    time_s         (n,) from 0 on, s
    place_px       (2, n), more than NUMBERS / 2 of them, px
    frequency_hz   Hz
    """
    numbers = _start_numbers(time_s, place_px, frequency_hz, damping_ratio)
    slowest, cost = numbers[0] - NEAR, math.inf
    for _ in range(ROUNDS):
        noise = _likeliest_noise(time_s, place_px, numbers)
        settled, cost = cost - noise.cost < SETTLED, noise.cost
        if settled:
            break
        numbers = _least_squares(time_s, place_px, numbers, noise.weights, slowest)
    free = 2 * len(time_s) / max(2 * len(time_s) - NUMBERS, 1)
    here = _swing(time_s, numbers)
    frequency_sd, damping_sd = _deviations(here.slopes, noise.weights / free)
    sway = numbers[4:].reshape(2, 2) / math.sqrt(_share_kept(numbers, noise.late_sd_s))
    return SwingFit(
        math.exp(numbers[0]),
        math.exp(numbers[1]),
        frequency_sd,
        damping_sd,
        math.sqrt(max(float(np.linalg.eigvalsh(sway.T @ sway)[-1]), 0.0)),
        noise.late_sd_s,
        float(((place_px - here.place) ** 2).sum() / max((place_px**2).sum(), LEAST_NOISE_PX**2)),
        noise.cost / free,
    )


@dataclass(frozen=True, eq=False)
class _Swing:
    """Where a swing is, (2, n), and how that answers to each of its numbers, (NUMBERS, 2, n)."""

    place: Floats
    slopes: Floats
    fade: Floats
    turn: Floats


@dataclass(frozen=True, eq=False)
class _Noise:
    """Inverse covariance of each sample's right and down: weights (3, n) of right², right·down and down²."""

    cost: float
    late_sd_s: float
    weights: Floats


def _start_numbers(time: Floats, place: Floats, frequency: float, ratio: float) -> Floats:
    """The numbers (NUMBERS,) of a swing of that frequency and ratio: ln f, ln ζ, then c, a and b right and down."""
    numbers = np.array([math.log(frequency), math.log(ratio), *[0.0] * 6])
    swing = _swing(time, numbers)
    basis = np.stack([np.ones_like(time), swing.fade * np.cos(swing.turn), swing.fade * np.sin(swing.turn)])
    numbers[2:] = np.linalg.lstsq(basis.T, place.T, rcond=None)[0].ravel()
    return numbers


def _swing(time: Floats, numbers: Floats) -> _Swing:
    omega, ratio = 2 * math.pi * math.exp(numbers[0]), math.exp(numbers[1])
    rest, by_cosine, by_sine = numbers[2:].reshape(3, 2, 1)
    own = math.sqrt(1 - ratio**2)
    fade, turn = np.exp(-ratio * omega * time), omega * own * time
    cosine, sine = fade * np.cos(turn), fade * np.sin(turn)
    away, onward = by_cosine * cosine + by_sine * sine, by_sine * cosine - by_cosine * sine
    by_fading = -ratio * omega * time * away
    by_frequency = by_fading + turn * onward
    by_ratio = by_fading - ratio**2 / own * omega * time * onward
    one, none = np.ones_like(time), np.zeros_like(time)
    each = [part for wave in (one, cosine, sine) for part in (np.stack([wave, none]), np.stack([none, wave]))]
    return _Swing(rest + away, np.stack([by_frequency, by_ratio, *each]), fade, turn)


def _likeliest_noise(time: Floats, place: Floats, numbers: Floats) -> _Noise:
    """The likeliest of the tried noises, of the places and of the times."""
    swing = _swing(time, numbers)
    right, down = place - swing.place
    by_cosine, by_sine = numbers[4:].reshape(2, 2)
    kept = _share_kept(numbers, LATE_SD_S)[:, None]
    spread = (1 - kept) / kept * swing.fade**2 / 2
    cosine = spread * (1 - kept * np.cos(2 * swing.turn))
    sine = spread * (1 + kept * np.cos(2 * swing.turn))
    both = -spread * kept * np.sin(2 * swing.turn)

    def late(one: int, other: int) -> Floats:
        crossed = by_cosine[one] * by_sine[other] + by_sine[one] * by_cosine[other]
        varied: Floats = by_cosine[one] * by_cosine[other] * cosine + by_sine[one] * by_sine[other] * sine
        varied += crossed * both
        return varied

    places = np.maximum(PLACE_SHARES * math.sqrt(float((right**2 + down**2).mean()) / 2), LEAST_NOISE_PX)
    own = (places**2)[:, None, None]
    across, along, slant = own + late(0, 0), own + late(1, 1), np.broadcast_to(late(0, 1), (1, *cosine.shape))
    size = across * along - slant**2
    chi2 = (along * right**2 + across * down**2 - 2 * slant * right * down) / size
    costs = (np.log(size) + chi2).sum(axis=2) / 2
    at = np.unravel_index(int(costs.argmin()), costs.shape)
    weights = np.stack([along[at], -slant[0, at[1]], across[at]]) / size[at]
    return _Noise(float(costs[at]), float(LATE_SD_S[at[1]]), weights)


def _share_kept(numbers: Floats, late_sd_s: Floats | float) -> Floats:
    """q² of each deviation of the times."""
    own_hz = math.exp(numbers[0]) * math.sqrt(1 - math.exp(2 * numbers[1]))
    return np.asarray(np.exp(-((2 * np.pi * own_hz * np.asarray(late_sd_s)) ** 2)))


def _least_squares(time: Floats, place: Floats, numbers: Floats, weights: Floats, slowest: float) -> Floats:
    """The numbers with the least weighted rest; ln f from `slowest` on, and no farther than 2 NEAR above."""
    damped, swing = 1e-3, _swing(time, numbers)
    left = place - swing.place
    least = float((left * _weigh(weights, left)).sum())
    for _ in range(STEPS):
        slopes = swing.slopes.reshape(NUMBERS, -1)
        gram = slopes @ _weigh(weights, swing.slopes).reshape(NUMBERS, -1).T
        gram += damped * np.diag(np.diag(gram)) + 1e-12 * np.trace(gram) * np.eye(NUMBERS)
        tried = numbers + np.linalg.solve(gram, slopes @ _weigh(weights, left).ravel())
        tried[0] = min(max(tried[0], slowest), slowest + 2 * NEAR)
        tried[1] = min(max(tried[1], math.log(LEAST_RATIO)), math.log(MOST_RATIO))
        there = _swing(time, tried)
        left_there = place - there.place
        less = float((left_there * _weigh(weights, left_there)).sum())
        if not less < least:
            damped *= 10
            continue
        settled = least - less < SETTLED
        numbers, swing, left, least, damped = tried, there, left_there, less, damped / 10
        if settled:
            break
    return numbers


def _deviations(slopes: Floats, weights: Floats) -> tuple[float, float]:
    """Standard deviations of ln f and ln ζ; infinite where the samples don't show them."""
    gram = slopes.reshape(NUMBERS, -1) @ _weigh(weights, slopes).reshape(NUMBERS, -1).T
    if np.linalg.cond(gram) > 1e14:
        return math.inf, math.inf
    covariance = np.linalg.inv(gram)
    return math.sqrt(covariance[0, 0]), math.sqrt(covariance[1, 1])


def _weigh(weights: Floats, values: Floats) -> Floats:
    """Weights times right and down, (…, 2, n)."""
    right, down = values[..., 0, :], values[..., 1, :]
    return np.stack([weights[0] * right + weights[1] * down, weights[1] * right + weights[2] * down], axis=-2)
