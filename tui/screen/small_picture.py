"""Small colour pictures for the terminal: from a file on disk, or from a live-view frame. No Textual here."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.picture.preview import (
    MAX_JPEG_PIXELS,
    Box,
    Source,
    UnreadablePicture,
    decode,
    open_picture,
    overview_reduction,
)
from session.set.setup import Region
from session.units.numbers import ratio_text

OVERVIEW_PX = 640
"""Long side of what is kept of a picture: four pixels a cell column at 160 columns. Chosen."""


ALL = Region(0.0, 0.0, 1.0, 1.0)

MOST_REGION_PX = 2048
"""Longest side that is kept of an enlarged region: a quarter of a picture of 45 megapixels, pixel for pixel. Chosen."""


BETWEEN_PX = 8
"""Width of the black gap between two parts beside each other. Chosen."""


@dataclass(frozen=True, eq=False)
class SmallPicture:
    """A picture small enough to be kept and scaled at each paint.

    pixels    (height, width, 3) uint8, sRGB code values, upright
    full_width_px, full_height_px   of the picture that it was made from
    """

    pixels: NDArray[np.uint8]
    full_width_px: int
    full_height_px: int


def small_picture(path: str | Path) -> SmallPicture:
    """The picture in a file, reduced while decoding. Raises UnreadablePicture with a clause."""
    source = open_picture(path)
    found = decode(source, reduce=overview_reduction(source, OVERVIEW_PX), colour=True)
    return SmallPicture(_at_most(found.pixels), source.full_width_px, source.full_height_px)


def region_picture(path: str | Path, region: Region) -> SmallPicture:
    """The region of a file's picture, pixel for pixel or as fine as is kept. Raises UnreadablePicture with a clause."""
    source = open_picture(path)
    return _part(source, Box(*region.in_pixels(source.full_width_px, source.full_height_px)))


def region_box(path: str | Path, region: Region) -> Box:
    """The region in full-size upright pixels of a file's picture. Raises UnreadablePicture with a clause."""
    source = open_picture(path)
    return Box(*region.in_pixels(source.full_width_px, source.full_height_px))


def box_picture(path: str | Path, box: Box) -> SmallPicture:
    """A rectangle of a file's picture, given in full-size upright pixels. Raises UnreadablePicture with a clause."""
    return _part(open_picture(path), box)


