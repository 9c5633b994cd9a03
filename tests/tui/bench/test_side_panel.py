"""The panel beside the picture: the trend of the contrast, and how still the picture is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.bench.side_panel import STEPS, trend_line
from tui.words.live_words import contrast_text


def test_the_best_stands_at_the_top_of_the_trend_also_when_it_was_longer_ago() -> None:
    away = [(i / 15, 0.75 * 5.0) for i in range(450)]
    assert set(trend_line(away, 30)) == {STEPS[-1]}
    assert set(trend_line(away, 30, best_contrast=5.0)) == {STEPS[0]}
    assert set(trend_line(away, 30, best_contrast=0.9 * 5.0 * 0.75)) == {STEPS[-1]}


@given(st.lists(st.tuples(st.floats(0, 1e6), st.floats(0.01, 1000)), max_size=40), st.integers(0, 60))
def test_a_trend_line_never_takes_more_room_than_there_is(trend: list[tuple[float, float]], width: int) -> None:
    assert len(trend_line(sorted(trend), width)) <= width


@pytest.mark.parametrize(("contrast", "text"), [(None, ""), (0.456, "0.46"), (4.506, "4.51"), (12.34, "12.3")])
def test_contrast_has_the_digits_that_stand_still(contrast: float | None, text: str) -> None:
    assert contrast_text(contrast) == text
