"""Why a camera on USB can't be opened, read from device files and programs as Linux shows them."""

from __future__ import annotations

from pathlib import Path

from session.cameras.camera_address import parse_address
from session.cameras.usb_access import why_not_opened
from tests.support.lesser_user import folder_of_lesser_user, lesser_user

CAMERA = parse_address("usb:001,004")


def device_in(folder: Path, mode: int = 0o666) -> Path:
    device = folder / "usb" / "001" / "004"
    device.parent.mkdir(parents=True)
    device.touch()
    device.chmod(mode)
    return device


def test_a_device_of_somebody_else_names_the_rules_that_give_it() -> None:
    with folder_of_lesser_user() as folder, lesser_user():
        device = device_in(folder, 0o000)
        said = why_not_opened(CAMERA, folder / "usb", folder / "proc")
    assert said.startswith(f"You may not use the camera at usb:001,004: {device} isn't yours")
    assert "udev rules" in said
    assert "docs/cameras.md" in said


def test_another_program_that_has_it_is_named_with_what_lets_go(tmp_path: Path) -> None:
    device = device_in(tmp_path)
    descriptors = tmp_path / "proc" / "4711" / "fd"
    descriptors.mkdir(parents=True)
    (descriptors / "7").symlink_to(device)
    (descriptors.parent / "comm").write_text("volume-monitor\n", encoding="utf-8")
    said = why_not_opened(CAMERA, tmp_path / "usb", tmp_path / "proc")
    assert said.startswith("The program volume-monitor has the camera at usb:001,004; close it")
    assert "gio mount -s gphoto2" in said


def test_nothing_is_said_of_a_camera_that_may_be_opened_or_is_not_on_usb(tmp_path: Path) -> None:
    device_in(tmp_path)
    assert why_not_opened(CAMERA, tmp_path / "usb", tmp_path / "proc") == ""
    assert why_not_opened(parse_address("usb:002,009"), tmp_path / "usb") == ""
    assert why_not_opened(parse_address("ptpip:192.0.2.7")) == ""
