"""Small JPEGs that the body makes itself: thumbnails, and the black live picture."""

from io import BytesIO

from PIL import Image

from mock_camera.table.imaging import ReleasedPicture

THUMB_SIZE_PX = (160, 120)
"""Thumbnail of CIPA DC-009 (DCF): 160 x 120 px, bars where the shape differs."""


def to_jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=80)
    return out.getvalue()


def thumb_jpeg(picture: ReleasedPicture) -> bytes:
    """Thumbnail of a picture, centred on black."""
    small = Image.fromarray(picture.rgb).reduce(max(1, picture.rgb.shape[1] // (2 * THUMB_SIZE_PX[0])))
    small.thumbnail(THUMB_SIZE_PX)
    thumb = Image.new("RGB", THUMB_SIZE_PX)
    thumb.paste(small, ((THUMB_SIZE_PX[0] - small.width) // 2, (THUMB_SIZE_PX[1] - small.height) // 2))
    return to_jpeg(thumb)


def black_jpeg(size_px: tuple[int, int]) -> bytes:
    """JPEG of a black picture, (width, height) in px."""
    return to_jpeg(Image.new("RGB", size_px))
