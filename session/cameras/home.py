"""Folders of ours for the camera's process: libgphoto2's own settings, and who has which camera."""

from __future__ import annotations

import os
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

from platformdirs import user_state_path

from session.system.own_files import own_folder

NO_CACHE = "ptp2=cachetime=0"
"""libgphoto2's PTP driver answers from memory for 2 s otherwise, though a dial was turned meanwhile."""


def home(wanted: Path | None = None) -> Path:
    """The folder to use: the wanted one, else the user's state folder; a temporary one when it can't be written to.

    Raises OSError when the temporary one isn't this user's alone.
    """
    folder = wanted or user_state_path("stillset") / "cameras"
    try:
        prepare(folder)
    except OSError:
        folder = own_folder(Path(tempfile.gettempdir()) / f"stillset-{os.geteuid()}")
        prepare(folder)
    return folder


def prepare(folder: Path) -> None:
    """Make the folder, with the parts that libgphoto2 and this program need.

    libgphoto2 keeps the computer's name for cameras (a GUID) in the folder, so the folder must last.
    """
    settings = folder / "gphoto" / "settings"
    settings.parent.mkdir(parents=True, exist_ok=True)
    lines = settings.read_text().splitlines() if settings.exists() else []
    if NO_CACHE not in lines:
        settings.write_text("".join(f"{line}\n" for line in [*lines, NO_CACHE]))


def environment(folder: Path) -> dict[str, str]:
    """The variables that the camera's process needs in its environment."""
    return {"XDG_CONFIG_HOME": str(folder), "LC_ALL": "C"}  # C: the cameras' texts in one language


SEEN_BY_ALL = (Path("/run/lock"), Path("/tmp"))
"""Folders in which each user may make files that others see (Filesystem Hierarchy Standard 3.0, 3.15 and 3.18)."""


def claims(folder: Path) -> Path:
    """The folder with the notes of the cameras' processes: for all users of the computer, else a part of `folder`."""
    for place in SEEN_BY_ALL:
        with suppress(OSError):
            if place.stat().st_mode & stat.S_ISVTX and os.access(place, os.W_OK):
                return place
    return folder / "claims"
