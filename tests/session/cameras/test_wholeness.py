"""Files written by independent libraries are whole; the same files with their ends cut off are not.

Pillow writes the JPEGs, OpenCV and Pillow the TIFFs.
"""

from __future__ import annotations

import io
import struct

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from session.cameras.wholeness import flaw, kind_of
from tests.support.examples import examples

PICTURE = np.random.default_rng(4).integers(0, 256, (96, 128, 3), dtype=np.uint8)


def jpeg(*, thumbnail: bytes = b"", progressive: bool = False, restart: int = 0) -> bytes:
    """A JPEG; the thumbnail goes into an application segment, as Exif has it."""
    written = io.BytesIO()
    Image.fromarray(PICTURE).save(
        written,
        "JPEG",
        quality=90,
        progressive=progressive,
        restart_marker_blocks=restart,
        exif=b"Exif\0\0" + thumbnail,
    )
    return written.getvalue()


def tiff(**options: object) -> bytes:
    written = io.BytesIO()
    Image.fromarray(PICTURE).save(written, "TIFF", **options)
    return written.getvalue()


def opencv_tiff() -> bytes:
    return bytes(cv2.imencode(".tiff", PICTURE)[1])


THUMBNAIL = jpeg()[:20_000] + b"\xff\xd9"
JPEGS = [jpeg(), jpeg(progressive=True), jpeg(restart=4), jpeg(thumbnail=THUMBNAIL)]
TIFFS = [tiff(), tiff(compression="tiff_lzw"), tiff(big_tiff=False), opencv_tiff()]


@pytest.mark.parametrize("data", JPEGS + TIFFS)
def test_a_file_as_a_library_writes_it_is_whole(data: bytes) -> None:
    assert flaw(data, len(data)) == ""
    assert flaw(memoryview(data), 0) == ""


@pytest.mark.parametrize("data", JPEGS + TIFFS)
@pytest.mark.parametrize("share", [0.2, 0.5, 0.9, 0.999])
def test_a_cut_file_is_noticed_even_when_the_camera_announces_the_short_size(data: bytes, share: float) -> None:
    short = data[: int(len(data) * share)]
    assert flaw(short, len(short)) != ""


def test_padding_after_the_end_of_a_jpeg_is_no_flaw() -> None:
    padded = jpeg() + bytes(70_000)
    assert flaw(padded, len(padded)) == ""


def test_the_end_of_a_thumbnail_is_not_taken_for_the_end_of_the_picture() -> None:
    whole = jpeg(thumbnail=THUMBNAIL)
    short = whole[: whole.index(THUMBNAIL) + len(THUMBNAIL) + 700]
    assert b"\xff\xd9" in short
    assert flaw(short, len(short)) == "its end is missing"


def test_an_embedded_jpeg_that_a_raw_file_names_must_be_in_it() -> None:
    """TIFF with one entry each for JPEGInterchangeFormat and its length, by hand (TIFF 6.0, sect. 2)."""
    preview = jpeg()
    directory = struct.pack("<HHHIIHHIII", 2, 513, 4, 1, 38, 514, 4, 1, len(preview), 0)
    data = b"II*\0" + struct.pack("<I", 8) + directory + preview
    assert flaw(data, len(data)) == ""
    assert flaw(data[:-1], len(data) - 1) == "its end is missing"


def test_sizes_that_differ_are_told_in_numbers() -> None:
    assert flaw(bytes(1_000), 2_500) == "1\N{THIN SPACE}000 of 2\N{THIN SPACE}500 bytes came"


def test_an_empty_file_is_told_so() -> None:
    assert flaw(b"", 0) == "it is empty"


@pytest.mark.parametrize(
    ("start", "kind"),
    [
        (b"\xff\xd8\xff\xe1", "jpeg"),
        (b"II*\0\x08\0\0\0", "raw"),
        (b"MM\0*\0\0\0\x08", "raw"),
        (b"\0\0\0\x18ftypcrx \0\0", "raw"),
        (b"\0\0\0\x18ftypheic\0\0", "other"),
        (b"RIFF....WAVE", "other"),
        (b"", "other"),
    ],
)
def test_the_kind_is_told_by_the_first_bytes(start: bytes, kind: str) -> None:
    assert kind_of(start) == kind


@settings(max_examples=examples(100))
@given(st.binary(max_size=300), st.sampled_from([b"", b"\xff\xd8", b"II*\0\x08\0\0\0", b"MM\0*\0\0\0\x08"]))
def test_no_bytes_whatever_raise_or_hang(rest: bytes, start: bytes) -> None:
    assert isinstance(flaw(start + rest, 0), str)


@settings(max_examples=examples(70))
@given(st.integers(0, len(TIFFS[0]) - 1), st.integers(0, 255))
def test_a_damaged_tiff_never_raises(place: int, value: int) -> None:
    damaged = bytearray(TIFFS[0])
    damaged[place] = value
    assert isinstance(flaw(bytes(damaged), len(damaged)), str)
