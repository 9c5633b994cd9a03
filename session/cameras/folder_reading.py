"""How far libgphoto2 is with a folder whose files it asks the camera for inside one call.

The library tells nobody: the call returns when the last file is asked for. What it writes for debugging is heard
instead, a line for each file that the camera names (`ptp_list_folder` in its ptp.c) and one for each file that it asks
for (`ptp_ptpip_sendreq` in ptpip.c, `ptp_usb_sendreq` in usb.c; operation 0x1008 is GetObjectInfo, ISO 15740). A
library that writes no such lines leaves the progress unknown.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePath
from time import monotonic

NAMED = b"adding new object"
ASKED = b"Sending PTP_OC 0x1008 "
TOLD_EVERY_S = 1.0
"""A number of files that changes more often is no news, and a reading that is over sooner none at all. Chosen."""

Progress = Callable[[int, int, float], None]
"""Hears how many files were asked for, how many there are, and how long the rest takes, s."""


def libraries_in(maps: str, name: str) -> frozenset[str]:
    """Paths of the loaded files whose own name begins so.

    maps  as Linux' `/proc/self/maps` has them: address, rights, offset, device, inode, and a path, perhaps with spaces
    """
    paths = (fields[5] for fields in (line.split(maxsplit=5) for line in maps.splitlines()) if len(fields) > 5)
    return frozenset(path for path in paths if PurePath(path).name.startswith(name))


class FolderReading:
    """Counts the files of all calls since the camera was connected; what was asked for once isn't asked for again."""

    def __init__(self, tell: Progress) -> None:
        self._tell = tell
        self._named = self._asked = 0
        self.begin()

    def begin(self, to_end: bool = True) -> None:
        """Another call begins: its own pace says how long the rest takes.

        to_end  the call asks for all files that are left; this is told with the second file, not after a while
        """
        self._to_end = to_end
        self._began_s: float | None = None
        self._in_call = 0
        self._told_at_s = monotonic()
        self._told = False

    def end(self) -> None:
        """Tell that the call is over, if the call was told of before."""
        if self._told:
            self._tell(self._asked, self._named, 0.0)

    def hear(self, line: bytes) -> bool:
        """Take in one line of the library; True when another file is asked for, so that the camera is alive."""
        if line.startswith(NAMED):
            self._named += 1
            return False
        if not line.startswith(ASKED):
            return False
        now_s = monotonic()
        if self._began_s is None:
            self._began_s = now_s
        elif self._asked < self._named:
            left_s = (now_s - self._began_s) / self._in_call * (self._named - self._asked)
            is_long = self._to_end and not self._told and left_s >= TOLD_EVERY_S
            if is_long or now_s - self._told_at_s >= TOLD_EVERY_S:
                self._told_at_s, self._told = now_s, True
                self._tell(self._asked, self._named, left_s)
        self._in_call += 1
        self._asked += 1
        return True
