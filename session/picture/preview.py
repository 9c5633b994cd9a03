"""Pictures from files: as small as will do, never a full decode of a raw.

A JPEG is decoded at the scale that is asked for, or only down to the last row of a window. Of a raw file the
largest embedded JPEG is used. Pixels are upright (turned by the Exif orientation), row 0 at the top;
places are in pixels of the full-size upright picture, whatever the scale of the pixels at hand.
"""

from __future__ import annotations

import io
import math
import os
import stat
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.picture import jpeg, stored_preview, tiff
from session.units.file_kinds import SOI, FileKind

MAX_JPEG_PIXELS = 170_000_000
"""Larger headers are refused: the largest sensors in cameras hold 150 million pixels (common practice), and the
decoder's own guard against decompression bombs stands at 179 million."""

MAX_OTHER_PIXELS = 60_000_000
"""For formats that can only be decoded whole: 180 MB as colour."""

MAX_FILE_BYTES = 600_000_000
"""Read into memory at most: four bytes for each of the most pixels, more than any camera's JPEG takes. A longer file,
or an embedded JPEG that says it is longer, is no picture."""

MAX_RATIO = 40
"""No camera makes a picture 40 times as long as high. Guard against nonsense headers."""

GREY_MODES_16 = ("I;16", "I;16B", "I;16L", "I")
ORIENTATION_TAG = 0x112
SWAPS_SIDES, FLIPS_ACROSS, FLIPS_DOWN = frozenset({5, 6, 7, 8}), frozenset({2, 3, 6, 7}), frozenset({3, 4, 7, 8})
"""Exif orientations (CIPA DC-008, tag 0112) as what leads from upright to stored: flip upright left and right,
flip upright top and bottom, then swap the sides."""

_TRANSPOSE = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


class UnreadablePicture(ValueError):  # noqa: N818 — it is the picture that can't be read, not an error of ours
    """A file that gives no picture; the text is a clause that follows its name: 'is empty'."""


@dataclass(frozen=True)
class Box:
    """A rectangle in full-size upright pixels; right and bottom are outside."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def width(self) -> int:
        return self.right - self.left

    @property
    def height(self) -> int:
        return self.bottom - self.top


@dataclass(frozen=True, eq=False)
class Picture:
    """Pixels and where they lie.

    pixels     (height, width) or (height, width, 3) uint8, sRGB code values, upright
    scale      pixels at hand per pixel of the full-size picture, 0 < scale ≤ 1
    left_px, top_px   place of the first pixel in the full-size picture
    """

    pixels: NDArray[np.uint8]
    scale: float
    left_px: int = 0
    top_px: int = 0


@dataclass(frozen=True, eq=False)
class Source:
    """A picture file whose header was read, with the facts that decoding needs.

    data            the JPEG's bytes, or the whole file of another format
    header          None for formats other than JPEG
    stored_size     (width, height) of the decodable picture before it is turned upright
    full_width_px, full_height_px   of the full-size picture, upright; a raw's preview, or a stored one, may be smaller
    orientation     Exif value 1 to 8
    kind            a FileKind
    complete        the end marker is there
    luma_steps      the JPEG's 64 quantisation steps, () when unknown
    """

    data: bytes
    header: jpeg.JpegHeader | None
    stored_size: tuple[int, int]
    full_width_px: int
    full_height_px: int
    orientation: int
    kind: str
    complete: bool
    luma_steps: tuple[int, ...] = ()

    @property
    def is_stored_preview(self) -> bool:
        """True for a stored preview, which stands in for a frame's files."""
        return stored_preview.original_size(self.data) is not None

    @property
    def scale(self) -> float:
        """Pixels that can be had per full-size pixel; below 1 for a raw with a small preview."""
        width_px, height_px = self.stored_size
        return max(width_px, height_px) / max(self.full_width_px, self.full_height_px)


