"""Ring-down of a support against a damped oscillator that scipy integrates. Sources: SOURCES.md, on vibration."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from session.optics.ring_down import DAMPINGS, LEAST_DAMPING, MOST_DAMPING, UnclearSwingError, ring_down
from session.optics.ring_down import _closer as closer
from session.optics.ring_down import _left_over as left_over

NOISE_PX = 0.03


def integrated(frequency_hz: float, damping_ratio: float, time_s: np.ndarray) -> np.ndarray:
    """x'' + 2ζωx' + ω²x = 0 from a unit push, swing of about 1."""
    omega = 2 * math.pi * frequency_hz

    def moves(_: float, state: np.ndarray) -> list[float]:
        return [state[1], -2 * damping_ratio * omega * state[1] - omega**2 * state[0]]

    solved = solve_ivp(moves, (0, time_s[-1]), [0.0, omega], t_eval=time_s, rtol=1e-8, atol=1e-10)
    return np.asarray(solved.y[0])


def frames(seed: int, rate_per_s: float = 15.0, uneven: float = 0.2, length_s: float = 6.0) -> np.ndarray:
    chance = np.random.default_rng(seed)
    return np.cumsum((1 + uneven * chance.uniform(-1, 1, int(length_s * rate_per_s))) / rate_per_s)


def seen(frequency_hz: float, damping_ratio: float, time_s: np.ndarray, seed: int = 0, swing_px: float = 6.0):
    chance, turn = np.random.default_rng(seed), seed % 7
    swing = swing_px * integrated(frequency_hz, damping_ratio, time_s)
    right = math.cos(turn) * swing + NOISE_PX * chance.standard_normal(len(time_s)) + 3.0
    down = math.sin(turn) * swing + NOISE_PX * chance.standard_normal(len(time_s)) - 8.0
    start = int(np.hypot(right - 3, down + 8).argmax())
    return time_s[start:], right[start:], down[start:]


# V4: 10 Hz, ζ = 0.02 and 0.05; 20 Hz, 0.02; 5 Hz, 0.03. Damped oscillator.
@pytest.mark.parametrize(("frequency_hz", "damping_ratio"), [(10, 0.02), (10, 0.05), (20, 0.02), (5, 0.03), (2, 0.005)])
def test_stands_of_the_handbook_rows_are_told_from_frames_at_15_a_second(
    frequency_hz: float, damping_ratio: float
) -> None:
    found = ring_down(*seen(frequency_hz, damping_ratio, frames(4)))
    assert found.frequency_hz == pytest.approx(frequency_hz, rel=0.02)
    assert found.damping_ratio == pytest.approx(damping_ratio, rel=0.1)
    assert abs(found.frequency_hz - frequency_hz) < 5 * found.frequency_sd_hz
    assert abs(found.damping_ratio - damping_ratio) < 5 * found.damping_ratio_sd


@settings(max_examples=12)
@given(st.floats(2, 40), st.floats(0.005, 0.1), st.sampled_from([15.0, 30.0]), st.integers(0, 10**6))
def test_what_is_told_is_right_and_the_rest_is_said_not_to_be_told(
    frequency_hz: float, damping_ratio: float, rate_per_s: float, seed: int
) -> None:
    """Frequency within 5 %, damping ratio within 20 %."""
    time_s = frames(seed, rate_per_s, length_s=4.0)
    try:
        found = ring_down(*seen(frequency_hz, damping_ratio, time_s, seed))
    except UnclearSwingError:
        return
    assert found.frequency_hz == pytest.approx(frequency_hz, rel=0.05)
    assert found.damping_ratio == pytest.approx(damping_ratio, rel=0.2)


def test_even_frames_can_never_tell_a_frequency_from_its_aliases() -> None:
    """Sampled evenly at 15 a second, 4 Hz and 11 Hz, 19 Hz … are the same numbers (sampling theorem)."""
    time_s = np.arange(60) / 15
    with pytest.raises(UnclearSwingError, match="at this frame rate"):
        ring_down(*seen(4.0, 0.02, time_s))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda t, n: n, "doesn't move as one swing"),
        (lambda t, n: 5 * integrated(4, 0.02, t) + 5 * integrated(9, 0.01, t) + n, "one swing"),
        (lambda t, n: 0.3 * t + n, "frame rate|one swing"),
    ],
    ids=["noise", "two swings", "drift"],
)
def test_motion_that_is_no_ring_down_is_not_measured(make, words: str) -> None:
    time_s = frames(2)
    noise = 0.05 * np.random.default_rng(1).standard_normal((2, len(time_s)))
    with pytest.raises(UnclearSwingError, match=words):
        ring_down(time_s, make(time_s, noise[0]), noise[1])


