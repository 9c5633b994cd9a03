"""Small pictures of approved frames: made to be sent, and written where they were fetched."""

from __future__ import annotations

import io
import os
from pathlib import Path

from PIL import Image

from session.frame.ports import LogError
from session.picture.preview import UnreadablePicture, decode, open_picture, overview_reduction
from session.units.file_kinds import JPEG_START

LONGEST_PX, QUALITY = 1600, 85
"""Long side and JPEG quality: enough to see what was approved, about 300 kB. Chosen."""

MOST_BYTES = 3 * LONGEST_PX * LONGEST_PX
"""As many as its pixels have without compression: no JPEG of such a picture comes to more."""

"""Source: ITU-T T.81, annex B."""


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


def write(folder: Path, frame_id: str, jpeg: bytes) -> bool:
    """Write the picture as a new file FRAME.jpg; False when something has that name, which is never touched.

    Raises LogError when there is no room or no permission.
    """
    path = folder / f"{frame_id}.jpg"
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o644)
    except FileExistsError:
        return False
    except OSError as error:
        raise LogError(f"The preview {path} can't be written: {error.strerror}.") from error
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(jpeg)
    except OSError as error:
        path.unlink(missing_ok=True)
        raise LogError(f"The preview {path} can't be written: {error.strerror}.") from error
    return True


def is_small(jpeg: bytes) -> bool:
    """Whether the archive's bytes begin as a JPEG does and aren't more than a preview can come to."""
    return jpeg.startswith(JPEG_START) and len(jpeg) <= MOST_BYTES
