"""Pictures as files: a JPEG with Exif, and a raw file that is a little-endian TIFF.

The raw file, in the order of its directories:

    IFD0     NewSubfileType 1, a small uncompressed RGB thumbnail, camera, Exif directory, SubIFDs
    SubIFD 0 NewSubfileType 0, the sensor: 16 bits, one plane, photometric 32803 (colour filter array,
             red green / green blue), BlackLevel and WhiteLevel tags, one strip
    SubIFD 1 NewSubfileType 1, the full-size JPEG preview: Compression 7, one strip whose bytes
             (StripOffsets, StripByteCounts) are a complete JPEG file with its own Exif

Tags are those of TIFF 6.0, TIFF/EP (ISO 12234-2) and Exif (CIPA DC-008). Flash says 'did not fire', as it
does in cameras whose flash is fired by radio.
"""

from __future__ import annotations

import io
import struct
from fractions import Fraction

from PIL import Image, TiffImagePlugin

from mock_camera.table.imaging import BLACK_LEVEL, SENSOR_BITS, ReleasedPicture
from mock_camera.table.world import Shot

MAKE, MODEL, SERIAL = "Invented Optical Works", "Wendle 16", "000001"
LENS = "Bench Macro"
EXIF_POINTER, SUB_IFDS = 0x8769, 0x014A
THUMBNAIL_PX = (192, 128)
STRIP_OFFSETS = 0x0111
SHORT, LONG, RATIONAL, BYTE = 3, 4, 5, 1


def encode_jpeg(
    picture: ReleasedPicture,
    shot: Shot,
    *,
    quality: int = 92,
    make: str = MAKE,
    model: str = MODEL,
    serial: str = SERIAL,
) -> bytes:
    """The picture as a JPEG with Exif, colour at half resolution (4:2:0)."""
    exif = Image.Exif()
    exif.update(_camera_tags(picture, shot, make, model))
    exif.get_ifd(EXIF_POINTER).update(_exif_tags(picture, shot, serial))
    out = io.BytesIO()
    Image.fromarray(picture.rgb).save(out, "JPEG", quality=quality, exif=exif)
    return out.getvalue()


def encode_raw(
    picture: ReleasedPicture, shot: Shot, *, make: str = MAKE, model: str = MODEL, serial: str = SERIAL
) -> bytes:
    """The sensor's values and a full-size JPEG preview in one TIFF file, laid out as above."""
    preview = encode_jpeg(picture, shot, make=make, model=model, serial=serial)
    height, width = picture.mosaic.shape
    small = Image.fromarray(picture.rgb).resize(THUMBNAIL_PX, Image.Resampling.BOX)
    out = bytearray(8)

    def place(data: bytes) -> int:
        out.extend(bytes(len(out) % 2))
        out.extend(data)
        return len(out) - len(data)

    thumbnail_at = place(small.tobytes())
    sensor_at = place(picture.mosaic.astype("<u2").tobytes())
    preview_at = place(preview)
    exif_at = place(_directory(_exif_tags(picture, shot, serial), len(out) + len(out) % 2))
    sensor = {
        0x00FE: 0,
        0x0100: width,
        0x0101: height,
        0x0102: 16,
        0x0103: 1,
        0x0106: 32803,
        0x0111: sensor_at,
        0x0115: 1,
        0x0116: height,
        0x0117: height * width * 2,
        0x011C: 1,
        0x828D: (2, 2),
        0x828E: bytes((0, 1, 1, 2)),
        0xC61A: BLACK_LEVEL,
        0xC61D: (1 << SENSOR_BITS) - 1,
    }
    sensor_ifd = place(_directory(sensor, len(out) + len(out) % 2))
    view = {
        0x00FE: 1,
        0x0100: width,
        0x0101: height,
        0x0102: (8, 8, 8),
        0x0103: 7,
        0x0106: 6,
        0x0111: preview_at,
        0x0115: 3,
        0x0116: height,
        0x0117: len(preview),
        0x0212: (2, 2),
    }
    view_ifd = place(_directory(view, len(out) + len(out) % 2))
    first = {
        **_camera_tags(picture, shot, make, model),
        0x00FE: 1,
        0x0100: THUMBNAIL_PX[0],
        0x0101: THUMBNAIL_PX[1],
        0x0102: (8, 8, 8),
        0x0103: 1,
        0x0106: 2,
        0x0111: thumbnail_at,
        0x0115: 3,
        0x0116: THUMBNAIL_PX[1],
        0x0117: THUMBNAIL_PX[0] * THUMBNAIL_PX[1] * 3,
        0x011C: 1,
        SUB_IFDS: (sensor_ifd, view_ifd),
        EXIF_POINTER: exif_at,
    }
    first_at = place(_directory(first, len(out) + len(out) % 2))
    out[:8] = struct.pack("<2sHL", b"II", 42, first_at)
    return bytes(out)


