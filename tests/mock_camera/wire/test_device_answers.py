"""Answers about the camera itself: its settings, live view and motor, and its release."""

import struct
from pathlib import Path

from mock_camera.body.camera_body import BodyOptions
from mock_camera.ptp.codes import (
    ALL_STORES,
    DevicePropCode,
    ObjectFormat,
    Operation,
    Response,
)
from tests.support.bare_responder import BareResponder


def test_a_session_needs_a_number(tmp_path: Path) -> None:
    desk = BareResponder(tmp_path, BodyOptions())
    assert desk.ask(Operation.OpenSession, 0).code is Response.InvalidParameter
    assert desk.ask(Operation.OpenSession).code is Response.InvalidParameter
    desk.close()


def test_a_property_is_described_read_and_set(desk: BareResponder) -> None:
    described = desk.ask(Operation.GetDevicePropDesc, DevicePropCode.FNumber).data
    assert described is not None and struct.unpack_from("<HHBHH", described) == (0x5007, 4, 1, 1100, 1100)
    assert (
        desk.ask(Operation.SetDevicePropValue, DevicePropCode.FNumber, data=struct.pack("<H", 800)).code is Response.OK
    )
    assert desk.ask(Operation.GetDevicePropValue, DevicePropCode.FNumber).data == struct.pack("<H", 800)


def test_live_view_and_the_motor_are_switched_and_turned(desk: BareResponder) -> None:
    assert desk.ask(Operation.StartLiveView).code is Response.OK
    assert desk.ask(Operation.DriveManualFocus, 2, 30).code is Response.OK
    assert desk.ask(Operation.DriveManualFocus, 1, 10).code is Response.OK
    assert desk.body.source.state() == {"focus_steps": 20}
    assert desk.ask(Operation.DeviceReady).code is Response.OK
    assert desk.ask(Operation.ChangeFocusArea, 10, 10).code is Response.OK
    assert desk.ask(Operation.EndLiveView).code is Response.OK and not desk.body.live_view


def test_a_release_is_asked_for_and_its_card_counts_on(desk: BareResponder) -> None:
    assert desk.release().code is Response.OK
    assert desk.ask(Operation.GetNumObjects, ALL_STORES, ObjectFormat.EXIF_JPEG).parameters == (2,)
