"""The files of a frame on the disk that the log has no row for: whole files, and parts that a crash left."""

from __future__ import annotations

import hashlib
import os
import re
from pathlib import Path, PurePath

from session.cameras.saving import EXTENSIONS_BY_KIND, Disk, SystemDisk, is_leftover
from session.cameras.wholeness import flaw, kind_of
from session.frame.camera_messages import CardObject, SavedFile
from session.frame.ports import LogError

NAMESAKES = r"(-\d{1,3})?\.[A-Za-z0-9]{1,8}"
"""What may follow a stem, see `cameras.saving`."""


class FreeStems:
    """Stems under which a folder has no file yet, so that what is found under a frame's stem later is the frame's own.

    A folder's names are read once in a run, since that takes longer with each frame. From then on a stem is looked for
    under the endings that were met: in the folder, and of the files that were saved.
    """

    def __init__(self) -> None:
        self._names: dict[str, tuple[str, ...]] = {}
        self._endings = {f".{ending}" for ending in EXTENSIONS_BY_KIND.values()}

    def free(self, folder: str, stem: str) -> str:
        """`stem`, or `stem-again`, `stem-again2` …, whichever is free. LogError: the folder can't be read."""
        candidate, number = stem, 1
        try:
            while self._is_taken(folder, candidate):
                candidate = f"{stem}-again{number if number > 1 else ''}"
                number += 1
        except OSError as error:
            raise LogError(f"{folder} can't be read: {error.strerror or error}.") from error
        return candidate

    def note_saved(self, path: str) -> None:
        """A file of a frame was saved: its ending is looked for from now on."""
        self._endings.add(PurePath(path).suffix)

    def _is_taken(self, folder: str, stem: str) -> bool:
        if folder not in self._names:
            names = _names_in(folder)
            if not names:
                return False
            self._names[folder] = names
            self._endings |= {PurePath(name).suffix for name in names}
        pattern = _pattern(stem, NAMESAKES)
        candidates = (*self._names[folder], *(f"{stem}{ending}" for ending in self._endings))
        return any(_is_file(Path(folder, name)) for name in filter(pattern.fullmatch, candidates))


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


def _files_named(folder: str, start: str, rest: str) -> list[Path]:
    """Files of the folder whose whole name is `start` and then the pattern, in the order of names."""
    names = sorted(filter(_pattern(start, rest).fullmatch, _names_in(folder)))
    return [path for path in (Path(folder, name) for name in names) if _is_file(path)]


def _pattern(start: str, rest: str) -> re.Pattern[str]:
    return re.compile(re.escape(start) + rest)


def _names_in(folder: str) -> tuple[str, ...]:
    """Names of all files and folders in the folder; () for a missing folder."""
    try:
        return tuple(os.listdir(folder))  # noqa: PTH208 — of thousands only a few become paths
    except (FileNotFoundError, NotADirectoryError):
        return ()


def _is_file(path: Path) -> bool:
    """True for a file itself; a link's target isn't a frame's."""
    return path.is_file() and not path.is_symlink()
