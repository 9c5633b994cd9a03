"""How far a station's clock is off: from the middle of the question, told in two units, and only when it matters."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from storage.archive.clocks import TOLD_FROM_S, ahead_s, sentence, size, words

NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)
LENGTHS = {"d": 86400, "h": 3600, "min": 60, "s": 1}


class Server:
    """A connection whose server has this time, and a clock of which each look takes so long."""

    def __init__(self, theirs: datetime, begins: datetime, takes_s: float) -> None:
        self.theirs, self.now_, self.takes_s = theirs, begins, takes_s

    def scalar(self, query: object) -> datetime:
        assert "clock_timestamp" in str(query)
        return self.theirs

    def monotonic_s(self) -> float:
        raise AssertionError("the time of day is compared")

    def now(self) -> datetime:
        before, self.now_ = self.now_, self.now_ + timedelta(seconds=self.takes_s)
        return before


@pytest.mark.parametrize(("ahead", "takes_s"), [(0.0, 0.0), (90.0, 0.5), (-7200.0, 3.0)])
def test_the_answer_counts_for_the_middle_between_asking_and_hearing(ahead: float, takes_s: float) -> None:
    theirs = NOON + timedelta(seconds=takes_s / 2)
    both = Server(theirs, NOON + timedelta(seconds=ahead), takes_s)
    assert ahead_s(both, both) == pytest.approx(ahead)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0 s"), (0.4, "0 s"), (4, "4 s"), (-4, "4 s"), (59.6, "1 min"), (728, "12 min 8 s"), (3600, "1 h"),
        (3660, "1 h 1 min"), (3601, "1 h"), (86400, "1 d"),
        (2 * 86400 + 3 * 3600 + 59, "2 d 3 h"), (1e9, "11574 d 1 h"),
    ],
)  # fmt: skip
def test_a_length_of_time_is_told_in_its_two_largest_units(seconds: float, text: str) -> None:
    assert size(seconds) == text


@settings(max_examples=60)
@given(st.floats(-1e9, 1e9))
def test_what_is_told_is_the_length_but_for_what_two_units_leave_out(seconds: float) -> None:
    parts = size(seconds).split()
    told = sum(int(count) * LENGTHS[unit] for count, unit in zip(parts[::2], parts[1::2], strict=True))
    assert len(parts) in (2, 4)
    assert 0 <= round(abs(seconds)) - told < LENGTHS[parts[1]] or told == round(abs(seconds))


@pytest.mark.parametrize("seconds", [0.0, 1.9, -1.9])
def test_a_clock_that_is_right_is_not_spoken_of(seconds: float) -> None:
    assert sentence(seconds) == words(seconds) == ""


def test_a_clock_that_is_off_says_which_way() -> None:
    assert sentence(TOLD_FROM_S).startswith("This station's clock is 2 s ahead of the archive's: set it right.")
    assert "5 min behind the archive's" in sentence(-300)
    assert (words(172_800), words(-300), words(None)) == (", its clock 2 d ahead", ", its clock 5 min behind", "")
