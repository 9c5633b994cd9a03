"""The markers of a JPEG file (ITU-T T.81 annex B), as far as they must be known before it is decoded.

They tell the size without decoding, whether the end is there, and where the height stands: a decoder that
is told a smaller height stops at that row, which is how a window high up in a large picture is read for
the price of the rows above it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

SOI, EOI, SOS, DQT = 0xD8, 0xD9, 0xDA, 0xDB
APP0, APP14 = 0xE0, 0xEE
SOF_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""Start-of-frame markers; C4, C8 and CC are tables and a reserved code. T.81 table B.1."""

BASELINE, EXTENDED, PROGRESSIVE = 0xC0, 0xC1, 0xC2
DECODABLE = frozenset({BASELINE, EXTENDED, PROGRESSIVE})
"""The codings of photographs; C3 is lossless, the usual coding of raw sensor values."""

STANDALONE = frozenset({0x01, *range(0xD0, 0xD8)})
"""Markers without a length: TEM and the restart markers."""

MAX_SEGMENTS = 2000
"""A header with more segments than this is not one; thumbnails and profiles take some hundreds at most."""

ZIGZAG = tuple(
    sorted(
        range(64),
        key=lambda place: (
            place // 8 + place % 8,
            place // 8 if (place // 8 + place % 8) % 2 else place % 8,
        ),
    )
)
"""Place by rows of each coefficient in the file's order: T.81 figure A.6."""

MAX_MARKER = 64
"""Bytes of a segment that are looked at for how colours are coded; what tells it stands in the first 17."""

END_MARKER_WITHIN = 64 * 1024
"""Some bodies pad the file after the end marker; it is looked for in this many last bytes."""


@dataclass(frozen=True)
class JpegHeader:
    """The facts in a JPEG's markers before its first scan.

    width_px, height_px  as stored, before any turn by Exif orientation
    precision_bits       8, or 12 which the usual decoders refuse
    frame_marker         C0 baseline, C2 progressive …
    height_at            offset of the two height bytes
    row_step_px          height of one row of coded blocks (8 or 16)
    has_luma             coded as luma and two colour differences (ITU-T T.871); else grey, RGB or four inks
    """

    width_px: int
    height_px: int
    components: int
    precision_bits: int
    frame_marker: int
    height_at: int
    row_step_px: int
    has_luma: bool

    @property
    def progressive(self) -> bool:
        return self.frame_marker == PROGRESSIVE


class BrokenHeaderError(ValueError):
    """A file's first bytes aren't a header of its format; the text is a clause: 'is a JPEG cut short …'."""


def read_header(data: bytes | memoryview) -> JpegHeader:
    """Walk the segments up to the frame header. Raises ValueError with a sentence when there is none."""
    if len(data) < 2 or data[0] != 0xFF or data[1] != SOI:
        raise BrokenHeaderError(f"doesn't begin like a JPEG but with {bytes(data[:2]).hex(' ') or 'nothing'}")
    for marker, at, length in _segments(data):
        if marker in SOF_FRAMES:
            return _frame_header(data, at, length, _has_luma(data))
    raise BrokenHeaderError(f"is a JPEG cut short at {len(data)} bytes, before its frame header")


def luma_steps(data: bytes | memoryview) -> tuple[int, ...]:
    """The 64 quantisation steps of the first component, by rows; () when they can't be read."""
    tables: dict[int, tuple[int, ...]] = {}
    wanted = 0
    for marker, at, length in _segments(data):
        if marker in SOF_FRAMES and length >= 11 and at + 13 <= len(data):
            wanted = data[at + 12]
        if marker == DQT:
            tables.update(_tables(bytes(data[at + 4 : at + 2 + length])))
    return tables.get(wanted, ())


def _segments(data: bytes | memoryview) -> Iterator[tuple[int, int, int]]:
    """(marker, offset, length) of the segments before the first scan."""
    at = 2
    for _ in range(MAX_SEGMENTS):
        while at + 3 < len(data) and data[at] == 0xFF and data[at + 1] == 0xFF:  # fill bytes
            at += 1
        if at + 4 > len(data) or data[at] != 0xFF:
            return
        marker = data[at + 1]
        if marker in STANDALONE:
            at += 2
            continue
        length = data[at + 2] << 8 | data[at + 3]
        if marker in (SOS, EOI) or length < 2:
            return
        yield marker, at, length
        at += 2 + length


