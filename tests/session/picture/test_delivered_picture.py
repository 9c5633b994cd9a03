"""Delivered pictures, read back by other libraries: size, crop, resolution and the profile of their colours."""

from __future__ import annotations

import io
import struct
from pathlib import Path

import colour
import cv2
import exifread
import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from session.picture.delivered_picture import DeliveredSize, DeliveryCrop, cut_for, deliver, upright_size
from session.units.refusals import UnreadableTextError

INCH_PPI = 300.0


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    """600 × 400 px, red on the left half and green on the right one."""
    codes = np.zeros((400, 600, 3), np.uint8)
    codes[:, :300, 0] = codes[:, 300:, 1] = 200
    Image.fromarray(codes).save(tmp_path / "picture.jpg", quality=95, subsampling=0)
    return tmp_path / "picture.jpg"


@pytest.mark.parametrize(
    ("wanted", "centre", "cut"),
    [
        (DeliveredSize(), (0.5, 0.5), DeliveryCrop((0, 0, 600, 400), 600, 400, True)),
        (DeliveredSize(300, None), (0.5, 0.5), DeliveryCrop((0, 0, 600, 400), 300, 200, True)),
        (DeliveredSize(ratio=0.8), (0.5, 0.5), DeliveryCrop((140, 0, 460, 400), 320, 400, True)),
        (DeliveredSize(ratio=0.8), (0.0, 0.5), DeliveryCrop((0, 0, 320, 400), 320, 400, True)),
        (DeliveredSize(ratio=0.8), (0.9, 0.5), DeliveryCrop((280, 0, 600, 400), 320, 400, True)),
        (DeliveredSize(160, 200, 0.8), (0.5, 0.5), DeliveryCrop((140, 0, 460, 400), 160, 200, True)),
        (DeliveredSize(1200, 1500, 0.8), (0.5, 0.5), DeliveryCrop((140, 0, 460, 400), 320, 400, False)),
        (DeliveredSize(ratio=3.0), (0.5, 0.1), DeliveryCrop((0, 0, 600, 200), 600, 200, True)),
    ],
)
def test_the_crop_is_the_largest_of_its_ratio_round_the_region(
    wanted: DeliveredSize, centre: tuple[float, float], cut: DeliveryCrop
) -> None:
    assert cut_for(600, 400, wanted, centre) == cut


def test_the_crop_lies_in_the_picture_for_any_size() -> None:
    random = np.random.default_rng(5)
    for _ in range(500):
        width, height = (int(side) for side in random.integers(1, 3000, 2))
        wanted = DeliveredSize(int(random.integers(1, 3000)), None, float(random.uniform(0.05, 20)))
        cut = cut_for(width, height, wanted, tuple(random.uniform(0, 1, 2)))
        left, top, right, bottom = cut.box
        assert 0 <= left < right <= width and 0 <= top < bottom <= height
        assert cut.width_px <= right - left and cut.height_px <= bottom - top, "never made larger"


def test_a_jpeg_has_size_resolution_and_profile(picture: Path) -> None:
    data = deliver(picture, "jpeg", DeliveredSize(160, 200, 0.8, INCH_PPI), (0.0, 0.5))
    read = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    assert read is not None and read.shape == (200, 160, 3)
    blue, green, red = (int(code) for code in read[100, 80])
    assert red > 180 and green < 30 and blue < 30, "the left of the picture"
    assert data[6:11] == b"JFIF\0" and data[13] == 1, "pixels per inch (ITU-T T.871, 10.1)"
    assert int.from_bytes(data[14:16], "big") == int.from_bytes(data[16:18], "big") == 300
    assert b"ICC_PROFILE\0" in data and b"acsp" in data, "ICC.1:2022, 7.2.9 and annex B.4"


def test_a_tiff_has_size_resolution_and_profile(picture: Path) -> None:
    data = deliver(picture, "tiff", DeliveredSize(160, 200, 0.8, INCH_PPI), (1.0, 0.5))
    tags = exifread.process_file(io.BytesIO(data), details=False)
    assert [tags[f"Image {name}"].values[0] for name in ("ImageWidth", "ImageLength")] == [160, 200]
    assert float(tags["Image XResolution"].values[0]) == float(tags["Image YResolution"].values[0]) == 300
    assert tags["Image ResolutionUnit"].values[0] == 2, "inches (TIFF 6.0)"
    assert b"acsp" in data
    read = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    assert read is not None and int(read[100, 80, 1]) > 180, "the right of the picture"


def embedded_profile(jpeg: bytes) -> bytes:
    """The profile in a JPEG's one APP2 segment (ICC.1:2022, annex B.4)."""
    at = jpeg.index(b"ICC_PROFILE\0")
    assert jpeg[at - 4 : at - 2] == b"\xff\xe2" and jpeg[at + 12 : at + 14] == b"\x01\x01", "the first of one"
    return jpeg[at + 14 : at - 2 + int.from_bytes(jpeg[at - 2 : at], "big")]


def primary(profile: bytes, name: bytes) -> list[float]:
    """An XYZ tag's three numbers, s15Fixed16 (ICC.1:2022, 7.3, 10.31 and 4.6), taken apart by hand."""
    count = int.from_bytes(profile[128:132], "big")
    entries = [profile[132 + 12 * i : 144 + 12 * i] for i in range(count)]
    (at,) = (int.from_bytes(entry[4:8], "big") for entry in entries if entry[:4] == name)
    assert profile[at : at + 4] == b"XYZ "
    return [value / 65536 for value in struct.unpack(">3i", profile[at + 8 : at + 20])]


