"""The files that the mock camera writes, read by libraries that know nothing of it."""

import io
from fractions import Fraction
from typing import Any

import exifread
import numpy as np
import pytest
import tifffile
from PIL import ExifTags, Image

from mock_camera.body.encode import encode_jpeg, encode_raw
from mock_camera.table.imaging import ReleasedPicture
from mock_camera.table.world import World
from tests.support.still_life import shot


@pytest.fixture(scope="module")
def picture() -> ReleasedPicture:
    return World(pixels=(384, 256)).expose(shot(), 10)


def exif_of(data: bytes) -> dict[str, object]:
    tags: dict[str, object] = exifread.process_file(io.BytesIO(data), details=False)
    return tags


@pytest.mark.parametrize("encode", [encode_jpeg, encode_raw])
def test_exif_reads_as_the_settings_of_the_shot(picture: ReleasedPicture, encode: object) -> None:
    # names and meanings: CIPA DC-008; read by exifread
    tags = exif_of(encode(picture, shot(exposure_s=1 / 200, f_number=11, iso=200)))
    assert str(tags["EXIF ExposureTime"]) == "1/200"
    assert str(tags["EXIF FNumber"]) == "11"
    assert str(tags["EXIF ISOSpeedRatings"]) == "200"
    assert str(tags["EXIF DateTimeOriginal"]) == "2026:11:03 09:30:15"
    assert str(tags["EXIF SubSecTimeOriginal"]) == "25"
    assert str(tags["EXIF OffsetTimeOriginal"]) == "+01:00"
    assert str(tags["EXIF FocalLength"]) == "100"
    assert "did not fire" in str(tags["EXIF Flash"])
    assert str(tags["EXIF BodySerialNumber"]) == "000001"
    assert str(tags["Image Make"]) == "Invented Optical Works"
    assert str(tags["Image Orientation"]) == "Horizontal (normal)"


def test_focal_plane_resolution_gives_the_pixel_pitch(picture: ReleasedPicture) -> None:
    # pixel pitch = unit / resolution; unit 3 = centimetre
    exif = Image.open(io.BytesIO(encode_jpeg(picture, shot()))).getexif().get_ifd(ExifTags.IFD.Exif)
    assert exif[ExifTags.Base.FocalPlaneResolutionUnit] == 3
    assert 10 / float(exif[ExifTags.Base.FocalPlaneXResolution]) == pytest.approx(24 / 384, rel=1e-4)


@pytest.mark.parametrize(
    ("exposure_s", "written"),
    [
        (1 / 200, Fraction(1, 200)),
        (1 / 8000, Fraction(1, 8000)),
        (0.5, Fraction(1, 2)),
        (2.0, Fraction(2)),
        (1.3, Fraction(13, 10)),
    ],
)
def test_exposure_time_is_written_as_photographers_do(
    picture: ReleasedPicture, exposure_s: float, written: Fraction
) -> None:
    data = encode_jpeg(picture, shot(exposure_s=exposure_s))
    exif = Image.open(io.BytesIO(data)).getexif().get_ifd(ExifTags.IFD.Exif)
    time = exif[ExifTags.Base.ExposureTime]
    assert Fraction(time.numerator, time.denominator) == written


def test_jpeg_shows_the_picture(picture: ReleasedPicture) -> None:
    shown = np.asarray(Image.open(io.BytesIO(encode_jpeg(picture, shot(), quality=95))), np.float64)
    assert shown.shape == (256, 384, 3)
    # brightness is kept to a few codes; colour is stored at half the resolution
    weights = np.array([0.299, 0.587, 0.114])
    assert np.abs(shown @ weights - picture.rgb @ weights).mean() < 2


def test_raw_opens_in_pillow_as_its_thumbnail(picture: ReleasedPicture) -> None:
    image = Image.open(io.BytesIO(encode_raw(picture, shot())))
    image.load()
    assert (image.format, image.size, image.mode) == ("TIFF", (192, 128), "RGB")


def test_raw_holds_the_sensor_and_a_full_size_preview(picture: ReleasedPicture) -> None:
    data = encode_raw(picture, shot())
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        assert file.byteorder == "<"
        pages: Any = file.pages[0]
        sensor, preview = pages.pages
        assert sensor.tags["PhotometricInterpretation"].value == 32803  # colour filter array, TIFF/EP
        assert sensor.tags["CFAPattern"].value == bytes((0, 1, 1, 2))
        assert sensor.tags["NewSubfileType"].value == 0
        start, count = sensor.tags["StripOffsets"].value[0], sensor.tags["StripByteCounts"].value[0]
        values = np.frombuffer(data[start : start + count], "<u2").reshape(256, 384)
        assert np.array_equal(values, picture.mosaic)
        assert preview.tags["NewSubfileType"].value == 1
        assert preview.tags["Compression"].value == 7
        start, count = preview.tags["StripOffsets"].value[0], preview.tags["StripByteCounts"].value[0]
    assert data[start : start + 2] == b"\xff\xd8"
    assert data[start + count - 2 : start + count] == b"\xff\xd9"
    assert data[start : start + count] == encode_jpeg(picture, shot())


def test_mosaic_is_the_picture_before_its_tone_curve(picture: ReleasedPicture) -> None:
    # sRGB to linear, IEC 61966-2-1: code 118 is 0.18116
    code = picture.rgb[0::2, 1::2, 1] / 255
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    values = (picture.mosaic[0::2, 1::2].astype(np.float64) - 512) / (16383 - 512)
    assert np.abs(values - light).max() < 0.006


def test_orientation_of_a_turned_camera_is_in_the_file() -> None:
    world = World(pixels=(192, 128))
    world.do("body", orientation=8)
    data = encode_jpeg(world.expose(shot(), 1), shot())
    assert Image.open(io.BytesIO(data)).getexif()[ExifTags.Base.Orientation] == 8