def open_picture(path: str | Path) -> Source:
    """Read a file's header and what is needed to decode it. Raises UnreadablePicture with a clause."""
    try:
        status = _status(Path(path))
        if not stat.S_ISREG(status.st_mode):  # a pipe would be waited for without end
            raise UnreadablePicture(f"can't be read: it is no file but {stat.filemode(status.st_mode)}")
        with Path(path).open("rb") as file:
            size_bytes = file.seek(0, io.SEEK_END)
            file.seek(0)
            start = file.read(8)
            file.seek(0)
            if not size_bytes:
                raise UnreadablePicture("is empty")
            if tiff.is_tiff(start):
                return _tiff_source(file, size_bytes)
            _refuse_too_long(size_bytes)
            if start.startswith(SOI):
                return _jpeg_source(file.read(), FileKind.JPEG, None, None)
            return _other_source(file.read(), FileKind.OTHER)
    except OSError as error:
        raise UnreadablePicture(f"can't be read: {error.strerror or error}") from None


def _status(path: Path) -> os.stat_result:
    try:
        return path.stat()
    except ValueError:  # a NUL, or half a surrogate pair
        raise UnreadablePicture("can't be read: no file can have that name") from None


def decode(source: Source, *, reduce: int = 1, colour: bool = False, box: Box | None = None) -> Picture:
    """Pixels of the picture or of a box in it, 1/`reduce` (1, 2, 4 or 8) of the size that can be had.

    box   full-size upright pixels; the picture given covers it, and starts where its fields say
    Raises UnreadablePicture when the data end too early or can't be decoded.
    """
    stored = _stored_box(source, box, reduce)
    data = source.data
    if source.header and stored:
        data = jpeg.cut_below(data, source.header, stored[3])
    with _tell_damage():
        image = _decode_whole(data, source, reduce, "RGB" if colour else "L")
        image = _reduce_more(image, source, reduce, stored)
    return _upright(image, source, reduce, stored)


def decode_in_parts(source: Source, *, reduce: int) -> Picture:
    """The whole picture as a JPEG holds it, 1/`reduce` (1, 2, 4 or 8) of the size: luma and two colour differences.

    Only where its header says `has_luma`. The pixels are codes of Y, Cb and Cr (ITU-T T.871).
    Raises UnreadablePicture as `decode` does.
    """
    with _tell_damage():
        image = _reduce_more(_decode_whole(source.data, source, reduce, "YCbCr"), source, reduce, None)
    return _upright(image, source, reduce, None)


@dataclass(frozen=True, eq=False)
class Grey:
    """A JPEG's whole picture, grey and 1/`reduce` of the size, from which parts are cut without decoding again.

    image   as stored, mode L
    """

    image: Image.Image
    source: Source
    reduce: int

    def whole(self) -> Picture:
        """The whole picture, 1/`reduce` of the size."""
        return _upright(_reduce_more(self.image, self.source, self.reduce, None), self.source, self.reduce, None)

    def part(self, box: Box) -> Picture:
        """The box as `decode` gives it, cut from the decoded picture. Raises UnreadablePicture for a box outside."""
        stored = _stored_box(self.source, box, self.reduce)
        return _upright(_reduce_more(self.image, self.source, self.reduce, stored), self.source, self.reduce, stored)


