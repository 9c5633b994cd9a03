"""How long the camera may take, by kind of work, and what else its process is told at the start.

None of the limits is a measure of speed: each is where patience ends.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class CameraLimits:
    """Seconds, all of them guesses on the safe side save where a source is named.

    call_s           any call into libgphoto2, which itself gives up a read after 2.5 s (PTP/IP) or 8 to 20 s (USB):
                     one that takes longer hangs, and the process ends
    release_s        the call that releases, besides the exposure: some bodies answer only after it
    slowest_bytes_per_s   a transfer may take call_s plus its size by this rate; a poor wireless link
    no_file_s        from the release, besides twice the exposure, until a body has announced its first file; a body
                     that takes a dark frame for a long exposure exposes twice
    after_complete_s from CaptureComplete until a file that is still expected is given up; ISO 15740 wants them
                     announced before, some bodies are late
    settle_s         quiet after a file of which nobody knows whether another belongs to it
    busy_s           how long a busy camera is asked again
    busy_writing_s   how long a camera that says it is busy after a release is waited for: noise reduction, a slow card
    reread_s         between looks at the settings when the camera says of no change
    """

    call_s: float = 30.0
    release_s: float = 30.0
    slowest_bytes_per_s: float = 200_000.0
    no_file_s: float = 15.0
    after_complete_s: float = 2.0
    settle_s: float = 0.3
    busy_s: float = 1.0
    busy_writing_s: float = 120.0
    reread_s: float = 5.0

    def transfer_s(self, size_bytes: int) -> float:
        """Longest time, s, that the transfer of a file of that many bytes may take."""
        return self.call_s + size_bytes / self.slowest_bytes_per_s


@dataclass(frozen=True)
class Start:
    """The first message to the camera's process.

    claims   folder in which it is kept which process has which camera
    """

    claims: str
    limits: CameraLimits = field(default_factory=CameraLimits)
