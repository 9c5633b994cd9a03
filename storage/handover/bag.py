"""A folder with hashes as BagIt (RFC 8493) has it: its manifests are written when all else is there, and verified.

The payload lies in `data`; `manifest-sha256.txt` has a line for each of its files, `tagmanifest-sha256.txt` one for
each of the other files but itself. A folder without manifests is no bag yet, so that half a hand-over never passes for
a whole one.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from storage.files.paths import BAG_TXT

BAG_INFO = "bag-info.txt"
MANIFEST = "manifest-sha256.txt"
TAG_MANIFEST = "tagmanifest-sha256.txt"
DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
"""RFC 8493, 2.1.1."""

BLOCK_BYTES = 1 << 20
PART_ENDING = ".part"
_ESCAPED = {"%": "%25", "\n": "%0A", "\r": "%0D"}
"""In paths of a manifest (RFC 8493, 2.1.3)."""

_LINE = re.compile(r"([0-9a-fA-F]{64})[ \t]+\*?(.+)")


def sha256_of(path: Path, heard: Callable[[int], None] = lambda count_bytes: None) -> str:
    """The hash of a file as 64 hexadecimal digits; `heard` is told of each block's size in bytes. Raises OSError."""
    digest = hashlib.sha256()
    with path.open("rb") as opened:
        while block := opened.read(BLOCK_BYTES):
            digest.update(block)
            heard(len(block))
    return digest.hexdigest()


def manifest_text(hashes: Iterable[tuple[str, str]]) -> str:
    """The lines of a manifest for (path, hash), sorted by path; paths have forward slashes."""
    return "".join(f"{digest}  {_escape(path)}\n" for path, digest in sorted(hashes))


def info_text(rows: Iterable[tuple[str, str]]) -> str:
    """The lines of `bag-info.txt`; ends of lines in a value become blanks (RFC 8493, 2.2.2)."""
    return "".join(f"{name}: {' '.join(value.split())}\n" for name, value in rows if value.strip())


def is_bag(folder: Path) -> bool:
    """True for a folder that says it is a bag and has its manifest."""
    return (folder / BAG_TXT).is_file() and (folder / MANIFEST).is_file()


def verify_bag(folder: Path, heard: Callable[[int], None] = lambda count_bytes: None) -> Iterator[str]:
    """A sentence for each fault: files missing, changed, or named in no manifest. Raises OSError."""
    try:
        declared = (folder / BAG_TXT).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        declared = ""
    if not declared.startswith("BagIt-Version: "):
        yield f"{BAG_TXT} doesn't declare a bag"
    named: set[str] = set()
    for manifest in (MANIFEST, TAG_MANIFEST):
        for path, digest in _lines(folder / manifest):
            named.add(path)
            yield from _file_faults(folder, path, digest, heard)
    payload = folder / "data"
    for found in sorted(payload.rglob("*")):
        path = found.relative_to(folder).as_posix()
        if found.is_file() and path not in named:
            yield f"{path} is in no manifest"


def _file_faults(folder: Path, path: str, digest: str, heard: Callable[[int], None]) -> Iterator[str]:
    place = folder / path
    if ".." in Path(path).parts or Path(path).is_absolute():
        yield f"{path} lies out of the folder"
    elif not place.is_file():
        yield f"{path} is missing"
    elif sha256_of(place, heard) != digest:
        yield f"{path} is not as it was handed over"


def _lines(manifest: Path) -> list[tuple[str, str]]:
    try:
        text = manifest.read_text(encoding="utf-8")
    except FileNotFoundError:
        return []
    found = [_LINE.fullmatch(line) for line in text.split("\n") if line.strip()]
    return [(_plain(match[2]), match[1].lower()) for match in found if match]


def _escape(path: str) -> str:
    return "".join(_ESCAPED.get(char, char) for char in path)


def _plain(path: str) -> str:
    for char, code in (("\n", "%0A"), ("\r", "%0D"), ("%", "%25")):
        path = path.replace(code, char).replace(code.lower(), char)
    return path.removeprefix("./")


def put_new(path: Path, write: Callable[[Path], None], *, or_same: bool = False) -> bool:
    """Make a file that appears under its name only when it is whole and on the disk; False where the name is taken.

    write    is handed the path of the part to fill
    or_same  a file of this name that holds the very same counts as made
    Raises OSError; nothing is left then.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}{PART_ENDING}")
    try:
        write(part)
        with part.open("rb") as opened:
            os.fsync(opened.fileno())
        return name_new(part, path) or (or_same and sha256_of(part) == sha256_of(path))
    finally:
        part.unlink(missing_ok=True)


def name_new(part: Path, path: Path) -> bool:
    """Give a whole part its name; False where the name is taken. Raises OSError."""
    try:
        os.link(part, path)
    except FileExistsError:
        return False
    except OSError:  # a file system without links, like that of most memory sticks
        if path.exists():
            return False
        part.rename(path)
    return True
