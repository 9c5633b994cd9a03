"""Small JPEGs of the body's own: thumbnails of any shape on black, and the black live picture."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from mock_camera.body.thumbs import THUMB_SIZE_PX, black_jpeg, thumb_jpeg
from mock_camera.table.imaging import ReleasedPicture


def opened(data: bytes) -> np.ndarray:
    with Image.open(BytesIO(data)) as picture:
        assert picture.format == "JPEG"
        return np.asarray(picture)


@pytest.mark.parametrize(("width", "height"), [(1536, 1024), (1024, 1536), (400, 400), (160, 120), (64, 64)])
def test_a_thumbnail_has_the_standards_size_with_the_picture_in_the_middle(width: int, height: int) -> None:
    """160 × 120 px whatever the picture's shape: CIPA DC-009."""
    white = ReleasedPicture(np.full((height, width, 3), 255, np.uint8), np.zeros((height, width), np.uint16), {})
    thumb = opened(thumb_jpeg(white))
    assert thumb.shape == (THUMB_SIZE_PX[1], THUMB_SIZE_PX[0], 3)
    lit = thumb[..., 1] > 128
    rows, columns = np.flatnonzero(lit.any(1)), np.flatnonzero(lit.any(0))
    assert abs((rows[0] + rows[-1]) / 2 - 59.5) <= 1 and abs((columns[0] + columns[-1]) / 2 - 79.5) <= 1
    assert len(columns) / len(rows) == pytest.approx(width / height, rel=0.05)


@pytest.mark.parametrize("size", [(1024, 680), (1, 1)])
def test_a_black_picture_is_black_and_as_large_as_asked(size: tuple[int, int]) -> None:
    picture = opened(black_jpeg(size))
    assert picture.shape == (size[1], size[0], 3) and not picture.any()
