"""Camera time: a stepped clock moves only when it is told, a running one as fast as it is asked to."""

import threading
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.body.clock import RunningClock, SteppedClock

START = datetime(2026, 5, 4, 11, 0, tzinfo=UTC)


def test_a_stepped_clock_stands_still_while_the_body_works() -> None:
    clock = SteppedClock(START, 2.5)
    clock.wait(60.0)
    assert (clock.now_s(), clock.date_time()) == (0.0, START)


@settings(max_examples=30)
@given(st.lists(st.one_of(st.just("release"), st.floats(0, 100)), max_size=8), st.floats(0, 10))
def test_a_stepped_clock_adds_up_its_releases_and_what_it_was_told(acts: list[str | float], step_s: float) -> None:
    clock, expected_s = SteppedClock(START, step_s), 0.0
    for act in acts:
        if isinstance(act, str):
            clock.note_release()
            expected_s += step_s
        else:
            clock.advance(act)
            expected_s += act
    assert clock.now_s() == pytest.approx(expected_s)
    assert (clock.date_time() - START).total_seconds() == pytest.approx(expected_s, abs=1e-5)


def test_a_stepped_clock_never_goes_back_but_its_dial_may() -> None:
    clock = SteppedClock(START, 1.0)
    clock.advance(10.0)
    clock.advance(-5.0)
    assert clock.now_s() == 10.0
    clock.set_date_time(START - timedelta(days=1))
    assert (clock.now_s(), clock.date_time()) == (10.0, START - timedelta(days=1))
    clock.advance(1.0)
    assert clock.date_time() == START - timedelta(days=1) + timedelta(seconds=1)


def test_a_running_clocks_dial_moves_the_date_and_not_the_time_since_the_start() -> None:
    clock = RunningClock(START, 1.0, threading.Event())
    before_s = clock.now_s()
    clock.set_date_time(START + timedelta(hours=3))
    assert clock.date_time() - START >= timedelta(hours=3)
    assert clock.now_s() >= before_s and clock.now_s() < 3600
    clock.note_release()  # which costs a running clock nothing


def test_a_stopped_running_clock_waits_for_nothing() -> None:
    stop = threading.Event()
    stop.set()
    clock = RunningClock(START, 1.0, stop)
    clock.wait(1e6)
    clock.advance(1e6)
    assert clock.now_s() < 1e5
