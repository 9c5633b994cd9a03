"""A picture as it is delivered: made from a JPEG, cropped, made smaller, sRGB with its profile, with its resolution.

The crop is the largest of the asked ratio, centred on the region as far as the picture reaches. It is made smaller by a
Lanczos filter over the pixels as they are (common practice, no source), never larger.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image, ImageCms, ImageOps

from session.units.quantities import require
from session.units.refusals import UnreadableTextError

MOST_PIXELS = 400_000_000
"""Of a picture that is opened (px). Chosen: four times the largest sensor of today."""

JPEG_QUALITY = 95
"""Of the encoder's 1 to 95, with all colour samples kept. Chosen: what is delivered is worked on further."""

ORIENTATION = 0x0112
"""The tag of Exif 2.32 that says how a picture is turned; 5 to 8 are a quarter."""

Box = tuple[int, int, int, int]
"""Left, top, right and bottom, px."""


@dataclass(frozen=True)
class DeliveredSize:
    """The size asked of a delivered picture: width and height in px, width / height as a ratio, ppi; None: open."""

    width_px: int | None = None
    height_px: int | None = None
    ratio: float | None = None
    ppi: float | None = None


@dataclass(frozen=True)
class DeliveryCrop:
    """The crop in the picture's own px, and the size that it is given in px. `whole`: it is as large as was asked."""

    box: Box
    width_px: int
    height_px: int
    whole: bool


def cut_for(
    width_px: int, height_px: int, wanted: DeliveredSize, centre: tuple[float, float] = (0.5, 0.5)
) -> DeliveryCrop:
    """The crop of a picture of this size, and the size it comes to, all in px.

    centre  what shall lie in the middle, in fractions of width and height from the upper left
    Raises RefusedNumberError for a size that can't be meant.
    """
    require(width_px=width_px, height_px=height_px)
    ratio = wanted.ratio or width_px / height_px
    wide, high = min(width_px, round(height_px * ratio)), min(height_px, round(width_px / ratio))
    wide, high = max(1, wide), max(1, high)
    left = min(max(0, round(centre[0] * width_px - wide / 2)), width_px - wide)
    top = min(max(0, round(centre[1] * height_px - high / 2)), height_px - high)
    box = (left, top, left + wide, top + high)
    scales = [asked / side for asked, side in ((wanted.width_px, wide), (wanted.height_px, high)) if asked]
    scale = min(scales, default=1.0)
    if scale > 1:
        return DeliveryCrop(box, wide, high, whole=False)
    if wanted.width_px and wanted.height_px and len(set(scales)) > 1 and wanted.ratio:
        return DeliveryCrop(box, wanted.width_px, wanted.height_px, whole=True)  # the ratio is theirs, but for rounding
    return DeliveryCrop(box, max(1, round(wide * scale)), max(1, round(high * scale)), whole=True)


def upright_size(source: Path) -> tuple[int, int]:
    """Width and height in px of a JPEG as it is looked at. Raises UnreadableTextError for what is no JPEG."""
    try:
        with Image.open(source, formats=("JPEG",)) as opened:
            turned = opened.getexif().get(ORIENTATION, 1) in (5, 6, 7, 8)
            return (opened.height, opened.width) if turned else opened.size
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise UnreadableTextError(f"{source.name} can't be looked at: {error}") from None


def deliver(source: Path, kind: str, wanted: DeliveredSize, centre: tuple[float, float] = (0.5, 0.5)) -> bytes:
    """The delivered file's bytes.

    source  a JPEG
    kind    jpeg or tiff
    centre  see `cut_for`
    Raises UnreadableTextError for a file that is no picture, OSError for one that can't be read.
    """
    try:
        with Image.open(source, formats=("JPEG",)) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise UnreadableTextError(f"{source.name} has {opened.width} × {opened.height} px")
            upright = ImageOps.exif_transpose(opened)
            profile = opened.info.get("icc_profile")
            picture = _in_srgb(upright, profile)
    except (Image.DecompressionBombError, SyntaxError, ValueError) as error:
        raise UnreadableTextError(f"{source.name} is no picture that can be delivered: {error}") from None
    cut = cut_for(picture.width, picture.height, wanted, centre)
    picture = picture.resize((cut.width_px, cut.height_px), Image.Resampling.LANCZOS, box=cut.box)
    picture.info = {}  # a comment of the camera's would go along
    written = io.BytesIO()
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    told: dict[str, Any] = {"icc_profile": _dateless(srgb)}
    if wanted.ppi:
        told["dpi"] = (wanted.ppi, wanted.ppi)
    if kind == "tiff":
        picture.save(written, "TIFF", **told)
    else:
        picture.save(written, "JPEG", quality=JPEG_QUALITY, subsampling=0, **told)
    return written.getvalue()


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """The picture in sRGB by its own profile; a picture without a profile is sRGB, as from cameras (Exif 2.32)."""
    plain = picture if picture.mode == "RGB" else picture.convert("RGB")
    if not profile or picture.mode not in ("RGB", "L"):
        return plain
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if picture.mode == "L":
            return plain
        found = ImageCms.profileToProfile(plain, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except ImageCms.PyCMSError as error:
        raise UnreadableTextError(f"its colour profile can't be read: {error}") from None
    return found or plain


def _dateless(profile: bytes) -> bytes:
    """The profile with a fixed date of making (ICC.1:2022, 7.2.8: bytes 24 to 35), so that files come out the same."""
    return profile[:24] + bytes((7, 230, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0)) + profile[36:]
