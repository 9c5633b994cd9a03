"""The tone that rises with the focus: its pitch by zero crossings, no clicks, and the player as a real process."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.live.meter import FocusReading, Trend
from tui.bench.tone import FIRST_HZ, HIGHEST_HZ, LOUDNESS, LOWEST_HZ, SILENCE, HeardTone, Oscillator, Pitch

RATE_HZ = 48_000
READING = FocusReading(4.0, 4.0, 0.0, 1.0, Trend.RISING, False)


def seen(contrast: float, **changes: object) -> FocusReading:
    return replace(READING, contrast=contrast, best_contrast=contrast, **changes)  # type: ignore[arg-type]


# --- pitch ------------------------------------------------------------------------------------------


def test_double_the_contrast_is_an_octave_and_the_first_reading_sets_the_scale() -> None:
    pitch = Pitch()
    assert [pitch.tone(seen(contrast)).hz for contrast in (3.0, 6.0, 12.0)] == pytest.approx(
        [FIRST_HZ, 2 * FIRST_HZ, 4 * FIRST_HZ]
    )
    pitch.forget()
    assert pitch.tone(seen(12.0)).hz == pytest.approx(FIRST_HZ)


def test_the_tone_rises_with_every_step_towards_focus() -> None:
    pitch = Pitch()
    tones = [pitch.tone(seen(contrast)).hz for contrast in np.linspace(3, 9, 30)]
    assert tones == sorted(tones) and len(set(tones)) == 30


def test_where_nothing_can_be_judged_there_is_silence_and_past_the_best_the_tone_is_broken() -> None:
    pitch = Pitch()
    assert pitch.tone(None) == pitch.tone(replace(READING, contrast=None, share_of_best=None)) == SILENCE
    assert pitch.tone(seen(4.0, past_best=True)).broken


@given(st.floats(0.01, 1000), st.floats(0.01, 1000))
def test_no_tone_is_lower_or_higher_than_a_small_loudspeaker_gives(first: float, then: float) -> None:
    pitch = Pitch()
    assert all(LOWEST_HZ <= pitch.tone(seen(contrast)).hz <= HIGHEST_HZ for contrast in (first, then))


# --- samples ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("hz", [110.0, 440.0, 1975.5])
def test_a_steady_tone_has_its_pitch_and_loudness(hz: float) -> None:
    oscillator = Oscillator(RATE_HZ)
    oscillator.samples(RATE_HZ // 10, HeardTone(hz))
    steady = oscillator.samples(RATE_HZ, HeardTone(hz))
    rises = int(((steady[:-1] < 0) & (steady[1:] >= 0)).sum())  # one a period
    assert rises == pytest.approx(hz, abs=1.5)
    assert float(np.abs(steady).max()) == pytest.approx(LOUDNESS, rel=0.02)


@given(
    st.lists(st.tuples(st.integers(1, 3000), st.sampled_from([0.0, 110.0, 660.0, 2640.0]), st.booleans()), max_size=9)
)
def test_however_it_changes_nothing_clicks(parts: list[tuple[int, float, bool]]) -> None:
    """Two neighbouring samples differ by no more than the steepest sine there is, and the little that loudness adds."""
    oscillator = Oscillator(RATE_HZ)
    made = [oscillator.samples(count, HeardTone(hz, broken and hz > 0)) for count, hz, broken in parts]
    wave = np.concatenate([np.zeros(1, np.float32), *made])
    steepest = LOUDNESS * 2 * np.pi * HIGHEST_HZ / RATE_HZ
    assert float(np.abs(np.diff(wave)).max(initial=0.0)) <= 1.05 * steepest
    assert float(np.abs(wave).max()) <= LOUDNESS + 1e-6


def test_a_broken_tone_has_pauses_and_a_whole_one_has_none() -> None:
    def quiet_parts(broken: bool) -> int:
        wave = Oscillator(RATE_HZ).samples(RATE_HZ, HeardTone(660.0, broken))[RATE_HZ // 20 :]
        loud = np.abs(wave[: len(wave) // 480 * 480]).reshape(-1, 480).max(axis=1) > LOUDNESS / 10
        return int((np.diff(loud.astype(int)) == -1).sum())

    assert quiet_parts(broken=False) == 0
    assert 4 <= quiet_parts(broken=True) <= 6


def test_silence_is_silent() -> None:
    assert not Oscillator(RATE_HZ).samples(4800, SILENCE).any()


# --- the player -------------------------------------------------------------------------------------