def test_noise_is_said_to_be_explained_by_little() -> None:
    time_s, chance = frames(2), np.random.default_rng(1)
    noise = 0.05 * chance.standard_normal((2, len(time_s)))
    with pytest.raises(UnclearSwingError, match="explains only") as raised:
        ring_down(time_s, *noise)
    assert 1 <= int(str(raised.value).split("only ")[1].split("%")[0]) <= 40


@pytest.mark.parametrize("ratio", [0.005, 0.08])
def test_what_a_swing_leaves_over_is_that_of_plain_least_squares(ratio: float) -> None:
    time_s, right, down = seen(7.0, 0.03, frames(8))
    tried, time_s = np.array([2.0, 6.9, 7.0, 11.3]), time_s - time_s[0]
    place = np.stack([right - right.mean(), down - down.mean()])
    found = left_over(time_s, place, tried, ratio)
    for frequency, left in zip(tried, found, strict=True):
        omega = 2 * math.pi * frequency
        swing = np.exp((-ratio + 1j * math.sqrt(1 - ratio**2)) * omega * time_s)
        basis = np.stack([np.ones_like(time_s), swing.real, swing.imag], axis=1)
        plain = sum(float(np.linalg.lstsq(basis, one, rcond=None)[1][0]) for one in place)
        assert left == pytest.approx(plain, rel=1e-5)


@pytest.mark.parametrize(("off_steps", "off_factor"), [(0.45, 0.4), (-0.45, -0.4), (0.2, -0.3)])
def test_a_closer_look_comes_within_a_fortieth_of_a_step(off_steps: float, off_factor: float) -> None:
    time_s, step_hz, factor = frames(8), 1 / 30, (MOST_DAMPING / LEAST_DAMPING) ** (1 / (DAMPINGS - 1))
    swing = integrated(7.0, 0.03, time_s)
    place = np.stack([swing - swing.mean(), 0.5 * (swing - swing.mean())])
    found_hz, ratio = closer(time_s, place, 7.0 + off_steps * step_hz, 0.03 * factor**off_factor, step_hz)
    assert abs(found_hz - 7.0) < step_hz / 40
    assert abs(math.log(ratio / 0.03)) < math.log(factor) / 40


def test_too_few_samples_are_refused() -> None:
    with pytest.raises(UnclearSwingError, match=r"Too few .*: 3 of at least 8"):
        ring_down([0.0, 0.1, 0.2], [1.0, 0.0, -1.0], [0.0, 0.0, 0.0])
    with pytest.raises(ValueError, match="shapes differ"):
        ring_down([0.0, 0.1], [1.0], [0.0, 0.0])


def test_seven_samples_are_too_few_and_eight_are_looked_at() -> None:
    time_s = frames(3)[:9]
    time_s, right, down = (np.asarray(one)[:8] for one in seen(6.0, 0.02, time_s))
    with pytest.raises(UnclearSwingError, match=r"Too few .*: 7 of at least 8"):
        ring_down(time_s[:7], right[:7], down[:7])
    try:
        ring_down(time_s, right, down)
    except UnclearSwingError as unclear:
        assert "Too few" not in str(unclear)


@pytest.mark.parametrize(("frequency_hz", "damping_ratio"), [(6.0, 0.2), (50.0, 0.01)], ids=["damped", "quick"])
def test_what_no_support_does_is_taken_for_another_ones_alias(frequency_hz: float, damping_ratio: float) -> None:
    time_s = np.sort(np.random.default_rng(5).uniform(0, 3, 200))
    with pytest.raises(UnclearSwingError, match="fits best, another one as well"):
        ring_down(*seen(frequency_hz, damping_ratio, time_s))
    told = ring_down(*seen(frequency_hz * 0.6, damping_ratio * 0.5, time_s))
    assert told.frequency_hz == pytest.approx(frequency_hz * 0.6, rel=0.05)


def test_too_little_of_a_swing_tells_neither_frequency_nor_damping() -> None:
    time_s = np.sort(np.random.default_rng(6).uniform(0, 0.25, 40))  # a quarter of a second of 3 Hz
    with pytest.raises(UnclearSwingError, match=r"too little of the swing is seen|another one as well"):
        ring_down(*seen(3.0, 0.02, time_s))
