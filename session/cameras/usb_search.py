"""The cameras on USB. A camera on a network can't be found, only addressed."""

from __future__ import annotations

import threading
from contextlib import suppress
from pathlib import Path

from session.cameras.camera_limits import CameraLimits, Start
from session.cameras.home import claims, environment, home
from session.frame.camera_messages import FoundCamera
from session.system.process import OwnProcess

DETECT = "session.cameras.detect"
LIMIT_S = 20.0
"""For the whole search; a camera that answers takes well under a second."""


def find_cameras(*, limit_s: float = LIMIT_S, folder: Path | None = None) -> tuple[FoundCamera, ...]:
    """Every camera on USB, in the order of their addresses.

    limit_s   how long the search may take; what was found until then is returned
    folder    where libgphoto2's settings and the claims on cameras are kept; the user's own when left out
    """
    found: dict[str, FoundCamera] = {}
    ended = threading.Event()

    def receive(message: object) -> None:
        if isinstance(message, FoundCamera):
            found[message.address] = message

    place = home(folder)
    process = OwnProcess(DETECT, receive=receive, ended=lambda code: ended.set(), environment=environment(place))
    with suppress(OSError):  # it has ended already
        process.send(Start(str(claims(place)), CameraLimits(call_s=limit_s)))
    ended.wait(limit_s)
    process.kill()
    process.close()
    return tuple(found[address] for address in sorted(found))
