"""Pictures from files, against Pillow's own full decode, and files that are no pictures."""

from __future__ import annotations

import io
import os
import struct
import zlib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageOps

from mock_camera.body.encode import encode_jpeg, encode_raw
from mock_camera.table.world import Shot, World
from session.picture.preview import (
    Box,
    UnreadablePicture,
    decode,
    decode_small_and_grey,
    open_picture,
    overview_reduction,
)
from tests.support.made_pictures import jpeg_bytes

WIDTH, HEIGHT = 700, 500


@pytest.fixture(scope="module")
def colour() -> np.ndarray:
    """A picture without symmetry, smooth enough that chroma coding does little."""
    small = np.random.default_rng(3).integers(0, 256, (50, 70, 3), dtype=np.uint8)
    return np.asarray(Image.fromarray(small).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC))


def saved(folder: Path, data: bytes, name: str = "a.jpg") -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("orientation", range(1, 9))
def test_picture_is_upright_whatever_the_orientation(tmp_path: Path, colour: np.ndarray, orientation: int) -> None:
    """Independent route: Pillow's own exif_transpose of the full decode."""
    exif = Image.Exif()
    exif[0x112] = orientation
    path = saved(tmp_path, jpeg_bytes(colour, exif=exif.tobytes()))
    with Image.open(path) as image:
        upright = np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
    assert np.array_equal(decode(open_picture(path), colour=True).pixels, upright)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("subsampling", [0, 1, 2])
def test_window_holds_the_same_pixels_as_the_full_decode(
    tmp_path: Path, colour: np.ndarray, orientation: int, subsampling: int
) -> None:
    exif = Image.Exif()
    exif[0x112] = orientation
    source = open_picture(saved(tmp_path, jpeg_bytes(colour, exif=exif.tobytes(), subsampling=subsampling)))
    full = decode(source).pixels
    box = Box(101, 67, 303, 211)
    window = decode(source, box=box)
    assert (window.left_px, window.top_px, window.scale) == (101, 67, 1.0)
    assert np.array_equal(window.pixels, full[box.top : box.bottom, box.left : box.right])


@pytest.mark.parametrize("kind", [{"restart_marker_blocks": 3}, {"progressive": True}, {"optimize": True}])
def test_window_of_other_codings_is_the_same_too(tmp_path: Path, colour: np.ndarray, kind: dict[str, Any]) -> None:
    source = open_picture(saved(tmp_path, jpeg_bytes(colour, **kind)))
    full = decode(source).pixels
    assert np.array_equal(decode(source, box=Box(40, 30, 240, 130)).pixels, full[30:130, 40:240])


@pytest.mark.parametrize("reduce", [2, 4, 8])
def test_reduced_decode_shows_block_means(tmp_path: Path, colour: np.ndarray, reduce: int) -> None:
    """libjpeg's scaled inverse DCT against the mean of the full decode; a smooth picture agrees to a few codes."""
    source = open_picture(saved(tmp_path, jpeg_bytes(colour)))
    small = decode(source, reduce=reduce)
    height, width = HEIGHT // reduce, WIDTH // reduce
    full = decode(source).pixels[: height * reduce, : width * reduce].astype(float)
    means = full.reshape(height, reduce, width, reduce).mean(axis=(1, 3))
    assert small.scale == 1 / reduce
    assert np.abs(small.pixels[:height, :width] - means).mean() < 2


@pytest.mark.parametrize("orientation", [1, 3, 6, 7])
@pytest.mark.parametrize("subsampling", [0, 1, 2])
@pytest.mark.parametrize("grey", [2, 4])
def test_one_decode_gives_the_grey_parts_and_the_small_colour_that_two_would(
    tmp_path: Path, colour: np.ndarray, grey: int, subsampling: int, orientation: int
) -> None:
    exif = Image.Exif()
    exif[0x112] = orientation
    whole_blocks = colour[:496, :696]  # so that blocks of 8 are the same from whichever side they are counted
    source = open_picture(saved(tmp_path, jpeg_bytes(whole_blocks, exif=exif.tobytes(), subsampling=subsampling)))
    small, whole = decode_small_and_grey(source, small=8, grey=grey)
    box = Box(53, 31, 190, 144)
    part, alone = whole.part(box), decode(source, reduce=grey, box=box)
    assert np.array_equal(part.pixels, alone.pixels)
    assert (part.scale, part.left_px, part.top_px) == (alone.scale, alone.left_px, alone.top_px)
    other, full = decode(source, reduce=8, colour=True), decode(source, colour=True)
    assert small.scale == other.scale
    assert small.pixels.shape == other.pixels.shape
    means = np.asarray(Image.fromarray(full.pixels).reduce(8)).astype(float)
    assert np.abs(small.pixels - means).mean() < np.abs(other.pixels - means).mean() + 0.5


