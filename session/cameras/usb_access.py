"""The reason why a camera on USB can't be opened: another user's device, or another program with the device open.

libgphoto2 gives one code for both, and for a pulled cable. Linux shows the device as a file, and whose programs have
it open; elsewhere, and of other users' programs, nothing is said.
"""

from __future__ import annotations

import os
from pathlib import Path

from session.cameras.camera_address import USB, CameraAddress

DEVICES, PROCESSES = Path("/dev/bus/usb"), Path("/proc")
PAGE = "see docs/cameras.md"


def why_not_opened(address: CameraAddress, devices: Path = DEVICES, processes: Path = PROCESSES) -> str:
    """A sentence with reason and remedy, "" when neither is known.

    devices, processes   where the system shows its USB devices and its programs
    """
    match = USB.fullmatch(address.text)
    if match is None:
        return ""
    device = devices / match[1] / match[2]
    if not device.exists():
        return ""
    if not os.access(device, os.R_OK | os.W_OK, effective_ids=True):
        right = "install libgphoto2's udev rules and plug the camera in anew"
        return f"You may not use the camera at {address.text}: {device} isn't yours; {right} ({PAGE})."
    program = _program_with(device, processes)
    if program:
        remedy = "close it, or have the desktop let go of the camera by `gio mount -s gphoto2`"
        return f"The program {program} has the camera at {address.text}; {remedy} ({PAGE})."
    return ""


def _program_with(device: Path, processes: Path) -> str:
    """Name of another program of this user with the device open; "" when none is seen."""
    for process in processes.glob("[0-9]*"):
        if process.name == str(os.getpid()):
            continue
        try:
            if any(one.readlink() == device for one in (process / "fd").iterdir()):
                return (process / "comm").read_text(encoding="utf-8", errors="replace").strip()
        except OSError:  # another user's, or it has ended meanwhile
            continue
    return ""