def _camera_tags(picture: ReleasedPicture, shot: Shot, make: str, model: str) -> dict[int, object]:
    return {
        0x010F: make,
        0x0110: model,
        0x0112: picture.truth["orientation"],
        0x011A: _rational(300),
        0x011B: _rational(300),
        0x0128: 2,
        0x0132: f"{shot.taken_at:%Y:%m:%d %H:%M:%S}",
    }


def _exif_tags(picture: ReleasedPicture, shot: Shot, serial: str) -> dict[int, object]:
    height, width = picture.rgb.shape[:2]
    taken, offset = f"{shot.taken_at:%Y:%m:%d %H:%M:%S}", _offset(shot)
    per_cm = _rational(10 / picture.measure("pixel_pitch_mm"))
    return {
        0x829A: _exposure(shot.exposure_s),
        0x829D: _rational(shot.f_number),
        0x8822: 1,  # manual
        0x8827: shot.iso,
        0x8830: 2,  # recommended exposure index
        0x8832: shot.iso,
        0x9000: b"0232",
        0x9003: taken,
        0x9004: taken,
        0x9010: offset,
        0x9011: offset,
        0x9012: offset,
        0x9207: 1,
        0x9209: 0,  # did not fire: fired by radio
        0x920A: _rational(picture.measure("focal_length_mm")),
        0x9291: f"{shot.taken_at.microsecond // 10_000:02d}",
        0xA001: 1,
        0xA002: width,
        0xA003: height,
        0xA20E: per_cm,
        0xA20F: per_cm,
        0xA210: 3,  # centimetre
        0xA402: 1,
        0xA403: 1,
        0xA431: serial,
        0xA434: LENS,
    }


def _rational(value: float) -> TiffImagePlugin.IFDRational:
    ratio = Fraction(value).limit_denominator(1000)
    return TiffImagePlugin.IFDRational(ratio.numerator, ratio.denominator)


def _exposure(exposure_s: float) -> TiffImagePlugin.IFDRational:
    """1/200 as cameras write it; whole seconds and odd times as the nearest fraction."""
    inverse = round(1 / exposure_s)
    if inverse >= 2 and abs(inverse * exposure_s - 1) < 1e-3:
        return TiffImagePlugin.IFDRational(1, inverse)
    return _rational(exposure_s)


def _offset(shot: Shot) -> str:
    """Offset from UTC; +00:00 for a time without a zone."""
    minutes = round((shot.taken_at.utcoffset() or shot.taken_at - shot.taken_at).total_seconds() / 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def _directory(tags: dict[int, object], offset: int) -> bytes:
    """A TIFF directory and its values, for a place at `offset` in the file."""
    ifd = TiffImagePlugin.ImageFileDirectory_v2(prefix=b"II")
    for tag, value in tags.items():
        if isinstance(value, TiffImagePlugin.IFDRational):
            ifd.tagtype[tag] = RATIONAL
        elif tag in (SUB_IFDS, EXIF_POINTER, 0x0111, 0x0117, 0x8832):
            ifd.tagtype[tag] = LONG
        elif tag == 0x828D:
            ifd.tagtype[tag] = SHORT
        elif tag == 0x828E:
            ifd.tagtype[tag] = BYTE
        ifd[tag] = value
    data = bytearray(ifd.tobytes(offset))
    if STRIP_OFFSETS in tags:  # Pillow takes this one for relative to the directory's end, here it is absolute
        places = range(2, 2 + 12 * len(tags), 12)
        entry = next(place for place in places if struct.unpack_from("<H", data, place) == (STRIP_OFFSETS,))
        struct.pack_into("<L", data, entry + 8, tags[STRIP_OFFSETS])
    return bytes(data)
