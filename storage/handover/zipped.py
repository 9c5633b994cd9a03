"""A whole hand-over as one ZIP file: the folder inside it, stored as it is, since pictures don't get smaller.

Written piece by piece, so that the memory it takes doesn't grow with the folder, with 64-bit sizes where they are
needed (PKWARE APPNOTE, 4.3.9.2). The file has its name only when it is whole and on the disk.
"""

from __future__ import annotations

import os
import time
import zipfile
from collections.abc import Generator, Iterator
from pathlib import Path

from session.frame.ports import LogError
from storage.handover import bag

EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The first time that a ZIP file can hold (APPNOTE, 4.4.6)."""


def zip_path(folder: Path) -> Path:
    """Where the ZIP of a folder lies: beside it, `NAME.zip`."""
    whole = folder.absolute()
    return whole.with_name(f"{whole.name}.zip")


def write_zip(folder: Path) -> Generator[int, None, None]:
    """Write the ZIP of a whole hand-over beside it; yields the bytes of each block. Raises LogError, OSError.

    The caller may stop in the middle: then nothing is left.
    """
    target = zip_path(folder)
    if not bag.is_bag(folder):
        raise LogError(f"{folder} is no whole hand-over, so no ZIP is made of it.")
    if target.exists():
        raise LogError(f"{target} is there already; nothing was written over it.")
    part = target.with_name(f".{target.name}{bag.PART_ENDING}")
    try:
        with part.open("wb") as written:
            with zipfile.ZipFile(written, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
                for path in sorted(path for path in folder.rglob("*") if path.is_file()):
                    yield from _add(archive, path, f"{target.stem}/{path.relative_to(folder).as_posix()}")
            written.flush()
            os.fsync(written.fileno())
        if not bag.name_new(part, target):
            raise LogError(f"{target} is there already; nothing was written over it.")
    finally:
        part.unlink(missing_ok=True)


def _add(archive: zipfile.ZipFile, path: Path, name: str) -> Iterator[int]:
    found = path.stat()
    entry = zipfile.ZipInfo(name, max(time.localtime(found.st_mtime)[:6], EARLIEST))
    entry.file_size = found.st_size
    entry.external_attr = 0o100644 << 16
    with path.open("rb") as opened, archive.open(entry, "w") as written:
        while block := opened.read(bag.BLOCK_BYTES):
            written.write(block)
            yield len(block)
