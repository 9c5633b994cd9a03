"""How long the camera may take, by kind of work, and what else its process is told at the start.

None of the limits is a measure of speed: each is where patience ends.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path

WIDTH = 64
"""Of the name of what is asked for, bytes; widgets' names are much shorter."""


@dataclass(frozen=True)
class CameraLimits:
    """Seconds, all of them guesses on the safe side save where a source is named.

    call_s           any call into libgphoto2, which itself gives up a read after 2.5 s (PTP/IP) or 8 to 20 s (USB):
                     one that takes longer hangs, and the process ends
    posted_s         from the posting of a release until the shutter is let go; later than that hands may be in the set
                     again. Chosen: a reading of a slow body's settings fits in, and nobody looks away sooner
    release_s        the call that releases, besides exposure and dark frame: some bodies answer only after them
    slowest_bytes_per_s   a transfer may take call_s plus its size by this rate; a poor wireless link
    largest_bytes    of a file whose size nobody knows before it is here; a raw of 100 million pixels, a guess
    slowest_told_s   a file in a folder that is read; public reports name up to 0.133 s
    no_file_s        from the release, besides twice the exposure, until a body has announced its first file; a body
                     that takes a dark frame for a long exposure exposes twice
    after_complete_s from CaptureComplete until a file that is still expected is given up; ISO 15740 wants them
                     announced before, some bodies are late
    settle_s         quiet after a file of which nobody knows whether another belongs to it
    busy_s           how long a busy camera is asked again
    busy_writing_s   how long a camera that says it is busy after a release is waited for: noise reduction, a slow card
    idle_s           so long nobody has wanted anything before the card is read unasked; chosen
    reread_s         between looks at the settings when the camera says of no change
    """

    call_s: float = 30.0
    posted_s: float = 5.0
    release_s: float = 30.0
    slowest_bytes_per_s: float = 200_000.0
    largest_bytes: float = 150e6
    slowest_told_s: float = 0.15
    no_file_s: float = 15.0
    after_complete_s: float = 2.0
    settle_s: float = 0.3
    busy_s: float = 1.0
    busy_writing_s: float = 120.0
    idle_s: float = 5.0
    reread_s: float = 5.0

    def transfer_s(self, size_bytes: int) -> float:
        """Longest time, s, that the transfer of a file of that many bytes may take."""
        return self.call_s + size_bytes / self.slowest_bytes_per_s

    def listing_s(self, numbers: int) -> float:
        """Longest time, s, that reading a folder with so many numbers may take; a number has a raw and a JPEG."""
        return self.call_s + 2 * numbers * self.slowest_told_s


CARD = "card"
"""The note while a folder of the card is read."""


class AskedNow:
    """A note of the question that the camera's process asks now, in a file that is read when the process died of it.

    Without a path nothing is kept.
    """

    def __init__(self, path: str) -> None:
        self._descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_CLOEXEC, 0o600) if path else None

    def note(self, name: str) -> None:
        """Note the name, "" for nothing."""
        if self._descriptor is not None:
            os.pwrite(self._descriptor, name.encode()[:WIDTH].ljust(WIDTH), 0)

    @staticmethod
    def read(path: str) -> str:
        """The last name in the note; "" in an empty note."""
        try:
            return Path(path).read_text(encoding="utf-8", errors="replace").strip()
        except OSError:
            return ""


@dataclass(frozen=True)
class Start:
    """The first message to the camera's process.

    claims   folder in which it is kept which process has which camera
    asked_file   where the process notes what it is asking for, see AskedNow
    without  what is not asked for any more
    """

    claims: str
    limits: CameraLimits = field(default_factory=CameraLimits)
    asked_file: str = ""
    without: frozenset[str] = frozenset()