def test_picture_without_chroma_is_decoded_for_both_too(tmp_path: Path, colour: np.ndarray) -> None:
    source = open_picture(saved(tmp_path, jpeg_bytes(colour[..., 1])))
    small, whole = decode_small_and_grey(source, small=8, grey=2)
    assert small.pixels.shape[2] == 3
    assert np.array_equal(whole.part(Box(8, 8, 88, 64)).pixels, decode(source, reduce=2, box=Box(8, 8, 88, 64)).pixels)


def test_overview_is_as_small_as_asked_and_no_smaller(tmp_path: Path, colour: np.ndarray) -> None:
    source = open_picture(saved(tmp_path, jpeg_bytes(colour)))
    assert [overview_reduction(source, wanted) for wanted in (90, 150, 350, 351)] == [4, 4, 2, 1]


def shot() -> Shot:
    return Shot(exposure_s=1 / 200, f_number=11.0, iso=100, taken_at=datetime(2026, 11, 2, tzinfo=UTC), number=1)


def test_raw_gives_its_embedded_full_size_preview(tmp_path: Path) -> None:
    picture = World(seed=5, pixels=(384, 256)).expose(shot(), 100.0)
    raw = open_picture(saved(tmp_path, encode_raw(picture, shot()), "a.raw"))
    jpeg = open_picture(saved(tmp_path, encode_jpeg(picture, shot())))
    assert (raw.kind, raw.scale, raw.full_width_px, raw.full_height_px) == ("raw", 1.0, 384, 256)
    assert np.array_equal(decode(raw).pixels, decode(jpeg).pixels)


def tiff(entries: dict[int, int], payload: bytes) -> bytes:
    """A little-endian TIFF of one directory of LONG values; `payload` begins at byte 400."""
    body = b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in sorted(entries.items()))
    head = b"II*\0" + struct.pack("<IH", 8, len(entries)) + body + struct.pack("<I", 0)
    return head.ljust(400, b"\0") + payload


def test_small_preview_tells_its_scale_against_the_sensor(tmp_path: Path, colour: np.ndarray) -> None:
    data = jpeg_bytes(colour)
    tags = {0x100: 2800, 0x101: 2000, 0x106: 32803, 0x201: 400, 0x202: len(data)}
    source = open_picture(saved(tmp_path, tiff(tags, data), "a.raw"))
    assert (source.full_width_px, source.full_height_px, source.scale) == (2800, 2000, 0.25)
    window = decode(source, box=Box(400, 200, 1200, 800))
    assert window.pixels.shape == (150, 200)
    assert (window.left_px, window.top_px, window.scale) == (400, 200, 0.25)


def test_raw_without_a_preview_is_refused_and_never_decoded(tmp_path: Path) -> None:
    tags = {0x100: 60, 0x101: 40, 0x106: 32803, 0x111: 400, 0x117: 4800}
    path = saved(tmp_path, tiff(tags, bytes(4800)), "a.raw")
    with pytest.raises(UnreadablePicture, match="without an embedded JPEG preview"):
        open_picture(path)


def with_size(data: bytes, width: int, height: int) -> bytes:
    """A JPEG whose frame header says another size."""
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + struct.pack(">HH", height, width) + data[at + 4 :]


def png_header(width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.new("L", (1, 1)).save(out, "PNG")
    ihdr = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    data = out.getvalue()
    return data[:8] + struct.pack(">I", 13) + ihdr + struct.pack(">I", zlib.crc32(ihdr)) + data[33:]


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("empty", "is empty"),
        ("two bytes", "cut short"),
        ("header only", "cut short"),
        ("text", "no picture"),
        ("jpeg bomb", "30000 × 30000"),
        ("png bomb", "far too many pixels"),
        ("ribbon", "65000 × 8"),
        ("12 bits", "12 bits"),
    ],
)
def test_what_is_no_picture_is_refused_with_a_clause(
    tmp_path: Path, colour: np.ndarray, name: str, sentence: str
) -> None:
    good = jpeg_bytes(colour)
    frame_at = good.index(b"\xff\xc0")
    data = {
        "empty": b"",
        "two bytes": b"\xff\xd8",
        "header only": good[: frame_at + 6],
        "text": b"this is no picture at all",
        "jpeg bomb": with_size(good, 30000, 30000),
        "png bomb": png_header(30000, 30000),
        "ribbon": with_size(good, 65000, 8),
        "12 bits": good[: frame_at + 4] + b"\x0c" + good[frame_at + 5 :],
    }[name]
    with pytest.raises(UnreadablePicture, match=sentence):
        open_picture(saved(tmp_path, data))


