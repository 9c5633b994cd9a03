"""A picture of the set, as a phone takes it, made ready to be stored: upright, at most 2048 px, all metadata gone.

What is stored is encoded anew from the pixels, so that neither the place nor the time nor the name of whoever took it
(Exif, XMP, IPTC), nor anything else that the file held, comes along.
"""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image

from session.picture.preview import UnreadablePicture, decode, open_picture, overview_reduction

LONGEST_PX, QUALITY = 2048, 85
"""Long side and JPEG quality: what stands in the set can be read on a print 90 mm wide and on a screen. Chosen."""

BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis")
"""Names of HEIF's and AVIF's codings behind `ftyp`: ISO/IEC 23008-12, annexes B and D; AVIF 1.1."""


def set_picture(path: Path) -> bytes:
    """The picture in a file as a JPEG to be stored. Raises UnreadablePicture with a clause."""
    _refuse_heif(path)
    source = open_picture(path)
    pixels = decode(source, reduce=overview_reduction(source, LONGEST_PX), colour=True).pixels
    image = Image.fromarray(pixels)
    image.thumbnail((LONGEST_PX, LONGEST_PX), Image.Resampling.LANCZOS)
    with io.BytesIO() as data:
        image.save(data, "JPEG", quality=QUALITY)
        return data.getvalue()


def _refuse_heif(path: Path) -> None:
    try:
        if not path.is_file():  # what it is instead is told when it is opened
            return
        with path.open("rb") as file:
            start = file.read(12)
    except (OSError, ValueError):
        return
    if start[4:8] == b"ftyp" and start[8:12] in BRANDS:
        raise UnreadablePicture("is a HEIC picture, which can't be read here; have the phone save or send it as JPEG")
