"""The still lifes: each fills the frame, has its region in it, and is as high as it says."""

import numpy as np
import pytest

from mock_camera.scene.pieces import PIECES, height_map
from tests.support.still_life import PIECE_GRID, piece_layers


@pytest.mark.parametrize("name", PIECES)
def test_the_lowest_layer_fills_the_raster_and_layers_rise(name: str) -> None:
    layers = piece_layers(name)
    assert layers[0].alpha.min() == 1
    assert layers[0].alpha.shape == (PIECE_GRID.full_height, PIECE_GRID.full_width)
    heights = [layer.height_mm for layer in layers]
    assert heights == sorted(heights)


@pytest.mark.parametrize("name", PIECES)
def test_a_piece_is_as_high_as_its_relief_and_has_its_region_in_the_frame(name: str) -> None:
    piece = PIECES[name]
    heights = height_map(piece_layers(name), PIECE_GRID)
    assert heights.shape == (PIECE_GRID.full_height, PIECE_GRID.full_width)
    assert (heights.min(), heights.max()) == (0.0, np.float32(piece.relief_mm))
    left, top, width, height = piece.region_mm
    assert width > 0
    assert height > 0
    assert abs(left + width / 2) < 12
    assert abs(top + height / 2) < 8


@pytest.mark.parametrize("name", PIECES)
def test_reflectances_are_shares_and_detail_lies_in_the_region(name: str) -> None:
    for layer in piece_layers(name):
        for plane in (layer.alpha, layer.luma, layer.gloss):
            assert plane.min() >= -1e-5
            assert plane.max() <= 1.001
    assert piece_layers(name)[-1].luma.std() > 0.01


def test_the_same_seed_is_the_same_piece_and_card_and_mirror_have_none() -> None:
    for name in PIECES:
        assert np.array_equal(piece_layers(name)[0].luma, piece_layers(name)[0].luma)
        other = np.array_equal(piece_layers(name, 3)[-1].luma, piece_layers(name, 4)[-1].luma)
        assert other == (name in ("card", "mirror"))


def test_where_layers_lie_on_each_other_the_highest_is_seen() -> None:
    layers = piece_layers("type")
    heights = height_map(layers, PIECE_GRID)
    top = layers[-1]
    c = top.crop
    seen = heights[c.top : c.top + c.height, c.left : c.left + c.width]
    covered = top.alpha[: seen.shape[0], : seen.shape[1]] > 0.5
    assert covered.any()
    assert np.all(seen[covered] == np.float32(top.height_mm))
