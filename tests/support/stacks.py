"""Which functions of ours stand on a stack, as `session/shoot/runner.py Runner._run`."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

ROOT = Path(__file__).parents[2]
PACKAGES = ("session", "tui", "storage")


def ours(frame: FrameType | None) -> list[str]:
    """The functions of session, tui and storage from here outwards, outermost first; modules' own code isn't one."""
    found = []
    while frame is not None:
        path = Path(frame.f_code.co_filename)
        if path.is_relative_to(ROOT) and path.relative_to(ROOT).parts[0] in PACKAGES:
            name = frame.f_code.co_qualname if hasattr(frame.f_code, "co_qualname") else frame.f_code.co_name
            if name != "<module>":
                found.append(f"{path.relative_to(ROOT)} {name}")
        frame = frame.f_back
    return found[::-1]


class Handovers:
    """The stacks on which a value was handed on: put into a queue, or sent through a pipe.

    kinds    what values are looked for
    """

    def __init__(self, *kinds: type) -> None:
        self._kinds = kinds
        self.stacks: list[list[str]] = []

    def _watch(self, frame: FrameType, event: str, arg: Any) -> None:
        puts = event == "c_call" and getattr(arg, "__name__", "") == "put"
        sends = event == "call" and frame.f_code.co_filename.endswith("multiprocessing/connection.py")
        if not puts and not (sends and frame.f_code.co_name == "send"):
            return
        if any(isinstance(value, self._kinds) for value in frame.f_locals.values()):
            self.stacks.append(ours(frame))

    @contextmanager
    def watched(self) -> Iterator[Handovers]:
        """Watch this thread, and all that are begun meanwhile."""
        import sys

        threading.setprofile(self._watch)
        sys.setprofile(self._watch)
        try:
            yield self
        finally:
            sys.setprofile(None)
            threading.setprofile(None)
