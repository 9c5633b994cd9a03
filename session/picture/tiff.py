"""The JPEG previews inside a raw file, found by its TIFF structure (TIFF 6.0, TIFF/EP ISO 12234-2).

Only directories are read, never sensor values. Every walk is bounded, for the file may be damaged.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from session.picture.jpeg import BrokenHeaderError

IMAGE_WIDTH, IMAGE_LENGTH, COMPRESSION, PHOTOMETRIC = 0x100, 0x101, 0x103, 0x106
STRIP_OFFSETS, STRIP_BYTE_COUNTS, ORIENTATION, SUB_IFDS = 0x111, 0x117, 0x112, 0x14A
JPEG_OFFSET, JPEG_LENGTH = 0x201, 0x202
JPEG_COMPRESSIONS = frozenset({6, 7})
COLOUR_FILTER_ARRAY, LINEAR_RAW = 32803, 34892
SENSOR_PHOTOMETRICS = frozenset({COLOUR_FILTER_ARRAY, LINEAR_RAW})

MAX_DIRECTORIES = 64
MAX_ENTRIES = 2000
MAX_VALUES = 64
"""Bounds of the walk; real files hold some ten directories of some hundred entries. Common practice."""

_FORMATS = {1: "B", 3: "H", 4: "I", 7: "B", 9: "i", 13: "I"}


@dataclass(frozen=True)
class Embedded:
    """Where a JPEG lies in the file."""

    offset: int
    length: int


@dataclass(frozen=True)
class TiffContents:
    """The contents of a TIFF's directories: JPEGs, the largest picture's size, the turn, sensor values or not."""

    previews: tuple[Embedded, ...]
    width_px: int
    height_px: int
    orientation: int
    sensor_values: bool


Directory = dict[int, tuple[int, ...]]


def is_tiff(start: bytes) -> bool:
    """Whether a file begins with a TIFF byte order; the number after it differs between makers' raws."""
    return start[:2] in (b"II", b"MM") and len(start) >= 8


def read_contents(file: BinaryIO, size_bytes: int) -> TiffContents:
    """Walk all directories of a file of that many bytes.

    Raises ValueError with a sentence when the structure isn't there.
    """
    start = file.read(8)
    if not is_tiff(start):
        raise BrokenHeaderError(f"doesn't begin like a TIFF but with {start[:4].hex(' ') or 'nothing'}")
    order = "<" if start[:2] == b"II" else ">"
    directories = list(_directories(file, order, struct.unpack(order + "I", start[4:8])[0], size_bytes))
    if not directories:
        raise BrokenHeaderError(f"has no readable TIFF directory in its {size_bytes} bytes")
    sizes = [(d[IMAGE_WIDTH][0], d[IMAGE_LENGTH][0]) for d in directories if IMAGE_WIDTH in d and IMAGE_LENGTH in d]
    width_px, height_px = max(sizes, key=lambda size: size[0] * size[1], default=(0, 0))
    previews = [found for d in directories for found in _previews(d, size_bytes)]
    sensor = any(d.get(PHOTOMETRIC, (0,))[0] in SENSOR_PHOTOMETRICS for d in directories)
    orientation = directories[0].get(ORIENTATION, (1,))[0]
    return TiffContents(tuple(dict.fromkeys(previews)), width_px, height_px, orientation, sensor)


def _directories(file: BinaryIO, order: str, first: int, size_bytes: int) -> Iterator[Directory]:
    waiting, seen = [first], set[int]()
    while waiting and len(seen) < MAX_DIRECTORIES:
        at = waiting.pop(0)
        if at in seen or not 8 <= at < size_bytes:
            continue
        seen.add(at)
        directory, following = _directory(file, order, at)
        yield directory
        waiting += [following, *directory.get(SUB_IFDS, ())]


def _directory(file: BinaryIO, order: str, at: int) -> tuple[Directory, int]:
    file.seek(at)
    head = file.read(2)
    count = struct.unpack(order + "H", head)[0] if len(head) == 2 else 0
    body = file.read(12 * count + 4) if count <= MAX_ENTRIES else b""
    directory: Directory = {}
    for i in range(min(count, len(body) // 12)):
        tag, kind, values = struct.unpack_from(order + "HHI", body, 12 * i)
        if kind in _FORMATS and 0 < values <= MAX_VALUES:
            directory[tag] = _values(file, order, _FORMATS[kind], values, body[12 * i + 8 : 12 * i + 12])
    following = struct.unpack_from(order + "I", body, 12 * count)[0] if len(body) == 12 * count + 4 else 0
    return {tag: found for tag, found in directory.items() if found}, following


def _values(file: BinaryIO, order: str, letter: str, count: int, field: bytes) -> tuple[int, ...]:
    layout = f"{order}{count}{letter}"
    needed = struct.calcsize(layout)
    if needed > 4:
        file.seek(struct.unpack(order + "I", field)[0])
        field = file.read(needed)
    return struct.unpack(layout, field[:needed]) if len(field) >= needed else ()


def _previews(directory: Directory, size_bytes: int) -> Iterator[Embedded]:
    places = [(directory.get(JPEG_OFFSET, ()), directory.get(JPEG_LENGTH, ()))]
    if directory.get(COMPRESSION, (0,))[0] in JPEG_COMPRESSIONS:
        places.append((directory.get(STRIP_OFFSETS, ()), directory.get(STRIP_BYTE_COUNTS, ())))
    for offsets, lengths in places:
        if len(offsets) == len(lengths) == 1 and 0 < offsets[0] < size_bytes:
            yield Embedded(offsets[0], min(lengths[0], size_bytes - offsets[0]))
