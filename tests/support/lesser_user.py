"""To meet permissions as an ordinary user does, also where tests run as root, who meets none."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NOBODY = 65534
"""The user without rights on Linux."""


@contextmanager
def lesser_user() -> Iterator[None]:
    """Inside the block this process is not root (nothing changes when it wasn't)."""
    if os.geteuid() != 0:
        yield
        return
    os.setegid(NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        os.setegid(0)


@contextmanager
def folder_of_lesser_user() -> Iterator[Path]:
    """A folder that the lesser user reaches and owns (pytest's own are closed to all but root)."""
    folder = Path(tempfile.mkdtemp())
    if os.geteuid() == 0:
        os.chown(folder, NOBODY, NOBODY)
    try:
        yield folder
    finally:
        for place in (folder, *folder.rglob("*")):
            if place.is_dir():
                place.chmod(0o700)
        shutil.rmtree(folder)
