"""Small pictures for the terminal: parts of a file pixel for pixel, fitted to cells at their own proportions."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from session.picture.preview import Box, UnreadablePicture
from session.set.setup import Region
from tui.screen.small_picture import (
    BETWEEN_PX,
    OVERVIEW_PX,
    SmallPicture,
    box_picture,
    cuts_beside,
    enlarge,
    fit,
    fitted_cells,
    grey_picture,
    region_box,
    region_picture,
    small_live_picture,
    small_picture,
)

quick = settings(max_examples=40)


def ramp(width: int, height: int) -> np.ndarray:
    """Red grows to the right, green downwards."""
    x, y = np.linspace(0, 255, width), np.linspace(0, 255, height)
    return np.stack([np.tile(x, (height, 1)), np.tile(y[:, None], (1, width)), np.zeros((height, width))], 2).astype(
        np.uint8
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "1.jpg"
    Image.fromarray(ramp(1200, 800)).save(path, quality=95, subsampling=0)
    return path


def jpeg(width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.fromarray(ramp(width, height)).save(out, "JPEG", quality=95)
    return out.getvalue()


def test_a_picture_is_kept_small_with_its_true_size(path: Path) -> None:
    picture = small_picture(path)
    assert (picture.full_width_px, picture.full_height_px) == (1200, 800)
    height, width = picture.pixels.shape[:2]
    assert OVERVIEW_PX / 2 <= width <= 2 * OVERVIEW_PX and width / height == pytest.approx(1.5, abs=0.02)
    assert picture.pixels[0, -1, 0] > 240 and picture.pixels[-1, 0, 1] > 240, "the right way round"


def test_a_region_is_cut_out_pixel_for_pixel(path: Path) -> None:
    region = Region(0.25, 0.5, 0.25, 0.25)
    picture = region_picture(path, region)
    assert picture.pixels.shape == (200, 300, 3) and region_box(path, region) == Box(300, 400, 600, 600)
    whole = np.asarray(Image.open(path))
    assert np.abs(picture.pixels.astype(int) - whole[400:600, 300:600]).max() <= 2
    assert np.array_equal(box_picture(path, Box(300, 400, 600, 600)).pixels, picture.pixels)


def test_parts_stand_beside_each_other_with_a_gap(path: Path) -> None:
    sheet = np.asarray(cuts_beside([(str(path), Box(0, 0, 100, 50)), (str(path), Box(600, 400, 640, 480))]))
    assert sheet.shape == (80, 100 + BETWEEN_PX + 40, 3)
    assert not sheet[:, 100 : 100 + BETWEEN_PX].any() and not sheet[50:, :100].any()


@pytest.mark.parametrize("times", [1.0, 2.0, 8.0, 1e6])
def test_an_enlarged_picture_is_its_middle_and_at_least_a_pixel(times: float) -> None:
    whole = SmallPicture(ramp(300, 200), 3000, 2000)
    part = enlarge(whole, times)
    height, width = part.pixels.shape[:2]
    assert (width, height) == (max(1, round(300 / times)), max(1, round(200 / times)))
    assert part.full_width_px == max(1, round(3000 / times))
    assert abs(int(part.pixels[height // 2, width // 2, 0]) - 127) <= 2, "the middle stays the middle"


@quick
@given(st.integers(1, 2000), st.integers(1, 2000), st.integers(1, 300), st.integers(1, 120))
def test_cells_hold_the_picture_at_its_proportions_and_never_too_many(
    width: int, height: int, columns: int, rows: int
) -> None:
    picture = SmallPicture(np.zeros((height, width, 3), np.uint8), width, height)
    wide, high = fitted_cells(picture, columns, rows)
    assert 1 <= wide <= columns and 1 <= high <= rows
    assert wide == columns or high == rows or wide >= columns - 1 or high >= rows - 1, "as large as there is room"
    if min(wide, high) > 4:
        assert wide / (2 * high) == pytest.approx(width / height, rel=0.2), "a cell is twice as high as wide"


def test_a_picture_is_averaged_into_two_pixels_a_cell() -> None:
    picture = SmallPicture(ramp(400, 200), 400, 200)
    cells = fit(picture, 40, 20)
    assert cells.shape == (20, 40, 3) and cells.dtype == np.uint8
    assert np.all(np.diff(cells[10, :, 0].astype(int)) > 0)


def test_a_live_frame_is_decoded_whole_or_in_part() -> None:
    data = jpeg(1024, 680)
    whole = small_live_picture(data)
    assert (whole.full_width_px, whole.full_height_px) == (1024, 680)
    part = small_live_picture(data, Region(0.5, 0.5, 0.25, 0.25), (100, 100))
    assert (part.full_width_px, part.full_height_px) == (256, 170)
    middle = part.pixels[part.pixels.shape[0] // 2, part.pixels.shape[1] // 2]
    assert abs(int(middle[0]) - round(0.625 * 255)) <= 6 and abs(int(middle[1]) - round(0.625 * 255)) <= 6


@pytest.mark.parametrize("data", [b"", b"no jpeg", b"\xff\xd8\xff\xe0 cut short", jpeg(64, 64)[:200]])
def test_a_damaged_live_frame_is_one_error(data: bytes) -> None:
    with pytest.raises(UnreadablePicture, match=r"can't be decoded: "):
        small_live_picture(data)


def test_a_file_that_is_none_is_one_error(tmp_path: Path) -> None:
    (tmp_path / "1.jpg").write_bytes(b"no picture")
    for make in (small_picture, lambda path: region_picture(path, Region()), lambda path: region_box(path, Region())):
        with pytest.raises(UnreadablePicture):
            make(tmp_path / "1.jpg")


def test_grey_codes_are_a_picture_or_a_part_of_one() -> None:
    codes = np.arange(200, dtype=np.uint8).reshape(10, 20)
    whole, part = grey_picture(codes), grey_picture(codes, Region(0.5, 0.5, 0.5, 0.5))
    assert np.array_equal(whole.pixels[..., 0], codes) and np.array_equal(whole.pixels[..., 2], codes)
    assert np.array_equal(part.pixels[..., 1], codes[5:, 10:]) and (part.full_width_px, part.full_height_px) == (10, 5)


def test_a_file_is_shown_small_and_upright_with_its_full_size_known(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x112] = 6  # turn a quarter to the right (CIPA DC-008)
    left_white = Image.new("L", (3000, 2000), 0)
    left_white.paste(255, (0, 0, 1500, 2000))
    left_white.convert("RGB").save(tmp_path / "turned.jpg", exif=exif)
    picture = small_picture(tmp_path / "turned.jpg")
    assert (picture.full_width_px, picture.full_height_px) == (2000, 3000)
    assert picture.pixels.shape[0] > picture.pixels.shape[1]
    assert picture.pixels[10].mean() > 250, "the white half lay left and is on top now"
    assert picture.pixels[-10].mean() < 5
