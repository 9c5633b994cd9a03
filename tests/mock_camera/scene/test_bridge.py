"""The watch bridge: its lettering is its region, and the screws lie where and as high as they are said to."""

import numpy as np
import pytest

from mock_camera.scene.bridge import BRIDGE_MM, LINES, REGION_MM, SCREW_MM, SCREW_RADIUS, SCREWS
from mock_camera.scene.pieces import height_map
from tests.support.still_life import PIECE_GRID, piece_layers

PX_PER_MM = 192 / 36


def test_both_lines_of_lettering_lie_in_the_region_on_the_bridge() -> None:
    left, top, width, height = REGION_MM
    for _, y_mm, capital_mm in LINES:
        assert top < y_mm - capital_mm / 2 < y_mm + capital_mm / 2 < top + height
    (bridge,) = (layer for layer in piece_layers("bridge") if layer.height_mm == BRIDGE_MM)
    middle_x, middle_y = PIECE_GRID.full_width / 2 - bridge.crop.left, PIECE_GRID.full_height / 2 - bridge.crop.top
    rows = slice(round(middle_y + top * PX_PER_MM), round(middle_y + (top + height) * PX_PER_MM))
    columns = slice(round(middle_x + left * PX_PER_MM), round(middle_x + (left + width) * PX_PER_MM))
    metal = float(np.median(bridge.luma[rows, columns]))
    dark = (bridge.luma < 0.6 * metal)[rows, columns].mean()
    assert dark > 0.05, "filled letters are much darker than the striped metal"


def test_the_screws_stand_highest_at_their_places() -> None:
    heights = height_map(piece_layers("bridge"), PIECE_GRID)
    rows, columns = np.nonzero(np.isclose(heights, SCREW_MM))
    x = (columns + 0.5 - PIECE_GRID.full_width / 2) / PX_PER_MM
    y = (rows + 0.5 - PIECE_GRID.full_height / 2) / PX_PER_MM
    # heights above the region's plane are drawn larger by less than 1 %, which moves a screw by less than a pixel
    near = [np.hypot(x - sx, y - sy) < SCREW_RADIUS + 0.3 for sx, sy in SCREWS]
    assert np.any(near, axis=0).all()
    for there in near:
        assert there.sum() / PX_PER_MM**2 == pytest.approx(np.pi * SCREW_RADIUS**2, rel=0.15)


def test_another_seed_turns_the_screw_slots() -> None:
    one, other = (piece_layers("bridge", seed)[-1].luma for seed in (3, 4))
    assert one.shape == other.shape
    assert not np.allclose(one, other)