def test_missing_file_and_folder_are_refused_with_a_clause(tmp_path: Path) -> None:
    for path in (tmp_path / "none.jpg", tmp_path):
        with pytest.raises(UnreadablePicture, match="can't be read"):
            open_picture(path)


def test_pipe_and_device_are_refused_without_waiting_for_them(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.jpg"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero")):
        with pytest.raises(UnreadablePicture, match="it is no file"):
            open_picture(path)


@pytest.mark.parametrize(
    "start", [b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"II*\0" + struct.pack("<IH", 8, 0) + bytes(4)]
)
def test_file_longer_than_any_picture_is_not_read_into_memory(tmp_path: Path, start: bytes) -> None:
    path = saved(tmp_path, start)
    os.truncate(path, 10**12)  # holes take no room on the disk
    with pytest.raises(UnreadablePicture, match="1000000 MB long; not opened"):
        open_picture(path)


def test_cut_jpeg_is_known_by_its_missing_end(tmp_path: Path, colour: np.ndarray) -> None:
    good = jpeg_bytes(colour)
    assert open_picture(saved(tmp_path, good)).complete
    cut = open_picture(saved(tmp_path, good[: len(good) // 2]))
    assert not cut.complete
    with pytest.raises(UnreadablePicture, match="can't be decoded"):
        decode(cut)


def test_padding_after_the_end_marker_is_no_fault(tmp_path: Path, colour: np.ndarray) -> None:
    assert open_picture(saved(tmp_path, jpeg_bytes(colour) + bytes(512))).complete


def test_cmyk_16_bit_and_grey_pictures_are_read(tmp_path: Path, colour: np.ndarray) -> None:
    cmyk = tmp_path / "cmyk.jpg"
    Image.fromarray(colour).convert("CMYK").save(cmyk, quality=95)
    deep = tmp_path / "deep.png"
    Image.fromarray(np.asarray(Image.fromarray(colour).convert("L")).astype(np.uint16) * 257).save(deep)
    wanted = np.asarray(Image.fromarray(colour).convert("L")).astype(int)
    for path in (cmyk, deep):
        grey = decode(open_picture(path)).pixels
        assert grey.shape == (HEIGHT, WIDTH)
        assert np.abs(grey.astype(int) - wanted).mean() < 3
        assert decode(open_picture(path), colour=True).pixels.shape == (HEIGHT, WIDTH, 3)


def test_damaged_files_give_a_picture_or_a_clause_and_nothing_else(tmp_path: Path, colour: np.ndarray) -> None:
    rng = np.random.default_rng(11)
    exif = Image.Exif()
    exif[0x112] = 6
    goods = [
        jpeg_bytes(colour[:96, :128], exif=exif.tobytes()),
        tiff({0x100: 128, 0x101: 96, 0x201: 400, 0x202: 9000}, jpeg_bytes(colour[:96, :128])),
    ]
    refused = 0
    for attempt in range(400):
        data = bytearray(goods[attempt % 2])
        for _ in range(int(rng.integers(1, 6))):
            data[int(rng.integers(0, min(len(data), 700)))] = int(rng.integers(0, 256))
        path = saved(tmp_path, bytes(data[: int(rng.integers(8, len(data)))]) if attempt % 3 == 0 else bytes(data))
        try:
            source = open_picture(path)
            decode(source, reduce=2, colour=True)
            decode(source, box=Box(0, 0, source.full_width_px, 16))
        except UnreadablePicture as error:
            refused += 1
            assert str(error)
    assert 0 < refused < 400


@pytest.mark.parametrize("path", ["/p/\0.jpg", "/p/\ud800.jpg"])
def test_a_name_that_no_file_can_have_is_told(path: str) -> None:
    with pytest.raises(UnreadablePicture, match="no file can have that name"):
        open_picture(path)
