"""Silence of a camera: only time in which somebody listened counts."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from session.cameras.camera_limits import CameraLimits
from session.cameras.taking import LISTENED_AT_ONCE, Silence

PATIENCE_S = CameraLimits().after_complete_s
AT_ONCE_S = LISTENED_AT_ONCE * PATIENCE_S


def silence(*looks_s: float) -> Silence:
    told = Silence(AT_ONCE_S)
    for look_s in looks_s:
        told.add(look_s)
    return told


@given(st.lists(st.floats(0, AT_ONCE_S), max_size=50))
def test_short_looks_count_in_full(looks_s: list[float]) -> None:
    assert silence(*looks_s).so_far_s == sum(looks_s)


@given(st.floats(0, 1e6))
def test_an_hour_of_sleep_between_two_looks_is_no_silence_of_the_camera(asleep_s: float) -> None:
    assert silence(0.05, asleep_s, 0.05).so_far_s < PATIENCE_S


def test_four_looks_at_the_least_are_needed_before_a_camera_that_is_done_is_believed() -> None:
    looks_s = [3600.0] * 4
    assert silence(*looks_s[:3]).so_far_s < PATIENCE_S <= silence(*looks_s).so_far_s


def test_a_slow_body_whose_looks_take_half_a_second_is_given_up_when_its_time_is_over() -> None:
    assert silence(*[0.5] * 5).so_far_s == 2.5 > PATIENCE_S


def test_a_sign_breaks_silence_off_but_not_the_wait_for_a_dark_frame() -> None:
    told = silence(0.2, 0.2)
    told.break_off()
    assert told.so_far_s == 0.0
    told.begin_after(4.0)
    told.add(0.5)
    told.break_off()
    assert told.so_far_s == -3.5
