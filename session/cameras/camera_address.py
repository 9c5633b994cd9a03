"""Where a camera is: `usb:BUS,DEVICE` on the cable, `ptpip:ADDRESS[:PORT]` on the network."""

from __future__ import annotations

import fcntl
import os
import pwd
import re
import stat
from dataclasses import dataclass
from ipaddress import AddressValueError, IPv4Address
from pathlib import Path

from session.cameras.result_codes import CameraError
from session.frame.camera_messages import Fault
from session.system.own_files import open_own
from session.units.refusals import UnreadableTextError

PTPIP_PORT = 15740
"""Registered for PTP/IP (CIPA DC-005)."""

USB = re.compile(r"usb:(\d{1,3}),(\d{1,3})")
FORMS = "usb:BUS,DEVICE (usb:001,002) or ptpip:ADDRESS[:PORT] (ptpip:192.168.1.20)"


@dataclass(frozen=True)
class CameraAddress:
    """A camera's address.

    text   canonical form, as shown and logged
    path   what libgphoto2 calls it
    """

    text: str
    path: str

    @property
    def on_network(self) -> bool:
        return self.text.startswith("ptpip:")


def parse_address(text: str) -> CameraAddress:
    """Raises ValueError with one sentence when it isn't an address of either form."""
    usb = USB.fullmatch(text.strip())
    if usb:
        canonical = f"usb:{int(usb[1]):03d},{int(usb[2]):03d}"
        return CameraAddress(canonical, canonical)
    kind, _, rest = text.strip().partition(":")
    host, colon, port = rest.partition(":")
    if kind != "ptpip":
        raise UnreadableTextError(f"{text!r} is no camera address; write {FORMS}.")
    try:
        host = str(IPv4Address(host))  # libgphoto2 takes neither names nor IPv6
    except AddressValueError:
        raise UnreadableTextError(f"{host!r} in {text!r} is no IPv4 address such as 192.168.1.20.") from None
    number = int(port) if port.isdecimal() and len(port) <= 5 else PTPIP_PORT if not colon else 0
    if not 0 < number < 65536:
        raise UnreadableTextError(f"{port!r} in {text!r} is no port between 1 and 65535.")
    # the port twice: given once, libgphoto2 looks for events on 15740
    return CameraAddress(f"ptpip:{host}:{number}", f"ptpip:{host}:{number}:{number}")


class Claim:
    """The right to use the camera at an address, held by at most one process; ends with the process at the latest.

    Each user locks a file of their own, in a folder that all users see, and looks whether another's is locked: nobody
    ever writes to a file that somebody else made.
    """

    def __init__(self, address: CameraAddress, folder: Path) -> None:
        """Raises CameraError(IN_USE) when another process holds it, CameraError(DISK) when there's no telling."""
        name = "stillset-" + re.sub(r"\W", "-", address.text)
        path = folder / f"{name}.{os.geteuid()}.lock"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._descriptor = open_own(path, os.O_RDWR | os.O_CREAT)
        except OSError as error:
            raise CameraError(Fault.DISK, f"{path} can't be written to: {error.strerror}.") from error
        try:
            fcntl.flock(self._descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            os.fchmod(self._descriptor, 0o644)  # whatever the umask: other users must see that it is locked
            os.ftruncate(self._descriptor, 0)
            os.pwrite(self._descriptor, f"{os.getpid()}\n".encode(), 0)
            holders = [_holder(other) for other in sorted(folder.glob(f"{name}.*.lock")) if other != path]
        except BlockingIOError:
            holders = [f"process {_first_line(self._descriptor)}"]
        holder = next(filter(None, holders), "")
        if holder:
            os.close(self._descriptor)
            text = f"The camera at {address.text} is in use by another stillset ({holder})."
            raise CameraError(Fault.IN_USE, text)

    def release(self) -> None:
        """Let others have it."""
        os.close(self._descriptor)


def _holder(path: Path) -> str:
    """Who holds the camera by this file of another user's; "" when nobody does, or it isn't such a file."""
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
    except OSError:
        return ""
    try:
        status = os.fstat(descriptor)
        if not stat.S_ISREG(status.st_mode) or not path.name.endswith(f".{status.st_uid}.lock"):
            return ""
        fcntl.flock(descriptor, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return f"process {_first_line(descriptor)} of {_user(status.st_uid)}"
    finally:
        os.close(descriptor)
    return ""


def _first_line(descriptor: int) -> str:
    words = os.pread(descriptor, 20, 0).decode(errors="replace").strip()
    return words if words.isdecimal() else "unknown"


def _user(number: int) -> str:
    try:
        return f"user {pwd.getpwuid(number).pw_name}"
    except KeyError:
        return f"user {number}"
