"""The still lifes: each fills the frame, has its region in it, and is as high as it says."""

import numpy as np
import pytest

from mock_camera.scene.grid import Placement, Pose, frame_grid
from mock_camera.scene.optics import FocusedLens
from mock_camera.scene.pieces import PIECES, height_map
from mock_camera.scene.surface import Layer

GRID = frame_grid(192, 128, 36 / 192)


def drawn(name: str, seed: int = 3, right_mm: float = 0.0) -> list[Layer]:
    piece = PIECES[name]
    pose = Pose(FocusedLens(), Placement(right_mm=right_mm), Placement(), piece.region_height_mm)
    return piece.draw(GRID, pose, seed)


@pytest.mark.parametrize("name", PIECES)
def test_the_lowest_layer_fills_the_raster_and_layers_rise(name: str) -> None:
    layers = drawn(name)
    assert layers[0].alpha.min() == 1
    assert layers[0].alpha.shape == (GRID.full_height, GRID.full_width)
    heights = [layer.height_mm for layer in layers]
    assert heights == sorted(heights)


@pytest.mark.parametrize("name", PIECES)
def test_a_piece_is_as_high_as_its_relief_and_has_its_region_in_the_frame(name: str) -> None:
    piece = PIECES[name]
    heights = height_map(drawn(name), GRID)
    assert heights.shape == (GRID.full_height, GRID.full_width)
    assert (heights.min(), heights.max()) == (0.0, np.float32(piece.relief_mm))
    left, top, width, height = piece.region_mm
    assert width > 0
    assert height > 0
    assert abs(left + width / 2) < 12
    assert abs(top + height / 2) < 8


@pytest.mark.parametrize("name", PIECES)
def test_reflectances_are_shares_and_detail_lies_in_the_region(name: str) -> None:
    for layer in drawn(name):
        for plane in (layer.alpha, layer.luma, layer.gloss):
            assert plane.min() >= -1e-5
            assert plane.max() <= 1.001
    assert drawn(name)[-1].luma.std() > 0.01


def test_the_same_seed_is_the_same_piece_and_the_grey_card_has_none() -> None:
    for name in PIECES:
        assert np.array_equal(drawn(name)[0].luma, drawn(name)[0].luma)
        other = np.array_equal(drawn(name, 3)[-1].luma, drawn(name, 4)[-1].luma)
        assert other == (name == "card")


def test_a_grey_card_is_of_18_percent_between_its_squares() -> None:
    luma = drawn("card")[0].luma
    share = np.mean(np.abs(luma - 0.18) < 0.002)
    assert share > 0.7  # squares of 1.5 mm stand 4 mm apart: 1 − (1.5/4)² = 86 %, less their edges
    assert luma.min() == pytest.approx(0.04, abs=2e-3)
    assert luma.max() == pytest.approx(0.60, abs=2e-3)


def test_where_layers_lie_on_each_other_the_highest_is_seen() -> None:
    layers = drawn("type")
    heights = height_map(layers, GRID)
    top = layers[-1]
    c = top.crop
    seen = heights[c.top : c.top + c.height, c.left : c.left + c.width]
    covered = top.alpha[: seen.shape[0], : seen.shape[1]] > 0.5
    assert covered.any()
    assert np.all(seen[covered] == np.float32(top.height_mm))
