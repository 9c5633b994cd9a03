"""A USB bus that only the test sees, with cameras on it as far as libusb looks before a camera is opened.

libusb reads what is plugged in from `/sys` (each device's own descriptors) and opens the device file in
`/dev/bus/usb`. Both are folders of the test's own here, see `own_mounts`, so that libgphoto2 and libusb are the
real ones, and whether a device file may be opened is for the kernel to say. Behind the file is no camera: what is
asked of it, the claim on its interface first, fails. The programs have no rights but those of the files' owner.
"""

from __future__ import annotations

import shutil
import struct
from pathlib import Path

import pytest

from tests.support.own_mounts import OwnMounts

STILL_IMAGE = (6, 1, 1)
"""Class, subclass and protocol of an interface that speaks PTP (USB Still Image Capture Device Definition 1.0)."""
NOBODYS = 0xFFFF
"""Vendor and product: libgphoto2 knows none of this number, and goes by the class."""
ENDPOINTS = ((0x81, 2, 512), (0x02, 2, 512), (0x83, 3, 8))
"""Address, kind (2 bulk, 3 interrupt) and largest packet in bytes: pictures in, commands out, events in."""
NODES = ("null", "zero", "full", "random", "urandom")
"""Device files that every program counts on."""


class OwnUsb(OwnMounts):
    """Bus 1 with a camera at each number; skips the test where the system allows no mounts of its own."""

    def __init__(self, folder: Path, *numbers: int) -> None:
        """folder   a new folder of the test's own, where `/dev` is put together"""
        folder.mkdir()
        if not shutil.which("setpriv"):
            pytest.skip("util-linux' setpriv is needed to go without root's rights")
        super().__init__(
            "mount -t tmpfs none /sys",
            f"mount -t tmpfs none {folder}",
            f"cd {folder}",
            *(f"touch {name}; mount --bind /dev/{name} {name}" for name in NODES),
            "ln -s /proc/self/fd fd",
            "mkdir shm",
            f"mount --rbind {folder} /dev",
        )
        self.prefix = (*self.prefix, "setpriv", "--bounding-set=-all")
        for number in numbers:
            self._plug_in(number)

    def node(self, number: int) -> Path:
        """The device file of the camera at this number, as it is reached from outside."""
        return self.outside(Path(f"/dev/bus/usb/001/{number:03d}"))

    def _plug_in(self, number: int) -> None:
        node, system = self.node(number), self.outside(Path("/sys"))
        node.parent.mkdir(parents=True, exist_ok=True)
        node.touch()
        device = system / f"devices/1-{number}"
        device.mkdir(parents=True)
        (device / "descriptors").write_bytes(_descriptors())
        name = f"DEVNAME=bus/usb/001/{number:03d}\nDEVTYPE=usb_device\n"
        facts = {"busnum": "1", "devnum": number, "speed": "480", "bConfigurationValue": "1", "uevent": name}
        for fact, value in facts.items():
            (device / fact).write_text(f"{value}\n", encoding="ascii")
        listed = system / "bus/usb/devices"
        listed.mkdir(parents=True, exist_ok=True)
        (listed / f"1-{number}").symlink_to(f"../../../devices/1-{number}")
        (device / "subsystem").symlink_to("../../bus/usb")


def _descriptors() -> bytes:
    """Device, configuration, interface and endpoints, as USB 2.0 chapter 9.6 has them."""
    device = struct.pack("<BBHBBBBHHHBBBB", 18, 1, 0x200, 0, 0, 0, 64, NOBODYS, NOBODYS, 0x100, 0, 0, 0, 1)
    interface = struct.pack("<BBBBBBBBB", 9, 4, 0, 0, len(ENDPOINTS), *STILL_IMAGE, 0)
    endpoints = b"".join(struct.pack("<BBBBHB", 7, 5, *endpoint, 8) for endpoint in ENDPOINTS)
    whole = 9 + len(interface) + len(endpoints)
    return device + struct.pack("<BBHBBBBB", 9, 2, whole, 1, 1, 0, 0xC0, 1) + interface + endpoints
