"""Live view that is lost, frozen, black, slow or of another size: said in words, and gone by itself when it is over.

Real libgphoto2, a simulated camera with its table, the controller in its thread; each test ends the mishap at the
camera and touches nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from session.live.decode import Stream
from session.live.instruments import LiveReading
from session.shoot.events import CameraLost
from tests.support.live_shoot import LiveShoot
from tests.support.mock_process import MockCamera

LIVE_PICTURE = "GetLiveViewImage"


@pytest.fixture(scope="module")
def shared_mock() -> Iterator[MockCamera]:
    with MockCamera() as mock:
        yield mock


@pytest.fixture
def mock(shared_mock: MockCamera) -> MockCamera:
    shared_mock.reset()
    return shared_mock


@pytest.fixture
def live(tmp_path: Path, mock: MockCamera) -> Iterator[LiveShoot]:
    with LiveShoot(tmp_path, mock.address) as live:
        yield live
        assert live.broken == []


def measures(reading: LiveReading) -> bool:
    return reading.focus is not None and reading.focus.contrast is not None


def test_black_pictures_are_told_and_measured_by_nothing(live: LiveShoot, mock: MockCamera) -> None:
    mock.fault("live_view_black", times=0)
    live.until_stream(Stream.BLACK)
    assert live.readings[-1].focus is None
    mock.hands("clear_faults")
    live.until_stream(Stream.GOOD)
    live.until_read(measures)


def test_frozen_pictures_are_told_and_say_nothing_about_stillness(live: LiveShoot, mock: MockCamera) -> None:
    mock.fault("live_view_frozen", times=0)
    live.until_stream(Stream.FROZEN)
    assert live.readings[-1].moves is None
    assert live.shoot.shoot_state.moves is None
    mock.hands("clear_faults")
    live.until_stream(Stream.GOOD)
    live.until_read(measures)


def test_one_picture_a_second_is_told_and_shows_focus_but_no_stillness(live: LiveShoot, mock: MockCamera) -> None:
    mock.fault("live_view_slow", times=0, seconds=1.0)
    live.until_stream(Stream.SLOW)
    slow = live.readings[-1]
    assert slow.stream is Stream.SLOW
    assert measures(slow)
    assert slow.moves is None
    mock.hands("clear_faults")
    live.until_stream(Stream.GOOD)
    live.until_read(lambda reading: reading.stream is Stream.GOOD and reading.moves is not None)


def test_another_size_is_told_and_measured_at_once_both_ways(live: LiveShoot, mock: MockCamera) -> None:
    mock.fault("live_view_resized", times=0, width=640, height=424)
    live.until_told("another size")
    live.until_read(lambda reading: measures(reading) and reading.picture is not None)
    assert live.readings[-1].picture.shape == (424, 640)
    mock.hands("clear_faults")
    live.until_told("another size")
    live.until_read(lambda reading: measures(reading) and reading.picture is not None)
    assert live.readings[-1].picture.shape == (680, 1024)


def test_live_view_that_the_camera_ends_is_told_and_begins_again(live: LiveShoot, mock: MockCamera) -> None:
    mock.fault("live_view_lost", starts_refused=12)
    live.until_stream(Stream.ENDED)
    live.until_stream(Stream.GOOD)
    live.until_read(measures)
    assert live.shoot.live.on


def test_stream_that_falls_silent_is_told_before_the_camera_is_given_up(live: LiveShoot, mock: MockCamera) -> None:
    mock.fault("stall", operation=LIVE_PICTURE)
    live.until_stream(Stream.LOST)
    assert live.shoot.shoot_state.moves is None
    live.until_read(measures)


def test_camera_that_is_cut_off_is_lost_and_live_view_goes_on_when_it_is_back(
    live: LiveShoot, mock: MockCamera
) -> None:
    mock.fault("cable_cut", when=LIVE_PICTURE, reconnect_after_s=1.0)
    live.until(lambda event: isinstance(event, CameraLost))
    live.until_read(measures)
    assert live.shoot.live.on
