"""Cameras on USB that the system, or another program, keeps from this one: real libgphoto2, libusb and kernel.

The bus is the test's own, see `own_usb`; skipped with the reason where the system gives a test none.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.support.own_usb import OwnUsb
from tests.support.stillset_program import StillsetHome


@pytest.fixture
def usb(tmp_path: Path) -> Iterator[OwnUsb]:
    with OwnUsb(tmp_path / "dev", 4, 5) as usb:
        yield usb


@contextmanager
def program_with(usb: OwnUsb, number: int) -> Iterator[None]:
    """Another program that has the camera's device file open."""
    line = f"exec 3<>/dev/bus/usb/001/{number:03d}; echo open; exec cat"
    command = [*usb.prefix, "sh", "-ec", line]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "open\n"
        yield
        other.communicate()


def test_each_camera_that_cannot_be_asked_is_listed_with_the_reason_and_its_remedy(tmp_path: Path, usb: OwnUsb) -> None:
    """Two of a model: one that the user may not open, one that another program has."""
    usb.node(4).chmod(0)
    home = StillsetHome(tmp_path, usb.prefix)
    with program_with(usb, 5):
        first, second = home.run("cameras").out.splitlines()
    assert first.startswith(
        "usb:001,004     (You may not use the camera at usb:001,004: /dev/bus/usb/001/004 isn't yours;"
    )
    assert "udev rules" in first
    assert second.startswith("usb:001,005     (The program cat has the camera at usb:001,005; close it")
    assert "gio mount -s gphoto2" in second
    assert "docs/cameras.md" in first
    assert "docs/cameras.md" in second


def test_a_shoot_says_why_its_camera_cannot_be_opened(tmp_path: Path, usb: OwnUsb) -> None:
    usb.node(4).chmod(0)
    home = StillsetHome(tmp_path, usb.prefix)
    ended = home.run("shoot", "--headless", "--frames", "1", "--camera", "usb:001,004")
    assert (ended.code, ended.sentence()[:42]) == (1, "You may not use the camera at usb:001,004:")
    assert home.frames() == []
