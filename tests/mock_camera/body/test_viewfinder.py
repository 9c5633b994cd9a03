"""Live view of the body: pictures, mishaps on request, and the motor that turns only while it is on."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.body.camera_body import CameraBody
from mock_camera.body.viewfinder import LIVE_SIZE_PX, Viewfinder
from mock_camera.ptp.codes import Response
from tests.support.bare_body import bare_body
from tests.support.tiny_table import END_STOP_STEPS, TinyTable


@pytest.fixture
def body(tmp_path: Path) -> CameraBody:
    return bare_body(tmp_path)


@pytest.fixture
def finder(body: CameraBody) -> Iterator[Viewfinder]:
    viewfinder = Viewfinder(body)
    yield viewfinder
    viewfinder.close()


def table_of(body: CameraBody) -> TinyTable:
    assert isinstance(body.source, TinyTable)
    return body.source


def picture(finder: Viewfinder) -> bytes:
    """The next picture, however busy the machine is."""
    for _ in range(1000):
        code, jpeg = finder.frame()
        if code is not Response.DeviceBusy:
            assert code is Response.OK
            return jpeg
    raise AssertionError("no picture came")


def test_without_live_view_there_is_no_picture_and_no_motor(finder: Viewfinder) -> None:
    assert finder.frame() == (Response.NotLiveView, b"")
    assert finder.drive_focus(10) is Response.NotLiveView


def test_pictures_come_while_it_is_on_and_each_is_new(finder: Viewfinder) -> None:
    assert finder.switch(True) is Response.OK
    first, second = picture(finder), picture(finder)
    assert first.startswith(b"\xff\xd8") and first != second
    finder.switch(False)
    assert finder.frame()[0] is Response.NotLiveView


def test_a_battery_that_is_nearly_empty_starts_no_live_view(body: CameraBody, finder: Viewfinder) -> None:
    body.set_battery(3.0)
    assert finder.switch(True) is Response.GeneralError and not body.live_view


@pytest.mark.parametrize("steps", [1, -1, 137, END_STOP_STEPS])
def test_the_motor_turns_by_signed_steps(body: CameraBody, finder: Viewfinder, steps: int) -> None:
    finder.switch(True)
    assert finder.drive_focus(steps) is Response.OK and finder.ready() is Response.OK
    assert table_of(body).focus_steps == steps


def test_an_end_stop_is_told_once_when_the_motor_has_come_to_rest(finder: Viewfinder) -> None:
    finder.switch(True)
    assert finder.drive_focus(END_STOP_STEPS + 1) is Response.OK
    assert finder.ready() is Response.FocusDriveEnd
    assert finder.ready() is Response.OK


def test_while_the_shutter_is_open_everything_waits(body: CameraBody, finder: Viewfinder) -> None:
    finder.switch(True)
    body.shutter_open = lambda: True
    assert finder.frame() == (Response.DeviceBusy, b"")
    assert finder.drive_focus(1) is Response.DeviceBusy and finder.ready() is Response.DeviceBusy


@pytest.mark.parametrize(
    ("x", "y", "answer"),
    [
        (0, 0, Response.OK),
        (LIVE_SIZE_PX[0] - 1, LIVE_SIZE_PX[1] - 1, Response.OK),
        (LIVE_SIZE_PX[0], 0, Response.InvalidParameter),
        (0, LIVE_SIZE_PX[1], Response.InvalidParameter),
        (-1, 5, Response.InvalidParameter),
    ],
)
def test_it_is_enlarged_about_a_place_in_the_picture_only(finder: Viewfinder, x: int, y: int, answer: Response) -> None:
    assert finder.centre_on(x, y) is answer


def test_where_the_host_points_is_what_the_table_is_asked_for(body: CameraBody, finder: Viewfinder) -> None:
    finder.switch(True)
    body.adopt("live_view_zoom", 4.0)
    finder.centre_on(256, 170)
    picture(finder)
    assert table_of(body).live_asked[-1] == (4.0, (0.25, 0.25))


# --- mishaps --------------------------------------------------------------------------------------------


def test_a_frozen_picture_is_the_last_one_again(body: CameraBody, finder: Viewfinder) -> None:
    finder.switch(True)
    first = picture(finder)
    body.faults.add("live_view_frozen", times=2)
    assert [picture(finder), picture(finder)] == [first, first]
    assert picture(finder) != first


def test_a_black_picture_comes_once(body: CameraBody, finder: Viewfinder) -> None:
    finder.switch(True)
    body.faults.add("live_view_black")
    black = picture(finder)
    assert table_of(body).live_asked == [] and picture(finder) != black


def test_live_view_that_is_lost_is_refused_as_often_as_told_and_starts_again(
    body: CameraBody, finder: Viewfinder
) -> None:
    finder.switch(True)
    body.faults.add("live_view_lost", starts_refused=2)
    assert finder.frame() == (Response.NotLiveView, b"") and not body.live_view
    assert [finder.switch(True) for _ in range(3)] == [Response.GeneralError, Response.GeneralError, Response.OK]


def test_a_slow_picture_is_busy_until_its_time_is_over_by_the_cameras_clock(
    body: CameraBody, finder: Viewfinder
) -> None:
    finder.switch(True)
    body.faults.add("live_view_slow", seconds=2.0)
    assert finder.frame()[0] is Response.DeviceBusy
    body.clock.advance(1.9)
    assert finder.frame()[0] is Response.DeviceBusy
    body.clock.advance(0.2)
    assert picture(finder)