def _tables(body: bytes) -> dict[int, tuple[int, ...]]:
    """Quantisation tables of a DQT segment (T.81 B.2.4.1), out of their zigzag order."""
    found: dict[int, tuple[int, ...]] = {}
    while body:
        size = 2 if body[0] >> 4 else 1
        steps = body[1 : 1 + 64 * size]
        if len(steps) == 64 * size:
            by_zigzag = [int.from_bytes(steps[size * i : size * i + size], "big") for i in range(64)]
            found[body[0] & 0x0F] = tuple(by_zigzag[ZIGZAG.index(place)] for place in range(64))
        body = body[1 + 64 * size :]
    return found


def _has_luma(data: bytes | memoryview) -> bool:
    """Whether three components are luma and colour differences: by T.871's marker, T.872's, else their identifiers.

    A file of red, green and blue says so by transform 0 in T.872's marker (6.5.3), or names its components R, G and B.
    """
    names, jfif, transform = b"", False, None
    for marker, at, length in _segments(data):
        body = bytes(data[at + 4 : at + 2 + min(length, MAX_MARKER)])
        if marker in SOF_FRAMES:
            names = names or body[6::3]
        elif marker == APP0:
            jfif |= body.startswith(b"JFIF\0")
        elif marker == APP14 and body.startswith(b"Adobe") and len(body) >= 12:
            transform = body[11]
    if len(names) != 3:
        return False
    return jfif or (transform != 0 if transform is not None else names != b"RGB")


def _frame_header(data: bytes | memoryview, at: int, length: int, has_luma: bool) -> JpegHeader:
    if at + 2 + length > len(data) or length < 11:
        raise BrokenHeaderError(f"is a JPEG cut short at {len(data)} bytes, in its frame header")
    components = data[at + 9]
    factors = [data[at + 11 + 3 * i] & 0x0F for i in range(components) if at + 11 + 3 * i < at + 2 + length]
    height_px = data[at + 5] << 8 | data[at + 6]
    width_px = data[at + 7] << 8 | data[at + 8]
    if not width_px or not height_px:
        raise BrokenHeaderError(f"is a JPEG without a size: {width_px} × {height_px} pixels")
    return JpegHeader(
        width_px=width_px,
        height_px=height_px,
        components=components,
        precision_bits=data[at + 4],
        frame_marker=data[at + 1],
        height_at=at + 5,
        row_step_px=8 * max(factors, default=1),
        has_luma=has_luma,
    )


def has_end(data: bytes | memoryview) -> bool:
    """Whether the end marker is there, in the last part of the file."""
    return bytes(data[-END_MARKER_WITHIN:]).rfind(b"\xff\xd9") >= 0


def with_coarser_steps(data: bytes, times: int) -> bytes:
    """The file with each quantisation step so many times as large, in tables of 16 bits (T.81 B.2.4.1).

    A decoder then gives each sample so many times as far from the middle code 128, before it rounds to whole codes.
    What stands after the first scan's header is as it was.
    """
    parts: list[bytes | memoryview] = []
    done = 0
    for marker, at, length in _segments(data):
        if marker == DQT:
            tables = _tables(bytes(data[at + 4 : at + 2 + length]))
            body = b"".join(bytes([0x10 | number]) + _table_bytes(steps, times) for number, steps in tables.items())
            parts += [memoryview(data)[done:at], b"\xff\xdb", (len(body) + 2).to_bytes(2, "big"), body]
            done = at + 2 + length
    return b"".join((*parts, memoryview(data)[done:]))


def _table_bytes(steps: tuple[int, ...], times: int) -> bytes:
    """A quantisation table's steps in zigzag order, two bytes each."""
    return b"".join(min(times * steps[place], 0xFFFF).to_bytes(2, "big") for place in ZIGZAG)


def cut_below(data: bytes, header: JpegHeader, bottom_px: int) -> bytes:
    """The file with a header that ends the picture at or just below this row; pixels above are unchanged.

    Only for sequential coding with all components in one scan, as cameras write it; a progressive file
    is given back as it is.
    """
    height_px = -(-bottom_px // header.row_step_px) * header.row_step_px
    if header.progressive or height_px >= header.height_px:
        return data
    at = header.height_at
    # joined, since this copies the file once
    return b"".join((data[:at], height_px.to_bytes(2, "big"), memoryview(data)[at + 2 :]))
