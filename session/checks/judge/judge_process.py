"""The judge's process: assignments in, judgements out, one by one (`python -m session.checks.judge.judge_process`).

It is a process of its own since decoders and Exif readers fed with a damaged file may hang or crash, and since
the checks want a core of their own. The last reference is kept, so that it is decoded once for a set-up.
"""

from __future__ import annotations

import os
import sys
import traceback
from pathlib import Path

from session.checks.judge.all_checks import judge, without_verdict
from session.checks.material.checked_picture import Material, gather
from session.frame.ports import Assignment, Judgement
from session.system.process import parent_connection

NICENESS = 5
"""Files come first: on a busy machine the judge must not hold up the camera's process. Chosen."""


class RememberedReference:
    """Opens references and keeps the last one, as long as its file stays as it was."""

    def __init__(self) -> None:
        self._key: tuple[object, ...] = ()
        self._material: Material | None = None

    def __call__(self, path: str, pixels_across: int | None = None, blur_limit_px: float | None = None) -> Material:
        """The reference's material. Raises UnreadablePicture with a clause."""
        key = (path, pixels_across, blur_limit_px, *_stamp(path))
        if self._material is None or key != self._key:
            self._material = gather(path, pixels_across, blur_limit_px)
            self._key = key
        return self._material


def _stamp(path: str) -> tuple[int, int]:
    """A file's size and time, which change when the file is written anew."""
    try:
        status = Path(path).stat()
    except OSError:
        return 0, 0
    return status.st_mtime_ns, status.st_size


def answer(assignment: Assignment, reference: RememberedReference) -> Judgement:
    """The judgement of a frame; a fault of our own becomes `unjudged`, with its traceback on stderr."""
    try:
        return judge(assignment, reference)
    except Exception as error:  # noqa: BLE001 — the edge of the process: a frame must get its answer
        traceback.print_exc(file=sys.stderr)
        return without_verdict(assignment, f"the checks failed ({type(error).__name__})")


def main() -> None:
    """Serve until the parent hangs up."""
    os.nice(NICENESS)
    connection = parent_connection()
    reference = RememberedReference()
    while True:
        try:
            assignment = connection.recv()
        except EOFError:
            return
        try:
            connection.send(answer(assignment, reference))
        except OSError:  # the parent has gone
            return


if __name__ == "__main__":
    main()
