"""A frame's files as they leave: where each can be read now, and the path that it gets in the hand-over."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from storage.handover import bag
from storage.reading.views import FileRow

Files = tuple[tuple[FileRow, Path], ...]
"""A frame's files with where each can be read now."""


def leaving_files(files: Files, folder: str, name: str) -> Iterator[tuple[FileRow, Path, str]]:
    """Each file with its path now and its path in the hand-over; of two of a kind the second has a number.

    folder  in the hand-over
    name    of the files, without an ending
    """
    endings: list[str] = []
    for file, source in files:
        ending = Path(file.path).suffix.lower()
        more = f"-{endings.count(ending) + 1}" if ending in endings else ""
        endings.append(ending)
        yield file, source, f"{folder}/{name}{more}{ending}"


class OriginalsRead:
    """Tells whether files are as they were saved. A file is read again only when its size, time or inode changed.

    heard  called for each block that is read; what it raises ends the reading
    """

    def __init__(self, heard: Callable[[], None] = lambda: None) -> None:
        self._heard = heard
        self._known: dict[tuple[str, int, int, int], str] = {}

    def holds(self, path: Path, file: FileRow) -> bool:
        """True if the path holds the file as it was saved, by size and hash; False for a file that can't be read."""
        try:
            stat = path.stat()
            if stat.st_size != file.bytes:
                return False
            key = (str(path), stat.st_size, stat.st_mtime_ns, stat.st_ino)
            if key not in self._known:
                self._known[key] = bag.sha256_of(path, lambda count_bytes: self._heard())
        except OSError:
            return False
        return self._known[key] == file.sha256
