"""Which camera it is: by its serial number, else by its model, else by its address, for the whole run."""

from __future__ import annotations

import socket
from contextlib import suppress
from multiprocessing import Pipe
from pathlib import Path

import pytest

from session.cameras.camera_address import parse_address
from session.cameras.camera_limits import Start
from session.cameras.camera_process import CameraProcess, identity, namesakes_of
from session.cameras.saving import SystemDisk
from session.frame.camera_messages import Fault
from tests.support.camera_user import CameraUser


@pytest.mark.parametrize(
    ("serial", "model", "address", "known_by"),
    [
        ("4711", "Body", "usb:001,004", "4711"),
        ("00000000", "Body", "usb:001,004", "Body"),
        ("", "Body", "usb:003,009", "Body"),
        ("", "", "usb:003,009", "usb:003,009"),
        ("0", "Body", "ptpip:10.0.0.9:15740", "ptpip:10.0.0.9:15740"),
    ],
)
def test_a_camera_without_a_serial_number_is_known_by_its_model_whatever_bus_it_is_on(
    serial: str, model: str, address: str, known_by: str
) -> None:
    assert identity(serial, model, parse_address(address)) == known_by


TWINS = (("Body", "usb:001,004"), ("Other", "usb:001,005"), ("Body", "usb:003,009"))


@pytest.mark.parametrize(
    ("serial", "address", "known_as", "known_by"),
    [
        ("", "usb:001,004", "", "Body usb:001,004"),
        ("0000", "usb:003,009", "", "Body usb:003,009"),
        ("", "usb:001,005", "", "Body"),  # of another name to libgphoto2
        ("4711", "usb:001,004", "", "4711"),
        ("", "usb:001,004", "Body", "Body"),  # the other one was plugged in during the run
        ("", "usb:001,005", "Body usb:001,005", "Body usb:001,005"),  # the other one was taken away
        ("", "usb:001,004", "4711", "Body usb:001,004"),
    ],
)
def test_of_two_cameras_of_a_model_without_serial_numbers_each_is_known_by_its_address_for_the_run(
    serial: str, address: str, known_as: str, known_by: str
) -> None:
    place = parse_address(address)
    assert identity(serial, "Body", place, namesakes_of(place, TWINS), known_as) == known_by


def test_the_end_of_what_is_read_in_one_go_is_told_once_after_the_last_folder(tmp_path: Path) -> None:
    """Between two folders no request is looked at: a release that was posted then would wait in the pipe."""
    ours, theirs = Pipe()
    process = CameraProcess(theirs, Start(str(tmp_path)), SystemDisk())
    for folder in range(2):
        process._say_folder_begun(folder, 2)
        process._say_folder_read(1, 900, 45.0)
        process._say_folder_read(900, 900, 0.0)
    process._end_reading()
    process._end_reading()
    theirs.close()
    told = []
    with suppress(EOFError):
        while True:
            told.append(ours.recv().left_s)
    assert told == [None, 45.0, None, 45.0, 0.0]


def test_what_the_library_prints_of_a_failed_connection_stands_beside_a_sentence_of_ours(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound and not listening: whoever connects is refused
        address = f"ptpip:127.0.0.1:{taken.getsockname()[1]}"
        with CameraUser(tmp_path) as user:
            failed = user.fail_to_connect(address)
    assert failed.fault is Fault.NOT_FOUND
    printed = (tmp_path / "errors.txt").read_text()
    assert f"Nothing was connected at {address}; lines before this are libgphoto2's own." in printed
