"""A program that is killed during a release; its camera's process must finish the frame alone.

    python -m killed_program ADDRESS FOLDER

Prints the id of the camera's process, and kills itself without warning once the first file is saved.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

from session.frame import camera_messages as say
from tests.support.camera_user import CameraUser


def main() -> None:
    user = CameraUser(Path(sys.argv[2]))
    user.connect(sys.argv[1])
    user.camera.post(say.Release("killed", str(user.folder), "killed", 2))
    user.until(say.FileSaved)
    sys.stdout.write(f"{user.camera.process_id}\n")
    sys.stdout.flush()
    os.kill(os.getpid(), signal.SIGKILL)


if __name__ == "__main__":
    main()
