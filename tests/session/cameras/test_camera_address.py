"""Addresses of cameras, and that a camera belongs to one process at a time."""

from __future__ import annotations

import fcntl
import os
from pathlib import Path

import pytest

from session.cameras.camera_address import CameraAddress, Claim, parse_address
from session.cameras.result_codes import CameraError
from session.frame.camera_messages import Fault


@pytest.mark.parametrize(
    ("text", "canonical", "path"),
    [
        ("usb:001,002", "usb:001,002", "usb:001,002"),
        ("usb:1,12", "usb:001,012", "usb:001,012"),
        (" ptpip:192.168.1.20 ", "ptpip:192.168.1.20:15740", "ptpip:192.168.1.20:15740:15740"),
        ("ptpip:127.0.0.1:4001", "ptpip:127.0.0.1:4001", "ptpip:127.0.0.1:4001:4001"),
    ],
)
def test_an_address_has_one_form_and_the_port_goes_to_libgphoto2_twice(text: str, canonical: str, path: str) -> None:
    assert parse_address(text) == CameraAddress(canonical, path)
    assert parse_address(canonical) == parse_address(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is no camera address; write usb:BUS,DEVICE"),
        ("usb:", "is no camera address"),
        ("usb:1", "is no camera address"),
        ("usb:1,2,3", "is no camera address"),
        ("serial:/dev/tty", "is no camera address"),
        ("ptpip:", "is no IPv4 address"),
        ("ptpip:camera.local", "is no IPv4 address"),
        ("ptpip:1.2.3", "is no IPv4 address"),
        ("ptpip:::1", "is no IPv4 address"),
        ("ptpip:1.2.3.4:", "is no port"),
        ("ptpip:1.2.3.4:0", "is no port"),
        ("ptpip:1.2.3.4:65536", "is no port"),
        ("ptpip:1.2.3.4:99999999999999999999", "is no port"),
        ("ptpip:1.2.3.4:80:80", "is no port"),
    ],
)
def test_what_is_no_address_is_told_in_one_sentence(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words) as caught:
        parse_address(text)
    assert str(caught.value).endswith(".")


def test_a_camera_belongs_to_one_at_a_time_and_the_other_is_told_to_whom(tmp_path: Path) -> None:
    address = parse_address("ptpip:10.0.0.1:4001")
    claim = Claim(address, tmp_path / "claims")
    other = Claim(parse_address("ptpip:10.0.0.1:4002"), tmp_path / "claims")
    with pytest.raises(CameraError, match=rf"stillset \(process {os.getpid()}\)") as caught:
        Claim(address, tmp_path / "claims")
    assert caught.value.fault == Fault.IN_USE
    claim.release()
    Claim(address, tmp_path / "claims").release()
    other.release()


def test_a_folder_for_claims_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(CameraError, match="can't be written to"):
        Claim(parse_address("usb:1,2"), tmp_path / "file")


def test_camera_that_another_user_has_is_refused_with_their_name(tmp_path: Path) -> None:
    """Played by a file of another number in its name and its owner, locked by this process."""
    if os.geteuid() != 0:
        pytest.skip("only root may give a file to another user")
    address = parse_address("ptpip:10.0.0.1:4001")
    theirs = tmp_path / "stillset-ptpip-10-0-0-1-4001.65534.lock"
    theirs.write_text("4711\n")
    os.chown(theirs, 65534, 65534)
    with theirs.open() as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(CameraError) as refused:
            Claim(address, tmp_path)
        assert refused.value.fault is Fault.IN_USE
        assert "(process 4711 of user " in refused.value.text
    Claim(address, tmp_path).release()


def test_claim_follows_no_link_and_writes_to_nobodys_file(tmp_path: Path) -> None:
    address, target = parse_address("ptpip:10.0.0.1:4001"), tmp_path / "precious"
    target.write_text("precious")
    (tmp_path / f"stillset-ptpip-10-0-0-1-4001.{os.geteuid()}.lock").symlink_to(target)
    with pytest.raises(CameraError, match="it is a link"):
        Claim(address, tmp_path)
    assert target.read_text() == "precious"