def middle_box(box: Box) -> Box:
    """The middle of a rectangle that is larger than what is kept pixel for pixel; else the rectangle."""
    across, down = (max(0, side - MOST_REGION_PX) // 2 for side in (box.width, box.height))
    return Box(box.left + across, box.top + down, box.right - across, box.bottom - down)


def cuts_beside(cuts: Sequence[tuple[str, Box]]) -> Image.Image:
    """Parts of pictures, pixel for pixel, from left to right on black. Raises UnreadablePicture with a clause.

    cuts   file, and the rectangle in its full-size upright pixels
    """
    parts = [decode(open_picture(path), colour=True, box=box).pixels for path, box in cuts]
    width = sum(part.shape[1] for part in parts) + BETWEEN_PX * (len(parts) - 1)
    sheet = Image.new("RGB", (width, max(part.shape[0] for part in parts)))
    left = 0
    for part in parts:
        sheet.paste(Image.fromarray(part), (left, 0))
        left += part.shape[1] + BETWEEN_PX
    return sheet


def _part(source: Source, box: Box) -> SmallPicture:
    stored_px = max(box.width, box.height) * source.scale
    reduce = next((k for k in (1, 2, 4) if stored_px / k <= MOST_REGION_PX), 8)
    return SmallPicture(decode(source, reduce=reduce, colour=True, box=box).pixels, box.width, box.height)


def enlarge(picture: SmallPicture, times: float) -> SmallPicture:
    """The middle of a picture, 1/`times` of each side; at least a pixel."""
    height, width = picture.pixels.shape[:2]
    wide, high = max(1, round(width / times)), max(1, round(height / times))
    top, left = (height - high) // 2, (width - wide) // 2
    full_px = (max(1, round(side / times)) for side in (picture.full_width_px, picture.full_height_px))
    return SmallPicture(picture.pixels[top : top + high, left : left + wide], *full_px)


def small_live_picture(jpeg: bytes, part: Region | None = None, size_px: tuple[int, int] | None = None) -> SmallPicture:
    """A live-view frame, or a part of it; decoded no finer than `size_px` needs, (width, height) of what is shown.

    Raises UnreadablePicture with a clause.
    """
    shown = part or ALL
    try:
        with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as image:
            width_px, height_px = image.size
            if width_px * height_px > MAX_JPEG_PIXELS:
                raise UnreadablePicture(f"says it has {width_px} × {height_px} pixels; not opened")
            wide, high = size_px or (OVERVIEW_PX, OVERVIEW_PX)
            image.draft("RGB", (round(wide / shown.width), round(high / shown.height)))
            box = shown.in_pixels(*image.size)
            pixels = np.asarray((image.crop(box) if part else image).convert("RGB"))
    except UnreadablePicture:
        raise
    except Exception as error:  # noqa: BLE001 — a decoder fed with a damaged frame raises whatever it likes
        raise UnreadablePicture(f"can't be decoded: {error}") from None
    return _part_of(_at_most(pixels), width_px, height_px, shown)


def grey_picture(codes: NDArray[np.uint8], part: Region | None = None) -> SmallPicture:
    """A grey picture, (height, width) sRGB codes, or a part of it."""
    height, width = codes.shape
    shown = part or ALL
    left, top, right, bottom = shown.in_pixels(width, height)
    pixels = np.repeat(codes[top:bottom, left:right, None], 3, axis=2)
    return _part_of(pixels, width, height, shown)


def _part_of(pixels: NDArray[np.uint8], width_px: int, height_px: int, part: Region) -> SmallPicture:
    left, top, right, bottom = part.in_pixels(width_px, height_px)
    return SmallPicture(pixels, right - left, bottom - top)


def fitted_scale(picture: SmallPicture, columns: int, rows: int) -> float:
    """Half cells that `fit` gives to a pixel of the picture as it is kept."""
    height, width = picture.pixels.shape[:2]
    return float(min(columns / width, 2 * rows / height))


def scale_words(picture: SmallPicture, columns: int, rows: int) -> str:
    """`1:1` for a full-size pixel to half a cell, `1:2` for two of them, `2:1` for an enlarged picture."""
    kept = picture.pixels.shape[1] / picture.full_width_px
    return ratio_text(fitted_scale(picture, columns, rows) * kept)


def fitted_cells(picture: SmallPicture, columns: int, rows: int) -> tuple[int, int]:
    """How many columns and rows of cells `fit` gives."""
    height, width = picture.pixels.shape[:2]
    scale = fitted_scale(picture, columns, rows)
    return max(1, min(columns, round(width * scale))), max(1, min(rows, round(height * scale / 2)))


def fit(picture: SmallPicture, columns: int, rows: int) -> NDArray[np.uint8]:
    """The picture averaged down to fit `columns` × `rows` cells of two pixels each, at its own proportions.

    A cell is taken to be twice as high as wide, as in nearly every terminal (common practice, no source).
    Returns (2 · rows used, columns used, 3) uint8; never less than a cell.
    """
    wide, high = fitted_cells(picture, columns, rows)
    image = Image.fromarray(picture.pixels).resize((wide, 2 * high), Image.Resampling.BOX)
    return np.asarray(image)


def _at_most(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    height, width = pixels.shape[:2]
    if max(height, width) <= 2 * OVERVIEW_PX:
        return pixels
    image = Image.fromarray(pixels)
    image.thumbnail((OVERVIEW_PX, OVERVIEW_PX), Image.Resampling.BOX)
    return np.asarray(image)
