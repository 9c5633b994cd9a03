"""The tray of type: rows of different height, single sorts above their row, faces written mirror-wise."""

import numpy as np

from mock_camera.scene.pieces import height_map
from mock_camera.scene.type_tray import EDGE_MM, FACE_MM, HIGH_MM, HIGH_SORTS, REGION_MM, ROW_MM, ROW_Y, WOOD_MM
from tests.support.still_life import PIECE_GRID, piece_layers

PX_PER_MM = 192 / 36


def row_of(heights: np.ndarray, y_mm: float, reach_mm: float) -> np.ndarray:
    """The heights in mm, (rows, width), of what lies within `reach_mm` of a line across the tray."""
    middle = PIECE_GRID.full_height / 2 + y_mm * PX_PER_MM
    return heights[round(middle - reach_mm * PX_PER_MM) : round(middle + reach_mm * PX_PER_MM)]


def test_each_row_has_its_own_height_and_its_high_sorts() -> None:
    heights = height_map(piece_layers("type"), PIECE_GRID)
    for number, (y_mm, face_mm) in enumerate(zip(ROW_Y, FACE_MM, strict=True)):
        found = {round(float(height), 3) for height in np.unique(row_of(heights, y_mm, ROW_MM / 4))}
        high = {HIGH_MM} if any(row == number for row, _ in HIGH_SORTS) else set()
        assert found == {0.0, face_mm} | high


def test_the_region_is_the_row_in_which_no_sort_stands_high() -> None:
    middle = REGION_MM[1] + REGION_MM[3] / 2
    (number,) = (row for row, y_mm in enumerate(ROW_Y) if abs(y_mm - middle) < ROW_MM / 2)
    assert number not in {row for row, _ in HIGH_SORTS}


def test_wood_holds_the_rows_from_both_sides() -> None:
    heights = height_map(piece_layers("type"), PIECE_GRID)
    for side in (-1, 1):
        assert np.all(row_of(heights, side * (EDGE_MM + 2), 1.0) == np.float32(WOOD_MM))
