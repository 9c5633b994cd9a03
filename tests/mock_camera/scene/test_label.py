"""The printed label: flat, as large as the frame, and with detail everywhere."""

import numpy as np

from mock_camera.scene.grid import Placement, Pose
from mock_camera.scene.label import PAPER, PRINT, draw
from mock_camera.scene.optics import FocusedLens
from tests.support.still_life import PIECE_GRID, piece_layers


def test_it_is_one_flat_layer_without_gloss() -> None:
    (label,) = piece_layers("label")
    assert label.height_mm == label.thickness_mm == 0.0
    assert label.luma.shape == (PIECE_GRID.full_height, PIECE_GRID.full_width)
    assert not label.gloss.any() and not label.tilt_x.any() and not label.tilt_y.any()


def test_every_part_of_the_frame_has_detail_between_print_and_paper() -> None:
    (label,) = piece_layers("label")
    dark, light = ((tint[0] + 2 * tint[1] + tint[2]) / 4 for tint in (PRINT, PAPER))
    rows, columns = (side // 16 for side in label.luma.shape)
    tiles = label.luma[: rows * 16, : columns * 16].reshape(rows, 16, columns, 16)
    # a third of the whole range is far above the fibres alone, which vary the paper by a tenth
    assert (tiles.max(axis=(1, 3)) - tiles.min(axis=(1, 3))).min() > (light - dark) / 3


def test_the_print_lies_on_the_piece_and_moves_with_it() -> None:
    def rows_of(down_mm: float) -> np.ndarray:
        pose = Pose(FocusedLens(), Placement(down_mm=down_mm), Placement(), 0.0)
        return draw(PIECE_GRID, pose, 3)[0].luma

    step_px = 8
    still, moved = rows_of(0.0), rows_of(step_px * 36 / 192)
    assert np.abs(still[:-step_px] - moved[step_px:]).mean() < 0.2 * np.abs(still - moved).mean()
