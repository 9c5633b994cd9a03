"""Small pictures of approved frames."""

from __future__ import annotations

import io

from PIL import Image

from session.preview import UnreadablePicture, decode, open_picture, overview_reduction

LONGEST_PX, QUALITY = 1600, 85
"""Long side and JPEG quality: enough to see what was approved, about 300 kB. Chosen."""


def preview(path: str) -> bytes | None:
    """A JPEG of the picture in the file; None when there is no picture to be read."""
    try:
        source = open_picture(path)
        picture = decode(source, reduce=overview_reduction(source, LONGEST_PX), colour=True)
    except (OSError, UnreadablePicture):
        return None
    image = Image.fromarray(picture.pixels)
    image.thumbnail((LONGEST_PX, LONGEST_PX))
    with io.BytesIO() as data:
        image.save(data, "JPEG", quality=QUALITY)
        return data.getvalue()