def test_both_kinds_hold_the_profile_of_srgb_as_a_colour_library_has_it(picture: Path) -> None:
    """The primaries of IEC 61966-2-1 as `colour` has them, adapted to the profile's D50 by Bradford's matrix."""
    with tifffile.TiffFile(io.BytesIO(deliver(picture, "tiff", DeliveredSize()))) as tiff:
        profile = tiff.pages[0].iccprofile
    assert profile == embedded_profile(deliver(picture, "jpeg", DeliveredSize()))
    assert int.from_bytes(profile[:4], "big") == len(profile) and profile[36:40] == b"acsp"
    assert (profile[12:16], profile[16:20], profile[20:24]) == (b"mntr", b"RGB ", b"XYZ ")
    srgb = colour.RGB_COLOURSPACES["sRGB"]
    d65, d50 = (
        colour.xy_to_XYZ(colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name]) for name in ("D65", "D50")
    )
    wanted = colour.adaptation.matrix_chromatic_adaptation_VonKries(d65, d50, "Bradford") @ srgb.matrix_RGB_to_XYZ
    found = np.array([primary(profile, name) for name in (b"rXYZ", b"gXYZ", b"bXYZ")]).T
    assert np.abs(found - wanted).max() < 0.0006


def test_the_crop_is_where_it_was_asked_for_by_another_reader(tmp_path: Path) -> None:
    """Red tells how far right a pixel lay, green how far down; of 600 × 400 px 320 × 400 round 70 % are wanted.

    A code is 2.3 px wide, and coding moves some by one: the mean is held to half a pixel, less than a crop can be off.
    """
    across, down = np.meshgrid(np.arange(600), np.arange(400))
    codes = np.stack([across * 255 / 599, down * 255 / 399, np.full((400, 600), 128)], axis=2).round().astype(np.uint8)
    Image.fromarray(codes).save(tmp_path / "ramps.jpg", quality=98, subsampling=0)
    left = cut_for(600, 400, DeliveredSize(ratio=0.8), (0.7, 0.5)).box[0]
    for width, height in ((320, 400), (160, 200)):
        wanted = DeliveredSize(width, height, 0.8, INCH_PPI)
        read = tifffile.imread(io.BytesIO(deliver(tmp_path / "ramps.jpg", "tiff", wanted, (0.7, 0.5)))).astype(float)
        assert read.shape == (height, width, 3)
        from_left_px = read.mean(axis=0)[:, 0] * 599 / 255
        assert abs(np.mean(from_left_px - (left + (np.arange(width) + 0.5) * 320 / width - 0.5))) < 0.5
        from_top_px = read.mean(axis=1)[:, 1] * 399 / 255
        assert abs(np.mean(from_top_px - ((np.arange(height) + 0.5) * 400 / height - 0.5))) < 0.5


def test_the_same_picture_comes_out_the_same(picture: Path) -> None:
    wanted = DeliveredSize(160, 200, 0.8, INCH_PPI)
    assert deliver(picture, "jpeg", wanted) == deliver(picture, "jpeg", wanted)
    assert deliver(picture, "tiff", wanted) == deliver(picture, "tiff", wanted)


def test_a_picture_in_another_space_is_brought_to_srgb(tmp_path: Path) -> None:
    """Lab's own profile gives codes that mean something else; taken through it, grey stays grey."""
    grey = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    path = tmp_path / "profiled.jpg"
    Image.new("RGB", (40, 40), (120, 120, 120)).save(path, icc_profile=grey)
    read = cv2.imdecode(np.frombuffer(deliver(path, "jpeg", DeliveredSize()), np.uint8), cv2.IMREAD_COLOR)
    assert read is not None and np.abs(read.astype(int) - 120).max() <= 2


def test_a_turned_picture_stands_upright(tmp_path: Path) -> None:
    codes = np.zeros((40, 80, 3), np.uint8)
    codes[:, :40, 0] = 200
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera was turned: the first row is at the right (Exif 2.32)
    Image.fromarray(codes).save(tmp_path / "turned.jpg", exif=exif, quality=95)
    assert upright_size(tmp_path / "turned.jpg") == (40, 80)
    data = deliver(tmp_path / "turned.jpg", "jpeg", DeliveredSize())
    with Image.open(io.BytesIO(data)) as read:
        assert read.size == (40, 80) and not read.getexif().get(0x0112)
        assert read.getpixel((20, 5))[0] > 150 > read.getpixel((20, 75))[0]  # type: ignore[index]


@pytest.mark.parametrize("data", [b"", b"\xff\xd8\xff", b"GIF89a\x01\x00\x01\x00", b"\xff\xd8\xff\xe0" + b"\0" * 500])
def test_what_is_no_picture_is_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "a.jpg").write_bytes(data)
    with pytest.raises((UnreadableTextError, OSError)):
        deliver(tmp_path / "a.jpg", "jpeg", DeliveredSize())
    with pytest.raises(UnreadableTextError):
        upright_size(tmp_path / "a.jpg")
