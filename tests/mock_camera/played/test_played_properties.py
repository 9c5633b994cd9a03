"""A played body's properties: what the host may write, what the body takes of it, and what the host is told of."""

from pathlib import Path

import pytest

from mock_camera.body.camera_body import CameraBody
from mock_camera.played.played_properties import Properties, fraction, parts_of, small_word
from mock_camera.ptp.codes import DataType, Response
from mock_camera.ptp.datasets import FORM_RANGE, Form
from mock_camera.ptp.summary import Listed
from tests.support.bare_body import bare_body

F_NUMBER, RANGED, FIXED = 0x5007, 0xD001, 0xD002


@pytest.fixture
def body(tmp_path: Path) -> CameraBody:
    return bare_body(tmp_path)


@pytest.fixture
def properties(body: CameraBody) -> Properties:
    listed = [
        small_word(F_NUMBER, DataType.UINT16, 560, (560, 800, 1100)),
        Listed(RANGED, DataType.UINT8, True, Form(FORM_RANGE, (10, 20, 1)), 15),
        Listed(FIXED, DataType.UINT8, False, Form(0), 3),
    ]
    return Properties(listed, body, {F_NUMBER: ("f_number", parts_of(100))})


@pytest.mark.parametrize(
    ("code", "value", "answer"),
    [
        (F_NUMBER, 800, Response.OK),
        (F_NUMBER, 900, Response.InvalidDevicePropValue),
        (RANGED, 20, Response.OK),
        (RANGED, 21, Response.InvalidDevicePropValue),
        (FIXED, 4, Response.AccessDenied),
        (0xD0FF, 1, Response.DevicePropNotSupported),
    ],
)
def test_the_host_writes_what_is_offered_and_writable(
    properties: Properties, code: int, value: int, answer: Response
) -> None:
    before = properties.value(code)
    assert properties.write(code, value) is answer
    assert properties.value(code) == (value if answer is Response.OK else before)


def test_a_setting_that_the_host_writes_is_the_bodys(properties: Properties, body: CameraBody) -> None:
    assert body.setting("f_number") == 5.6
    properties.write(F_NUMBER, 1100)
    assert body.setting("f_number") == 11.0


def test_a_number_that_is_no_quantity_leaves_the_bodys_setting(properties: Properties, body: CameraBody) -> None:
    properties.put(F_NUMBER, 0xFFFF)
    assert (properties.value(F_NUMBER), body.setting("f_number")) == (0xFFFF, 5.6)


def test_what_hands_change_is_told_once_and_what_the_host_writes_never(properties: Properties) -> None:
    properties.put(F_NUMBER, 800)
    properties.write(RANGED, 11)
    assert (properties.take_changed(), properties.take_changed()) == ([F_NUMBER], [])


def test_while_the_shutter_is_open_nothing_is_set(
    properties: Properties, body: CameraBody, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(body, "shutter_open", lambda: True)
    assert properties.write(F_NUMBER, 800) is Response.DeviceBusy


def test_numbers_stand_for_quantities_or_for_none() -> None:
    assert fraction((1 << 16) | 200) == 1 / 200 and fraction((10 << 16) | 4) == 2.5
    assert fraction(0xFFFFFFFF) is None and fraction(1 << 16) is None
    assert parts_of(10_000)(50) == 0.005 and parts_of(1)(0xFFFFFF) is None and parts_of(1)(-1) is None
