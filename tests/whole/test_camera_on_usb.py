"""The camera's process with libgphoto2's own virtual USB camera, which nobody here has written.

It serves the JPEGs of a folder (environment variable VCAMERADIR) and knows neither live view nor a focus motor.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from session.cameras.usb_search import find_cameras
from session.frame import camera_messages as say
from session.frame.camera_messages import Fault
from tests.support.camera_user import CameraUser
from tests.support.virtual_camera import put_pictures_in


@pytest.fixture
def served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    return put_pictures_in(tmp_path / "virtual", monkeypatch)


@pytest.fixture
def user(served: set[str], tmp_path: Path) -> Iterator[CameraUser]:
    with CameraUser(tmp_path) as user:
        yield user


def test_the_only_camera_is_found_without_an_address(user: CameraUser) -> None:
    connected = user.connect()
    assert connected.description.address == "usb:001,001"
    assert connected.reading.value("f_number") == 2.8
    assert connected.free_bytes
    assert connected.free_bytes > 1 << 20


def test_twenty_frames_are_byte_for_byte_what_the_camera_serves(user: CameraUser, served: set[str]) -> None:
    user.connect("usb:001,001")
    files = [file for _ in range(20) for file in user.take()]
    assert len({file.path for file in files}) == len(files) == 20
    for file in files:
        assert hashlib.sha256(Path(file.path).read_bytes()).hexdigest() == file.sha256
        assert file.sha256 in served
        assert file.kind == "jpeg"


def test_settings_are_set_and_read_back_and_what_it_lacks_is_refused(user: CameraUser) -> None:
    user.connect("usb:1,1")
    told = user.apply(f_number=11.0, exposure_s=1 / 200, iso=100)
    assert told.refused == {"iso": "This camera lets ISO be neither read nor set from here."}
    assert (told.reading.value("f_number"), told.reading.value("exposure_s")) == (11.0, 0.005)
    assert told.reading.value("battery_percent") == 50


def test_it_has_no_live_view_and_no_focus_drive_which_is_no_failure_of_the_camera(user: CameraUser) -> None:
    assert not user.connect().description.focus_drive
    user.camera.post(say.LiveView(True))
    failed = user.until(say.Failed)
    assert (failed.fault, failed.text) == (Fault.NOT_OFFERED, "This camera offers no live view.")
    assert failed.connected
    user.camera.post(say.DriveFocus(5))
    assert user.until(say.Failed).fault == Fault.NOT_OFFERED
    assert len(user.take()) == 1


def test_the_pictures_that_were_on_its_card_are_listed(user: CameraUser) -> None:
    there = user.connect().card
    assert there is not None
    assert {obj.name for obj in there} == {"picture0.jpg", "picture1.jpg", "picture2.jpg"}
    (file,) = user.take()
    user.camera.post(say.ListCard())
    assert set(user.until(say.CardListed).objects) == {*there, file.card}


def test_an_address_where_nothing_is_is_told_so(user: CameraUser) -> None:
    failed = user.fail_to_connect("usb:009,009")
    assert (failed.fault, failed.connected) == (Fault.NOT_FOUND, False)
    assert failed.text == "No camera answers at usb:009,009."
    user.connect()


def test_a_camera_plugged_in_anew_is_found_by_its_serial_number_at_another_address(user: CameraUser) -> None:
    serial = user.connect("usb:001,001").description.serial
    user.camera.post(say.Connect("usb:001,007", serial))
    assert user.until(say.Connected).description.address == "usb:001,001"
    user.camera.post(say.Connect("usb:003,002", serial))
    assert user.until(say.Connected).description.address == "usb:001,001", "another bus"
    user.camera.post(say.Connect("usb:001,007", "another"))
    assert user.until(say.Failed).text == "No camera answers at usb:001,007."


def test_a_search_leaves_alone_a_camera_that_is_in_use(user: CameraUser, tmp_path: Path) -> None:
    user.connect()
    (found,) = find_cameras(folder=tmp_path / "home")
    assert found.address == "usb:001,001"
    assert "in use by another stillset" in found.model


def test_a_camera_belongs_to_one_program_at_a_time(user: CameraUser, tmp_path: Path) -> None:
    user.connect()
    with CameraUser(tmp_path) as other:
        failed = other.fail_to_connect()
        assert failed.fault == Fault.IN_USE
        assert f"in use by another stillset (process {user.camera.process_id})" in failed.text
        user.camera.close()
        other.connect()
