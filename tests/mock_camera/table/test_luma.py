"""A picture as brightness and colour differences: back to RGB, coloured, covered, smeared and cropped."""

import numpy as np
import pytest

from mock_camera.scene.arrays import Floats, half_size
from mock_camera.scene.grid import frame_grid
from mock_camera.table.luma import Luma
from mock_camera.table.shake import Smear


def of_rgb(rgb: Floats) -> Luma:
    luma = (rgb[..., 0] + 2 * rgb[..., 1] + rgb[..., 2]) / 4
    return Luma(luma, half_size(rgb[..., 0] - luma), half_size(rgb[..., 2] - luma))


def plain(red: float, green: float, blue: float, shape: tuple[int, int] = (32, 48)) -> Luma:
    return of_rgb(np.tile(np.array([red, green, blue], np.float32), (*shape, 1)))


def noise(shape: tuple[int, int] = (32, 48)) -> Luma:
    return of_rgb(np.random.default_rng(4).uniform(0.1, 0.9, (*shape, 3)).astype(np.float32))


def test_a_plain_colour_comes_back_as_itself() -> None:
    assert plain(0.3, 0.5, 0.1).rgb()[7, 9] == pytest.approx([0.3, 0.5, 0.1], abs=1e-6)
    with_detail = noise().rgb()
    luma = (with_detail[..., 0] + 2 * with_detail[..., 1] + with_detail[..., 2]) / 4
    assert luma == pytest.approx(noise().luma, abs=1e-5), "brightness keeps its detail; only colours are coarser"


def test_coloured_light_turns_white_into_its_colour_and_keeps_the_brightness() -> None:
    tinted = plain(0.4, 0.4, 0.4).tint((2.0, 1.0, 1.0))
    assert tinted.luma.mean() == pytest.approx(0.4)
    # (2 + 2 + 1) / 4 = 1.25: red 0.4 * 2 / 1.25, green and blue 0.4 / 1.25
    assert tinted.rgb()[5, 5] == pytest.approx([0.64, 0.32, 0.32], abs=1e-5)


def test_on_a_colour_coloured_light_is_the_product_of_both() -> None:
    tint = (0.5, 1.0, 1.5)
    assert plain(0.2, 0.4, 0.6).tint(tint).rgb()[5, 5] == pytest.approx([0.1, 0.4, 0.9], abs=1e-5)


def test_pictures_add_up_row_by_row() -> None:
    out = Luma.dark(48, 32)
    rows = np.where(np.arange(32) < 16, 1.0, 0.0)
    out.add(plain(0.2, 0.4, 0.6), rows)
    out.add(plain(0.2, 0.4, 0.6), rows)
    assert out.rgb()[4, 4] == pytest.approx([0.4, 0.8, 1.2], abs=1e-5)
    assert not out.rgb()[24:].any()


def test_a_hand_hides_what_it_covers_and_is_as_bright_as_the_light_on_it() -> None:
    covered, half = noise(), np.zeros((32, 48), np.float32)
    half[:, 24:] = 1
    before = covered.luma.copy()
    covered.cover(half, np.linspace(0, 1, 32))
    assert np.array_equal(covered.luma[:, :24], before[:, :24])
    assert np.all(np.diff(covered.luma[:, 30]) > 0) and covered.luma[0, 30] == 0


def test_a_smear_of_whole_pixels_moves_the_picture_and_keeps_its_light() -> None:
    whole = noise()
    moved = whole.smear(Smear(np.array([3.0]), np.array([-2.0]), np.array([1.0])))
    assert moved.luma == pytest.approx(np.roll(whole.luma, (-2, 3), (0, 1)), abs=1e-4)
    assert moved.luma.sum() == pytest.approx(whole.luma.sum(), rel=1e-5)


def test_the_margin_is_cut_off_and_a_zoom_keeps_the_middle() -> None:
    grid = frame_grid(96, 64, 0.1)
    whole = noise((grid.full_height, grid.full_width))
    plainly = whole.crop(grid, 1.0)
    assert plainly.luma.shape == (64, 96) and np.shares_memory(plainly.luma, whole.luma)
    level = plain(0.2, 0.3, 0.4, (grid.full_height, grid.full_width)).crop(grid, 1.01)
    assert level.luma.shape == (64, 96) and level.rgb()[30, 40] == pytest.approx([0.2, 0.3, 0.4], abs=1e-4)
