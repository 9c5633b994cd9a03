"""A release that comes late, and the silence of a camera: only time in which somebody listened counts."""

from __future__ import annotations

import signal
from pathlib import Path
from time import monotonic
from types import SimpleNamespace
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.cameras.camera_limits import CameraLimits
from session.cameras.card_list import CardList
from session.cameras.known_objects import KnownObjects
from session.cameras.libgphoto import Gphoto
from session.cameras.result_codes import CameraError
from session.cameras.saving import SystemDisk
from session.cameras.taking import LISTENED_AT_ONCE, Fetching, Silence, Taking
from session.frame.camera_messages import Fault, Fired, Release

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


def test_a_release_that_lay_while_the_camera_did_something_else_fires_nothing(tmp_path: Path) -> None:
    """Hands may be in the set again; the camera of this test has no `trigger` that could be called."""
    camera = cast(Gphoto, SimpleNamespace(limits=CameraLimits()))
    posted_at_s = monotonic() - 34.0
    wanted = Release("frame-1", str(tmp_path), "1", posted_at_s=posted_at_s)
    files = Fetching(camera, SystemDisk(), lambda message: None, wanted)
    taking = Taking(camera, KnownObjects(), cast(CardList, None), files, lambda message: None, wanted)
    with pytest.raises(CameraError, match=r"something else for \d+ s, and hands may be in the set") as refused:
        taking.run(1, 0.01)
    assert (refused.value.fault, refused.value.fired) == (Fault.BUSY, Fired.NO)


class BodyThatAnswersLate:
    """Looks, inside the call that releases, how long it may take."""

    allowed_s = 0.0

    def trigger_capture(self) -> None:
        self.allowed_s, _ = signal.getitimer(signal.ITIMER_REAL)


def test_the_call_that_releases_may_last_for_the_exposure_and_a_dark_frame_of_its_length() -> None:
    """With extension 0x0A libgphoto2 waits in it for up to 1000 s until the body is free (its library.c, 2.5.34)."""
    camera, body = Gphoto(CameraLimits(release_s=30.0)), BodyThatAnswersLate()
    camera._camera = body
    camera.trigger(60.0)
    assert 90.0 < body.allowed_s <= 150.0
