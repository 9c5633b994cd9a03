"""The markers of a JPEG against Pillow, which reads them by libjpeg, and against ITU-T T.81; damage has one error."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile

from session.picture.jpeg import (
    DQT,
    ZIGZAG,
    BrokenHeaderError,
    cut_below,
    has_end,
    luma_steps,
    read_header,
    with_coarser_steps,
)

CODINGS: tuple[dict[str, Any], ...] = (
    {},
    {"progressive": True},
    {"quality": 30, "optimize": True},
    {"quality": 98, "subsampling": 0},
    {"subsampling": 1},
    {"restart_marker_blocks": 2},
    {"comment": b"\xff\xd9 a marker in a comment \xff\xc0"},
)


def jpeg(width: int = 61, height: int = 43, mode: str = "RGB", **how: Any) -> bytes:
    codes = np.random.default_rng(5).integers(0, 256, (height, width, 3)).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(codes).convert(mode).save(out, "JPEG", **how)
    return out.getvalue()


def by_pillow(data: bytes) -> JpegImageFile:
    image = Image.open(io.BytesIO(data))
    assert isinstance(image, JpegImageFile)
    return image


@pytest.mark.parametrize("how", CODINGS, ids=str)
@pytest.mark.parametrize(("width", "height"), [(1, 1), (16, 16), (61, 43), (300, 8)])
@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_size_components_coding_and_steps_are_those_that_pillow_reads(
    how: dict[str, Any], width: int, height: int, mode: str
) -> None:
    data = jpeg(width, height, mode, **how)
    header, image = read_header(data), by_pillow(data)
    assert (header.width_px, header.height_px) == image.size
    assert header.components == len(image.getbands())
    assert header.precision_bits == 8
    assert header.progressive == bool(image.info.get("progressive"))
    assert luma_steps(data) == tuple(image.quantization[0])
    assert has_end(data)
    assert data[header.height_at : header.height_at + 2] == height.to_bytes(2, "big")


def test_row_of_blocks_is_16_high_with_halved_colour_and_8_without() -> None:
    """T.81 A.2.4: a coded unit is 8 px times the highest sampling factor, 2 for 4:2:0, 1 for 4:4:4 and 4:2:2."""
    assert [read_header(jpeg(subsampling=how)).row_step_px for how in (2, 0, 1)] == [16, 8, 8]


def test_zigzag_is_that_of_the_standard() -> None:
    """T.81 figure A.6: number of each place, by rows; the first row and the first column (values from memory)."""
    place_of = {place: number for number, place in enumerate(ZIGZAG)}
    assert [place_of[column] for column in range(8)] == [0, 1, 5, 6, 14, 15, 27, 28]
    assert [place_of[8 * row] for row in range(8)] == [0, 2, 3, 9, 10, 20, 21, 35]
    assert sorted(ZIGZAG) == list(range(64)) and ZIGZAG[-1] == 63


@pytest.mark.parametrize("bottom_px", [1, 8, 9, 16, 17, 40, 43, 100])
def test_a_shortened_header_keeps_every_pixel_above_the_cut(bottom_px: int) -> None:
    data = jpeg(subsampling=2)
    whole = np.asarray(by_pillow(data).convert("L"))
    part = np.asarray(by_pillow(cut_below(data, read_header(data), bottom_px)).convert("L"))
    assert min(bottom_px, len(whole)) <= len(part) < bottom_px + 16
    kept = min(len(part), len(whole)) - (8 if len(part) < len(whole) else 0)  # colour is smoothed over the cut
    assert np.array_equal(part[:kept], whole[:kept])


def test_a_progressive_file_is_not_cut() -> None:
    data = jpeg(progressive=True)
    assert cut_below(data, read_header(data), 8) == data


def test_a_table_of_16_bits_is_read_out_of_its_zigzag_order() -> None:
    """T.81 B.2.4.1: precision 1 has two bytes a step. Made by hand from Pillow's header, whose table has one."""
    data = jpeg(mode="L", quality=50)
    at = data.index(bytes([0xFF, DQT]))
    length = int.from_bytes(data[at + 2 : at + 4], "big")
    body = data[at + 4 : at + 2 + length]
    wide = bytes([0x10 | body[0]]) + b"".join((300 + step).to_bytes(2, "big") for step in body[1:65])
    changed = data[:at] + bytes([0xFF, DQT]) + (2 + len(wide)).to_bytes(2, "big") + wide + data[at + 2 + length :]
    assert luma_steps(changed) == tuple(300 + step for step in by_pillow(data).quantization[0])


@pytest.mark.parametrize("how", CODINGS, ids=str)
def test_coarser_steps_are_those_of_the_file_so_many_times(how: dict[str, Any]) -> None:
    data = jpeg(**how)
    coarser = by_pillow(with_coarser_steps(data, 4))
    steps = by_pillow(data).quantization
    assert coarser.quantization == {number: [4 * step for step in table] for number, table in steps.items()}
    coarser.load()
    assert by_pillow(with_coarser_steps(with_coarser_steps(data, 4), 1000)).quantization[0][0] == min(
        65535, 4000 * steps[0][0]
    )


def test_every_file_that_is_cut_short_is_refused_in_words_or_read_right() -> None:
    data = jpeg()
    header = read_header(data)
    for length in range(len(data)):
        part = data[:length]
        try:
            assert read_header(part) == header
        except BrokenHeaderError as error:
            assert length < header.height_at + 16
            assert "JPEG" in str(error)
        assert luma_steps(part) in ((), luma_steps(data))
        assert not has_end(part) or part.rfind(b"\xff\xd9") >= 0


@given(st.lists(st.tuples(st.integers(0, 700), st.integers(0, 255)), max_size=8))
@settings(max_examples=150)
def test_damaged_bytes_raise_nothing_but_the_one_error(changes: list[tuple[int, int]]) -> None:
    data = bytearray(DAMAGED)
    for at, value in changes:
        data[at % len(data)] = value
    assert len(luma_steps(bytes(data))) in (0, 64)
    try:
        header = read_header(bytes(data))
    except BrokenHeaderError:
        return
    assert header.width_px > 0 and header.height_px > 0
    assert cut_below(bytes(data), header, 8)


DAMAGED = jpeg(16, 16)


@pytest.mark.parametrize("data", [b"", b"\xff", b"\xff\xd9", b"II*\0", b"\xff\xd8", b"\xff\xd8\xff\xff\xff\xff"])
def test_what_is_no_jpeg_is_said_so(data: bytes) -> None:
    with pytest.raises(BrokenHeaderError, match="JPEG"):
        read_header(data)
    assert luma_steps(data) == ()
