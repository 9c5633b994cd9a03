"""The desktop's own viewer: opens a picture, or parts of pictures pixel for pixel, and never prints on the screen.

`click.launch` does the same with the opener's output left on the terminal, which a full screen can't have.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread

from session.picture.preview import Box, UnreadablePicture
from session.system.process import ONE_THREAD
from tui.screen.small_picture import cuts_beside

PATIENCE_S = 3.0
"""Seconds after which an opener has worked: failures come at once, a running opener is the viewer itself. Chosen."""

OPENERS = {"darwin": "open"}
"""Platform → the command that opens a file with what the desktop has for it; elsewhere that of the freedesktop.org
utilities."""

FREEDESKTOP_OPENER = "xdg-open"
SSH = ("SSH_CONNECTION", "SSH_TTY")
DISPLAYS = ("DISPLAY", "WAYLAND_DISPLAY")


class Viewer:
    """Opens pictures; parts of pictures are written to a folder that only this user can read, and `close` removes it.

    Its methods take a moment: call them in the background. Each returns "" or, as a sentence, why nothing was opened.
    """

    def __init__(self, environment: Mapping[str, str] | None = None, patience_s: float = PATIENCE_S) -> None:
        self._environment = os.environ if environment is None else environment
        self._patience_s = patience_s
        self._folder: TemporaryDirectory[str] | None = None

    def open(self, path: str) -> str:
        """Open a file."""
        if not Path(path).is_file():
            return f"{name_and_folder(path)} is not there any more."
        opener, why = self._opener()
        return f"{why} The picture is {name_and_folder(path)}." if why else self._run(opener, path)

    def open_cuts(self, cuts: Sequence[tuple[str, Box]], name: str) -> str:
        """Open parts of pictures beside each other, pixel for pixel; `name` is the file's without its ending."""
        opener, why = self._opener()
        if why:
            return f"{why} The picture is {name_and_folder(cuts[0][0])}."
        try:
            sheet = cuts_beside(cuts)
            self._folder = self._folder or TemporaryDirectory(prefix="stillset-")
            path = Path(self._folder.name) / f"{name}.png"
            sheet.save(path, compress_level=1)
        except UnreadablePicture as error:
            return f"{name_and_folder(cuts[0][0])} {error}."
        except OSError as error:
            return f"The region could not be written for the viewer: {error.strerror or error}."
        return self._run(opener, str(path))

    def close(self) -> None:
        """Remove what was written for the viewer."""
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None

    def _opener(self) -> tuple[str, str]:
        """The command that opens files, else "" and the reason why no command can."""
        environment = self._environment
        if any(environment.get(name) for name in SSH):
            return "", "Over ssh no viewer is opened."
        if sys.platform != "darwin" and not any(environment.get(name) for name in DISPLAYS):
            return "", "There is no desktop here to open a viewer on."
        command = OPENERS.get(sys.platform, FREEDESKTOP_OPENER)
        found = shutil.which(command, path=environment.get("PATH"))
        return (found, "") if found else ("", f"No viewer is opened: the command {command} is missing.")

    def _run(self, opener: str, path: str) -> str:
        try:
            process = subprocess.Popen(
                [opener, str(Path(path).absolute())],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env=without_our_limits(self._environment),
                start_new_session=True,  # what is pressed here, and the end of stillset, are nothing to it
            )
        except OSError as error:
            return f"No viewer is opened: {error.strerror or error}. The picture is {name_and_folder(path)}."
        try:
            code = process.wait(self._patience_s)
        except subprocess.TimeoutExpired:
            Thread(target=process.wait, daemon=True).start()  # until the viewer is closed
            return ""
        return (
            f"The desktop has no viewer for it (code {code}). The picture is {name_and_folder(path)}." if code else ""
        )


def name_and_folder(path: str) -> str:
    """`0012.jpg in ~/pictures/…`: the name first, since a long line loses its end."""
    folder = str(Path(path).absolute().parent)
    home = str(Path.home())
    short = f"~{folder[len(home) :]}" if folder == home or folder.startswith(home + os.sep) else folder
    return f"{Path(path).name} in {short}"


def without_our_limits(environment: Mapping[str, str]) -> dict[str, str]:
    """The environment for another's program: what keeps NumPy here to one core would keep a raw developer to it too."""
    return {name: value for name, value in environment.items() if ONE_THREAD.get(name) != value}
