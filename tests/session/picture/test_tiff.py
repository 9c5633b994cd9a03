"""The TIFF structure of raw files against tifffile, which reads and writes it by itself; damage has one error."""

from __future__ import annotations

import io
import struct
from typing import Any, Literal

import numpy as np
import pytest
import tifffile
from hypothesis import given, settings
from hypothesis import strategies as st

from session.picture.jpeg import BrokenHeaderError
from session.picture.tiff import MAX_DIRECTORIES, is_tiff, read_contents

PIXELS = np.arange(48 * 64, dtype=np.uint16).reshape(48, 64)
COLOUR_FILTER_ARRAY = 32803
"""PhotometricInterpretation of TIFF/EP (ISO 12234-2)."""


def tiff(byte_order: Literal["<", ">"] = "<", *, sub_pages: int = 0, pages: int = 1, **how: Any) -> bytes:
    out = io.BytesIO()
    with tifffile.TiffWriter(out, byteorder=byte_order) as writer:
        for number in range(pages):
            more: dict[str, Any] = {"subifds": sub_pages} if number == 0 and sub_pages else {}
            writer.write(PIXELS[: 48 // (number + 1)], contiguous=False, metadata=None, **how, **more)
            for small in range(sub_pages if number == 0 else 0):
                writer.write(PIXELS[: 12 + small, :16], contiguous=False, metadata=None, subfiletype=1)
    return out.getvalue()


def contents(data: bytes) -> Any:
    return read_contents(io.BytesIO(data), len(data))


@pytest.mark.parametrize("byte_order", ["<", ">"])
@pytest.mark.parametrize(("pages", "sub_pages"), [(1, 0), (3, 0), (1, 2), (2, 1)])
def test_size_turn_and_kind_are_those_that_tifffile_reads(
    byte_order: Literal["<", ">"], pages: int, sub_pages: int
) -> None:
    data = tiff(byte_order, pages=pages, sub_pages=sub_pages, extratags=[(0x112, "H", 1, 6, True)])
    told = contents(data)
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        every: list[Any] = [*file.pages, *(sub for page in file.pages for sub in getattr(page, "pages", None) or ())]
        largest = max(every, key=lambda page: page.imagelength * page.imagewidth)
        assert (told.width_px, told.height_px) == (largest.imagewidth, largest.imagelength)
        assert told.orientation == every[0].tags["Orientation"].value == 6
    assert told.previews == () and not told.sensor_values


@pytest.mark.parametrize("byte_order", ["<", ">"])
def test_sensor_values_are_known_by_their_interpretation(byte_order: Literal["<", ">"]) -> None:
    data = bytearray(tiff(byte_order))
    assert not contents(bytes(data)).sensor_values
    with tifffile.TiffFile(io.BytesIO(bytes(data))) as file:
        page: Any = file.pages[0]
        at = page.tags["PhotometricInterpretation"].valueoffset
    data[at : at + 2] = struct.pack(byte_order + "H", COLOUR_FILTER_ARRAY)
    assert contents(bytes(data)).sensor_values


def directory(entries: list[tuple[int, int, int]], following: int = 0) -> bytes:
    """One directory of little-endian entries of one LONG each, as TIFF 6.0 section 2 writes it: tag, kind, value."""
    body = b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in entries)
    return struct.pack("<H", len(entries)) + body + struct.pack("<I", following)


def with_preview(jpeg: bytes, length: int | None = None) -> bytes:
    """A header, a directory with JPEGInterchangeFormat and its length (0x201, 0x202), and the JPEG after it."""
    after = 8 + 2 + 2 * 12 + 4
    entries = [(0x201, 4, after), (0x202, 4, len(jpeg) if length is None else length)]
    return b"II*\0" + struct.pack("<I", 8) + directory(entries) + jpeg


def test_an_embedded_jpeg_is_found_where_the_tags_say_and_never_longer_than_the_file() -> None:
    jpeg = b"\xff\xd8 a preview \xff\xd9"
    for length in (None, 10_000_000):
        data = with_preview(jpeg, length)
        (preview,) = contents(data).previews
        assert data[preview.offset : preview.offset + preview.length] == jpeg


def test_directories_that_lead_in_a_circle_end() -> None:
    data = b"II*\0" + struct.pack("<I", 8) + directory([(0x100, 4, 10), (0x101, 4, 20)], following=8)
    told = contents(data)
    assert (told.width_px, told.height_px) == (10, 20)


def test_more_directories_than_a_file_has_are_not_walked() -> None:
    """A chain of directories, each with a larger picture: only so many are looked at."""
    count, size = 2 * MAX_DIRECTORIES, 2 + 2 * 12 + 4
    chain = b"".join(
        directory([(0x100, 4, number), (0x101, 4, 1)], 8 + size * number) for number in range(1, count + 1)
    )
    assert contents(b"II*\0" + struct.pack("<I", 8) + chain).width_px == MAX_DIRECTORIES


@pytest.mark.parametrize("start", [b"", b"II", b"\xff\xd8\xff\xe0....", b"MZ......"])
def test_what_is_no_tiff_is_said_so(start: bytes) -> None:
    assert not is_tiff(start)
    with pytest.raises(BrokenHeaderError, match="doesn't begin like a TIFF"):
        contents(start)


def test_a_first_directory_outside_the_file_is_said_so() -> None:
    for at in (0, 7, 8, 2**32 - 1):
        with pytest.raises(BrokenHeaderError, match="no readable TIFF directory in its 8 bytes"):
            contents(b"II*\0" + struct.pack("<I", at))


WHOLE = tiff(sub_pages=2)


@given(st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), max_size=12), st.integers(0, len(WHOLE)))
@settings(max_examples=150)
def test_damaged_and_shortened_files_raise_nothing_but_the_one_error(changes: list[tuple[int, int]], kept: int) -> None:
    data = bytearray(WHOLE)
    for at, value in changes:
        data[at % len(data)] = value
    short = bytes(data[:kept])
    try:
        told = contents(short)
    except BrokenHeaderError:
        return
    for preview in told.previews:
        assert 0 < preview.offset < len(short) and preview.offset + preview.length <= len(short)
