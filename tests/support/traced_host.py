"""`python -m tests.support.traced_host`: the camera's own process, which writes down who called libgphoto2's release.

The stack goes into the file that STILLSET_TRACED names, one function of ours a line, outermost first.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import FrameType
from typing import Any

from session.cameras.camera_process import main
from tests.support.stacks import ours

TRIGGER = "trigger_capture"


def _watch(frame: FrameType, event: str, arg: Any) -> None:
    if event == "c_call" and TRIGGER in getattr(arg, "__name__", ""):
        Path(os.environ["STILLSET_TRACED"]).write_text("\n".join(ours(frame)), encoding="utf-8")


if __name__ == "__main__":
    sys.setprofile(_watch)
    sys.exit(main())
