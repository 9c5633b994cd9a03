"""A frame's picture as a data address, so that a page holds its pictures."""

from __future__ import annotations

import base64
import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.picture.preview import UnreadablePicture, decode, open_picture, overview_reduction
from storage.reading.shown_picture import shown_pictures
from storage.reading.views import FrameRecord

SIDE_PX = 360
"""Long side of a picture (px): 45 mm at 200 dots an inch, as wide as a fourth of an A4 page. Chosen."""

QUALITY = 82
"""Of the JPEGs. Chosen: 20 kB each, so that 500 frames come to 14 MB."""


def jpeg_address(pixels: NDArray[np.uint8]) -> str:
    """Pixels (height, width, 3) as a JPEG in a data address."""
    written = io.BytesIO()
    Image.fromarray(pixels).convert("RGB").save(written, "JPEG", quality=QUALITY)
    return f"data:image/jpeg;base64,{base64.b64encode(written.getvalue()).decode()}"


def held_file(path: str, side_px: int) -> str:
    """The picture in a file as a data address, its long side at most `side_px` px. Raises UnreadablePicture."""
    source = open_picture(path)
    found = decode(source, reduce=overview_reduction(source, side_px), colour=True)
    small = Image.fromarray(found.pixels)
    small.thumbnail((side_px, side_px), Image.Resampling.BOX)
    return jpeg_address(np.asarray(small))


def held_picture(record: FrameRecord) -> tuple[str, str]:
    """A small JPEG as a data address, and FROM_PREVIEW where it is of that; "" where no file is there to be read."""
    for shown in shown_pictures(record):
        try:
            return held_file(shown.path, SIDE_PX), shown.told
        except UnreadablePicture:
            continue
    return "", ""
