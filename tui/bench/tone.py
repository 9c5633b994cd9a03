"""The tone that rises with the focus number: pitch and samples, as numbers. Knows no sound device.

Double the contrast is an octave. A change of a few hundredths, the least that the meter speaks of, is a change of
pitch of as much, many times what an ear can tell (about half a hundredth; common knowledge of acoustics, from memory).
Past the best the tone is broken; where the meter can't judge, it is silent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.live.meter import FocusReading
from tui.words.live_words import steady_contrast

FIRST_HZ = 330.0
"""Of the first contrast heard: low enough for two octaves above it that don't hurt. Chosen."""

LOWEST_HZ, HIGHEST_HZ = 110.0, 2640.0
"""What small loudspeakers still give, and three octaves above the first. Chosen."""

LOUDNESS = 0.2
"""Share of full scale: loud enough beside the fans, and soon forgotten. Chosen."""

BREAKS_PER_S = 5.0
GLIDE_S = 0.02
"""Pitch and loudness change within this time, so that nothing clicks. Chosen."""


@dataclass(frozen=True)
class HeardTone:
    """The tone to be heard now; hz 0: silence."""

    hz: float = 0.0
    broken: bool = False


SILENCE = HeardTone()


class Pitch:
    """Turns readings of the meter into tones; the first one heard sets the scale."""

    def __init__(self) -> None:
        self._first: float | None = None

    def tone(self, focus: FocusReading | None) -> HeardTone:
        """The tone of a reading, silence where it could not be judged."""
        contrast = steady_contrast(focus) if focus is not None and focus.contrast is not None else None
        if focus is None or not contrast:
            return SILENCE
        self._first = self._first or contrast
        hz = min(max(FIRST_HZ * contrast / self._first, LOWEST_HZ), HIGHEST_HZ)
        return HeardTone(hz, focus.past_best)

    def forget(self) -> None:
        """A new search begins: the next reading sets the scale."""
        self._first = None


class Oscillator:
    """Samples of a tone that may change at any time, without a jump in phase or loudness."""

    def __init__(self, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        self._turns = 0.0
        self._hz, self._gain = 0.0, 0.0
        self._clock_s = 0.0

    def samples(self, count: int, tone: HeardTone) -> NDArray[np.float32]:
        """The next samples of a tone, (count,), −1 to 1."""
        if count <= 0:
            return np.zeros(0, np.float32)
        hz = tone.hz or self._hz
        begin_hz = self._hz or hz
        ramp = np.minimum(np.arange(1, count + 1) / max(1, round(GLIDE_S * self._rate_hz)), 1.0)
        times_s = self._clock_s + np.arange(1, count + 1) / self._rate_hz
        wanted = np.full(count, LOUDNESS if tone.hz else 0.0)
        if tone.broken:
            wanted *= 0.5 + 0.5 * np.tanh(6 * np.sin(2 * np.pi * BREAKS_PER_S * times_s))
        gain = self._gain + (wanted - self._gain) * ramp
        turns = self._turns + np.cumsum(begin_hz + (hz - begin_hz) * ramp) / self._rate_hz
        self._turns, self._clock_s = float(turns[-1]) % 1.0, float(times_s[-1])
        self._gain, self._hz = float(gain[-1]), float(begin_hz + (hz - begin_hz) * ramp[-1])
        made: NDArray[np.float32] = (gain * np.sin(2 * np.pi * turns)).astype(np.float32)
        return made
