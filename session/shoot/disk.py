"""What is on the disk of a frame that the log has no row for: whole files, and what a crash left of a transfer."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path

from session.cameras.saving import Disk, SystemDisk, is_leftover
from session.cameras.wholeness import flaw, kind_of
from session.frame.camera_messages import CardObject, SavedFile
from session.frame.ports import LogError

NAMESAKES = r"(-\d{1,3})?\.[A-Za-z0-9]{1,8}"
"""What may follow a stem, see `cameras.saving`."""


def free_stem(folder: str, stem: str) -> str:
    """`stem`, or `stem-again`, `stem-again2` …: one under which the folder has no file yet.

    So whatever is found under a frame's stem later is the frame's own. Raises LogError when the folder can't be read.
    """
    candidate, number = stem, 1
    try:
        while any(_files_named(folder, candidate, NAMESAKES)):
            candidate = f"{stem}-again{number if number > 1 else ''}"
            number += 1
    except OSError as error:
        raise LogError(f"{folder} can't be read: {error.strerror or error}.") from error
    return candidate


def files_of(folder: str, stem: str, disk: Disk | None = None) -> list[SavedFile]:
    """The whole files `folder/stem.EXT` and their namesakes `stem-2.EXT` …, durable from now on.

    Their `card` has no folder: which card object each was can only be told from the card. A file that isn't whole
    is left out. Raises LogError when the folder or a file can't be read.
    """
    disk = disk or SystemDisk()
    found = []
    try:
        for path in _files_named(folder, stem, NAMESAKES):
            data = disk.read(str(path))
            if not flaw(data, 0):
                card = CardObject("", path.name, len(data))
                digest = hashlib.sha256(data).hexdigest()
                found.append(SavedFile(str(path.absolute()), kind_of(data), len(data), digest, card))
        if found:
            disk.sync_folder(folder)
    except OSError as error:
        raise LogError(f"{folder} can't be read: {error.strerror or error}.") from error
    return found


def clear_leftovers(folder: str, stem: str, disk: Disk | None = None) -> tuple[str, ...]:
    """Remove what a crash left of transfers of this frame; returns the names.

    Only while no camera process of ours may still be writing. Raises LogError when one can't be removed.
    """
    disk = disk or SystemDisk()
    removed = []
    try:
        for path in _files_named(folder, f".{stem}", NAMESAKES + r"\.part"):
            if is_leftover(path.name):
                disk.remove(str(path))
                removed.append(path.name)
    except OSError as error:
        raise LogError(f"{folder} can't be cleared of half a file: {error.strerror or error}.") from error
    return tuple(removed)


def _files_named(folder: str, start: str, rest: str) -> Iterator[Path]:
    """Files of the folder whose whole name is `start` and then the pattern, in the order of names."""
    pattern = re.compile(re.escape(start) + rest)
    try:
        paths = sorted(Path(folder).iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return
    yield from (path for path in paths if pattern.fullmatch(path.name) and _is_file(path))


def _is_file(path: Path) -> bool:
    """Whether it is a file itself; what a link leads to isn't a frame's."""
    return path.is_file() and not path.is_symlink()