def decode_small_and_grey(source: Source, *, small: int, grey: int, most_px: int = 0) -> tuple[Picture, Grey]:
    """The whole of a JPEG in colour, 1/`small` of the size, and in grey, 1/`grey`, from one decode.

    grey      2, 4 or 8
    small     a multiple of it. Taking the Huffman codes apart costs most of a decode, so once is best
    most_px   long side of the colours, made smaller where it would be longer; 0 for as long as it is
    Raises UnreadablePicture when the data can't be decoded, or don't hold luma and chroma.
    """
    with _tell_damage():
        image = _decode_whole(source.data, source, grey, "YCbCr")
        colour = image.reduce(small // grey)
        times = most_px / max(colour.size) if most_px else 1.0
        if times < 1:
            size = round(colour.width * times), round(colour.height * times)
            colour = colour.resize(size, Image.Resampling.BOX)
        colours = _upright(colour.convert("RGB"), source, small, None)
    if times < 1:
        colours = replace(colours, scale=colours.scale * times)
    return colours, Grey(image.getchannel("Y"), source, grey)


def overview_reduction(source: Source, wanted_px: int) -> int:
    """The largest of 1, 2, 4, 8 that leaves the long side at least `wanted_px`."""
    return next((k for k in (8, 4, 2) if max(source.stored_size) // k >= wanted_px), 1)


def _jpeg_source(data: bytes, kind: str, full: tuple[int, int] | None, orientation: int | None) -> Source:
    try:
        header = jpeg.read_header(data)
    except ValueError as error:
        raise UnreadablePicture(str(error)) from None
    if header.frame_marker not in jpeg.DECODABLE or header.precision_bits != 8:
        raise UnreadablePicture(f"is a JPEG of an unusual kind ({header.precision_bits} bits)")
    size = (header.width_px, header.height_px)
    _refuse_bombs(size, MAX_JPEG_PIXELS)
    turn = _orientation(data) if orientation is None else orientation
    width_px, height_px = _larger(size, full or stored_preview.original_size(data))
    if turn in SWAPS_SIDES:
        width_px, height_px = height_px, width_px
    return Source(data, header, size, width_px, height_px, turn, kind, jpeg.has_end(data), jpeg.luma_steps(data))


def _tiff_source(file: BinaryIO, size_bytes: int) -> Source:
    """A raw's largest JPEG; a plain TIFF as a picture of its own."""
    try:
        contents = tiff.read_contents(file, size_bytes)
    except ValueError as error:
        raise UnreadablePicture(str(error)) from None
    full = (contents.width_px, contents.height_px)
    turn = contents.orientation if 1 <= contents.orientation <= 8 else 1
    for preview in sorted(contents.previews, key=lambda found: -found.length):
        if preview.length > MAX_FILE_BYTES:
            continue
        file.seek(preview.offset)
        try:
            return _jpeg_source(file.read(preview.length), FileKind.RAW, full, turn)
        except UnreadablePicture:  # a lossless JPEG of sensor values, or a damaged one: try the next
            continue
    if contents.sensor_values:
        raise UnreadablePicture(
            f"is a raw file without an embedded JPEG preview: of {len(contents.previews)} named, none can be read"
        )
    _refuse_too_long(size_bytes)
    file.seek(0)
    return _other_source(file.read(), FileKind.OTHER)


def _refuse_too_long(size_bytes: int) -> None:
    if size_bytes > MAX_FILE_BYTES:
        raise UnreadablePicture(f"is {size_bytes / 1e6:.0f} MB long; not opened")


def _other_source(data: bytes, kind: str) -> Source:
    try:
        with _quiet(), Image.open(io.BytesIO(data), formats=("PNG", "TIFF", "PPM")) as image:
            size = image.size
            turn = int(image.getexif().get(ORIENTATION_TAG, 1))
    except Image.DecompressionBombError:
        raise UnreadablePicture(f"says it has far too many pixels for its {len(data)} bytes; not opened") from None
    except Exception:  # noqa: BLE001 — whatever the decoder raises, it is no picture for us
        raise UnreadablePicture(f"is no picture of a kind that can be read; it begins {data[:4].hex(' ')}") from None
    _refuse_bombs(size, MAX_OTHER_PIXELS)
    turn = turn if 1 <= turn <= 8 else 1
    width_px, height_px = reversed(size) if turn in SWAPS_SIDES else size
    return Source(data, None, size, width_px, height_px, turn, kind, True)


@contextmanager
def _tell_damage() -> Iterator[None]:
    """Raise UnreadablePicture for every error that a decoder raises in this block, on a damaged file."""
    try:
        with _quiet():
            yield
    except UnreadablePicture:
        raise
    except MemoryError:
        raise UnreadablePicture("takes more memory than there is") from None
    except Exception as error:  # noqa: BLE001 — a decoder fed with a damaged file raises whatever it likes
        raise UnreadablePicture(f"can't be decoded: {error}") from None


@contextmanager
def _quiet() -> Iterator[None]:
    """Silence the decoder's warnings in this block; this module's own errors say the part that matters."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _refuse_bombs(size: tuple[int, int], most: int) -> None:
    width_px, height_px = size
    if width_px * height_px > most or max(size) > MAX_RATIO * max(1, min(size)):
        raise UnreadablePicture(f"says it has {width_px} × {height_px} pixels; not opened")


def _larger(size: tuple[int, int], full: tuple[int, int] | None) -> tuple[int, int]:
    """Full size for an embedded or stored preview: the original's, unless that is smaller or of another shape."""
    if not full or full[0] * full[1] <= size[0] * size[1]:
        return size
    if full[0] * full[1] > MAX_JPEG_PIXELS:
        return size
    same_shape = abs(full[0] / full[1] / (size[0] / size[1]) - 1) < 0.05
    return full if same_shape else size


def _orientation(data: bytes) -> int:
    try:
        with _quiet(), Image.open(io.BytesIO(data), formats=("JPEG",)) as image:
            turn = int(image.getexif().get(ORIENTATION_TAG, 1))
    except Exception:  # noqa: BLE001 — damaged Exif must not cost the picture
        return 1
    return turn if 1 <= turn <= 8 else 1


def _stored_box(source: Source, box: Box | None, reduce: int) -> tuple[int, int, int, int] | None:
    """The box in stored pixels of the decodable picture, as (left, top, right, bottom); None for the whole picture.

    Edges lie on multiples of `reduce`, so that the scaled picture begins where its fields say.
    """
    if box is None:
        return None
    k = source.scale
    wide, high = source.full_width_px * k, source.full_height_px * k
    left, top, right, bottom = box.left * k, box.top * k, box.right * k, box.bottom * k
    if source.orientation in FLIPS_ACROSS:
        left, right = wide - right, wide - left
    if source.orientation in FLIPS_DOWN:
        top, bottom = high - bottom, high - top
    if source.orientation in SWAPS_SIDES:
        left, top, right, bottom = top, left, bottom, right
    width_px, height_px = source.stored_size
    left, top = (max(0, int(edge) // reduce * reduce) for edge in (left, top))
    right = min(width_px, -(-math.ceil(right - 1e-9) // reduce) * reduce)
    bottom = min(height_px, -(-math.ceil(bottom - 1e-9) // reduce) * reduce)
    if left >= right or top >= bottom:
        raise UnreadablePicture(f"doesn't reach as far as the region: it has {width_px} × {height_px} pixels")
    return left, top, right, bottom


def _upright_corner(source: Source, stored: tuple[int, int, int, int] | None) -> tuple[int, int]:
    """Full-size upright place of the first pixel of what was decoded."""
    if stored is None:
        return 0, 0
    left, top, right, bottom = stored
    width_px, height_px = source.stored_size
    if source.orientation in SWAPS_SIDES:
        left, top, right, bottom = top, left, bottom, right
        width_px, height_px = height_px, width_px
    if source.orientation in FLIPS_ACROSS:
        left = width_px - right
    if source.orientation in FLIPS_DOWN:
        top = height_px - bottom
    return round(left / source.scale), round(top / source.scale)


def _decode_whole(data: bytes, source: Source, reduce: int, mode: str) -> Image.Image:
    """The whole picture as stored, of a JPEG 1/`reduce` of the size, of others at full size."""
    formats = ("JPEG",) if source.header else ("PNG", "TIFF", "PPM")
    with Image.open(io.BytesIO(data), formats=formats) as image:
        if source.header:
            width_px, height_px = image.size
            image.draft(mode, (-(-width_px // reduce), -(-height_px // reduce)))
        image.load()
        picture = image if image.mode == mode else _eight_bit(image)
    return picture if picture.mode == mode else picture.convert(mode)


def _reduce_more(
    image: Image.Image, source: Source, reduce: int, stored: tuple[int, int, int, int] | None
) -> Image.Image:
    """The box of a decoded picture, brought to 1/`reduce` of the size where the decoder gave a larger one."""
    done = -(-source.stored_size[0] // image.width) if reduce > 1 else 1
    if stored:
        left, top, right, bottom = (-(-edge // done) for edge in stored)
        image = image.crop((left, top, right, bottom))
    return image.reduce(reduce // done) if reduce > done else image


def _upright(image: Image.Image, source: Source, reduce: int, stored: tuple[int, int, int, int] | None) -> Picture:
    """The decoded part turned upright, with its place in the picture."""
    if source.orientation in _TRANSPOSE:
        image = image.transpose(_TRANSPOSE[source.orientation])
    left, top = _upright_corner(source, stored)
    return Picture(np.asarray(image), source.scale / reduce, left, top)


def _eight_bit(image: Image.Image) -> Image.Image:
    if image.mode in GREY_MODES_16:
        return Image.fromarray((np.asarray(image).astype(np.uint32) >> 8).astype(np.uint8))
    return image if image.mode in ("L", "RGB") else image.convert("RGB")
