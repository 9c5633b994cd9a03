"""The judge's process: assignments in, judgements out, one by one (`python -m session.checks.judge.judge_process`).

It is a process of its own since decoders and Exif readers fed with a damaged file may hang or crash, and since
the checks want a core of their own. The last reference is kept, so that it is decoded once for a set-up.
After the answer a preview of the frame is stored, of what was decoded for the checks; a sentence, in place of a
judgement, says why that cannot be done, or is empty when it can be done again.
"""

from __future__ import annotations

import os
import sys
import traceback
from multiprocessing.connection import Connection
from pathlib import Path

from session.checks.judge.all_checks import judge, without_verdict
from session.checks.material.checked_picture import Material, gather
from session.frame.ports import Assignment, Judgement
from session.picture.stored_preview import keep_preview
from session.system.own_files import folder_of_ours
from session.system.process import parent_connection

NICENESS = 5
"""Files come first: on a busy machine the judge must not hold up the camera's process. Chosen."""


class OpenedFrame:
    """Opens frames and keeps the last one, of which the preview is made."""

    material: Material | None = None

    def __call__(self, path: str, pixels_across: int | None = None, blur_limit_px: float | None = None) -> Material:
        """The frame's material. Raises UnreadablePicture with a clause."""
        self.material = None
        self.material = gather(path, pixels_across, blur_limit_px)
        return self.material


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


class Previews:
    """Stores a preview of each frame that was opened; where none can be stored, the shoot goes on without."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._told: str | None = None

    def keep(self, frame_id: str, frame: Material) -> str | None:
        """Store the frame's preview. A sentence on the first trouble, "" when it is over, None when nothing is new.

        The first frame tells "" too, since the sentence of an earlier process may still be on the screen.
        """
        source, text = frame.source, ""
        try:
            folder_of_ours(self._folder)
            full_px = source.full_width_px, source.full_height_px
            keep_preview(self._folder, frame_id, frame.overview.pixels, full_px)
        except (OSError, ValueError) as error:  # Pillow raises either, and its OSError may have no strerror
            why = error.strerror if isinstance(error, OSError) and error.strerror else error
            text = f"No previews are stored in {self._folder}: {why}. Frames are saved as ever."
        told, self._told = self._told, text
        return text if text != told else None


def answer(assignment: Assignment, reference: RememberedReference, frame: OpenedFrame) -> Judgement:
    """The judgement of a frame; a fault of our own becomes `unjudged`, with its traceback on stderr."""
    try:
        return judge(assignment, reference, frame)
    except Exception as error:  # noqa: BLE001 — the edge of the process: a frame must get its answer
        traceback.print_exc(file=sys.stderr)
        return without_verdict(assignment, f"the checks failed ({type(error).__name__})")


def main(previews_folder: str = "") -> None:
    """Serve until the parent hangs up. previews_folder: where a preview of each frame is stored; "": nowhere."""
    os.nice(NICENESS)
    connection = parent_connection()
    reference = RememberedReference()
    previews = Previews(Path(previews_folder)) if previews_folder else None
    while True:
        try:
            assignment = connection.recv()
        except EOFError:
            return
        try:
            _serve(connection, assignment, reference, previews)
        except OSError:  # the parent has gone
            return


def _serve(
    connection: Connection, assignment: Assignment, reference: RememberedReference, previews: Previews | None
) -> None:
    """Send the answer, and then store the frame's preview. Raises OSError once the parent has gone."""
    frame = OpenedFrame()
    connection.send(answer(assignment, reference, frame))
    if previews and frame.material:
        told = previews.keep(assignment.frame_id, frame.material)
        if told is not None:
            connection.send(told)


if __name__ == "__main__":
    main(*sys.argv[1:])
    os._exit(0)  # nobody waits for NumPy and Pillow to be taken apart
