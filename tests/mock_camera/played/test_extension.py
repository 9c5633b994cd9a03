"""A played body without an extension: the standard's operations over the properties that its summary lists."""

import struct
from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.ptp.codes import ALL_STORES, ObjectFormat, Operation, Response
from tests.support.bare_responder import BareResponder

ISO, BATTERY = 0x500F, 0x5001


@pytest.fixture
def played(tmp_path: Path) -> Iterator[BareResponder]:
    desk = BareResponder(tmp_path, played="no_extension")
    desk.ask(Operation.OpenSession, 1)
    yield desk
    desk.close()


def test_the_summarys_values_are_the_bodys_settings(played: BareResponder) -> None:
    assert [played.body.setting(name) for name in ("f_number", "exposure_s", "iso")] == [11.0, 0.005, 100]


def test_a_property_is_read_and_set_in_the_standards_way(played: BareResponder) -> None:
    assert played.ask(Operation.GetDevicePropValue, ISO).data == struct.pack("<H", 100)
    assert played.ask(Operation.SetDevicePropValue, ISO, data=struct.pack("<H", 400)).code is Response.OK
    assert played.body.setting("iso") == 400
    assert played.ask(Operation.SetDevicePropValue, ISO, data=struct.pack("<H", 300)).code is (
        Response.InvalidDevicePropValue
    )
    assert played.ask(Operation.SetDevicePropValue, BATTERY, data=b"\x05").code is Response.AccessDenied
    assert played.ask(Operation.SetDevicePropValue, ISO, data=b"\1").code is Response.InvalidDevicePropFormat
    assert played.ask(Operation.GetDevicePropDesc, 0x5FFF).code is Response.DevicePropNotSupported


def test_a_release_makes_a_jpeg_on_the_card_unless_told_otherwise(played: BareResponder, tmp_path: Path) -> None:
    played.release()
    assert played.ask(Operation.GetNumObjects, ALL_STORES, ObjectFormat.EXIF_JPEG).parameters == (2,)
    both = BareResponder(tmp_path / "both", played="no_extension", makes="raw+jpeg")
    both.ask(Operation.OpenSession, 1)
    both.release()
    assert sorted(item.path.suffix for item in both.body.card if item.path.is_file()) == [".JPG", ".JPG", ".TIF"]
    both.close()


def test_a_busy_body_lets_nothing_go(played: BareResponder) -> None:
    played.body.faults.add("busy", operation="InitiateCapture")
    assert played.ask(Operation.InitiateCapture).code is Response.DeviceBusy
    assert played.release().code is Response.OK
