"""A frame's files as they leave: where each can be read now, and the path that it gets in the hand-over."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

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
