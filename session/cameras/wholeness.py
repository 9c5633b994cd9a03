"""Whether a picture file is all there, told from its bytes alone; libgphoto2 reports short data as success.

JPEG (ITU-T T.81): segments from SOI to SOS are walked by their lengths, so that a thumbnail inside one isn't
taken for the picture; then EOI must follow, which can't occur inside entropy-coded data (B.1.1.5).
Raw files that are TIFF (TIFF 6.0; TIFF/EP, ISO 12234-2): all strips, tiles and embedded JPEGs that the
directories name must lie within the file.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass

from session.units.file_kinds import SOI, FileKind

Bytes = bytes | memoryview

EOI = b"\xff\xd9"
START_OF_SCAN = 0xDA
WITHOUT_LENGTH = frozenset({0x01, *range(0xD0, 0xD8)})  # TEM and RST0 to RST7

TIFF_ORDERS = {b"II": "<", b"MM": ">"}
TIFF_NUMBERS = frozenset({42, 0x4F52, 0x5352, 0x55})  # TIFF 6.0, and what raw files have in its place (from memory)
DATA_TAGS = {273: 279, 324: 325, 513: 514}  # offsets → lengths: strips, tiles, JPEGInterchangeFormat
SUB_DIRECTORIES = 330
SIZES = {3: 2, 4: 4, 13: 4}  # bytes of the types SHORT, LONG, IFD
READABLE = {3: "H", 4: "I", 13: "I"}
MOST_DIRECTORIES = 64  # far above what a camera writes
MOST_VALUES = 1 << 20  # of one entry; likewise


def kind_of(data: Bytes) -> FileKind:
    """`jpeg`, `raw` (TIFF-based, or ISO base media of the raw brand) or `other`, by the file's first bytes."""
    start = bytes(data[:12])
    if start[:2] == SOI:
        return FileKind.JPEG
    if start[:2] in TIFF_ORDERS or start[4:12] == b"ftypcrx ":
        return FileKind.RAW
    return FileKind.OTHER


def flaw(data: Bytes, announced_bytes: int) -> str:
    """The missing part of a file, as part of a sentence; "" when no part is known to be missing.

    announced_bytes   size by the camera's word, 0 when it gave none
    """
    if not len(data):
        return "it is empty"
    if announced_bytes and len(data) != announced_bytes:
        return f"{len(data):,} of {announced_bytes:,} bytes came".replace(",", "\N{THIN SPACE}")
    start = bytes(data[:2])
    if start == SOI:
        return "" if _jpeg_ends(data) else "its end is missing"
    if start in TIFF_ORDERS and _tiff_number(data) in TIFF_NUMBERS:
        return _tiff_flaw(data)
    return ""


def _jpeg_ends(data: Bytes) -> bool:
    view = memoryview(data)
    at = 2
    while at + 4 <= len(view) and view[at] == 0xFF:
        marker = view[at + 1]
        if marker == 0xFF:  # fill byte
            at += 1
        elif marker in WITHOUT_LENGTH:
            at += 2
        elif marker == START_OF_SCAN:
            return _find(view, EOI, at)
        else:
            at += 2 + int.from_bytes(view[at + 2 : at + 4], "big")
    return False


def _find(view: memoryview, sought: bytes, start: int) -> bool:
    """True if the bytes occur at or after `start`. Searched backwards in blocks: a whole file has them at the end."""
    block, end = 1 << 16, len(view)
    while end > start:
        begin = max(start, end - block)
        if sought in bytes(view[begin : end + 1]):
            return True
        end = begin
    return False


def _tiff_number(data: Bytes) -> int:
    return int.from_bytes(data[2:4], "little" if bytes(data[:2]) == b"II" else "big")


@dataclass(frozen=True)
class _Entry:
    tag: int
    values: tuple[int, ...]


def _tiff_flaw(data: Bytes) -> str:
    view = memoryview(data)
    order = TIFF_ORDERS[bytes(view[:2])]
    try:
        (first,) = struct.unpack_from(order + "I", view, 4)
        directories, seen = [first], set[int]()
        while directories:
            at = directories.pop()
            if at == 0 or at in seen:
                continue
            if at >= len(view):
                return "part of its directory is missing"
            seen.add(at)
            if len(seen) > MOST_DIRECTORIES:
                return "it names more directories than a picture has"
            entries = {entry.tag: entry.values for entry in _entries(view, order, at)}
            if _ends_outside(entries, len(view)):
                return "its end is missing"
            directories += entries.get(SUB_DIRECTORIES, ())
            (count,) = struct.unpack_from(order + "H", view, at)
            directories += struct.unpack_from(order + "I", view, at + 2 + 12 * count)
    except struct.error:  # reading ran past the end
        return "part of its directory is missing"
    return ""


def _entries(view: memoryview, order: str, at: int) -> Iterator[_Entry]:
    (count,) = struct.unpack_from(order + "H", view, at)
    wanted = {*DATA_TAGS, *DATA_TAGS.values(), SUB_DIRECTORIES}
    for number in range(count):
        place = at + 2 + 12 * number
        tag, kind, length = struct.unpack_from(order + "HHI", view, place)
        if tag in wanted and kind in READABLE:
            if length * SIZES[kind] > 4:
                (place,) = struct.unpack_from(order + "I", view, place + 8)
            else:
                place += 8
            if length > MOST_VALUES or place + length * SIZES[kind] > len(view):
                raise struct.error(f"{length} values reach past the end")
            yield _Entry(tag, struct.unpack_from(f"{order}{length}{READABLE[kind]}", view, place))


def _ends_outside(entries: dict[int, tuple[int, ...]], size: int) -> bool:
    return any(
        offset + length > size
        for offsets, lengths in DATA_TAGS.items()
        for offset, length in zip(entries.get(offsets, ()), entries.get(lengths, ()), strict=False)
    )
