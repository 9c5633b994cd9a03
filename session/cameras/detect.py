"""The process that looks for cameras: `python -m session.cameras.detect`, started by `usb_search`.

First the process sends the addresses, then it asks each free camera for its name. A camera that hangs ends the process
by the timer's signal, and the names sent until then stand.
"""

from __future__ import annotations

import sys
from pathlib import Path

from session.cameras.camera_address import CameraAddress, Claim, parse_address
from session.cameras.camera_limits import Start
from session.cameras.libgphoto import Gphoto, obey_time_limits, usb_cameras
from session.cameras.result_codes import CameraError
from session.cameras.usb_access import why_not_opened
from session.frame.camera_messages import FoundCamera
from session.system.process import parent_connection

UNKNOWN_MODEL = "camera"


def name_of(address: CameraAddress, start: Start) -> str:
    """The camera's own name; for a camera that can't be asked, the reason in brackets."""
    camera = Gphoto(start.limits)
    try:
        claim = Claim(address, Path(start.claims))
    except CameraError as error:
        return f"({error.text})"
    try:
        camera.open(address)
        return camera.widget("cameramodel").text.strip() or UNKNOWN_MODEL
    except CameraError as error:
        return f"({why_not_opened(address) or error.text})"
    finally:
        camera.close()
        claim.release()


def main() -> int:
    """Tell the parent process the cameras on USB; 2 when no parent process listens."""
    try:
        pipe = parent_connection()
    except RuntimeError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    obey_time_limits()
    start = pipe.recv()
    try:
        addresses = [parse_address(text) for _, text in usb_cameras()]
    except CameraError:
        return 1
    for address in addresses:
        pipe.send(FoundCamera(address.text, UNKNOWN_MODEL))
    for address in addresses:
        pipe.send(FoundCamera(address.text, name_of(address, start)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
