"""Signs on the picture: the region's frame and the lines at thirds, in cells."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.set.setup import Region
from tui.screen.picture_view import frame_signs, third_signs


@settings(max_examples=50)
@given(
    st.floats(0, 0.98),
    st.floats(0, 0.98),
    st.floats(0.01, 1),
    st.floats(0.01, 1),
    st.integers(1, 120),
    st.integers(1, 50),
)
def test_the_regions_frame_lies_in_the_picture(
    left: float, top: float, width: float, height: float, columns: int, rows: int
) -> None:
    region = Region(left, top, min(width, 1 - left), min(height, 1 - top))
    signs = frame_signs(region, columns, rows)
    assert all(0 <= x < columns and 0 <= y < rows for x, y in signs)
    if columns > 1 and rows > 1:
        assert {"┌", "┘"} <= set(signs.values())


def test_the_regions_frame_encloses_the_region() -> None:
    signs = frame_signs(Region(0.25, 0.5, 0.5, 0.5), 40, 20)
    corners = {sign: place for place, sign in signs.items() if sign in "┌┘"}
    assert corners == {"┌": (10, 10), "┘": (29, 19)}


@settings(max_examples=50)
@given(st.integers(1, 120), st.integers(1, 50))
def test_the_lines_at_thirds_are_mirror_images_and_lie_in_the_picture(columns: int, rows: int) -> None:
    signs = third_signs(columns, rows)
    assert all(0 <= x < columns and 0 <= y < rows for x, y in signs)
    assert {(columns - 1 - x, y): sign for (x, y), sign in signs.items()} == signs
    assert {(x, rows - 1 - y): sign for (x, y), sign in signs.items()} == signs


@pytest.mark.parametrize(("columns", "rows"), [(30, 12), (90, 30), (31, 20)])
def test_the_lines_at_thirds_cross_four_times_and_leave_three_parts_about_as_wide(columns: int, rows: int) -> None:
    signs = third_signs(columns, rows)
    crossings = sorted(place for place, sign in signs.items() if sign == "┼")
    assert len(crossings) == 4
    (left, top), (right, bottom) = crossings[0], crossings[-1]
    assert abs(left - columns / 3) <= 1
    assert abs(right - 2 * columns / 3) <= 1
    assert abs(top - rows / 3) <= 1
    assert abs(bottom - 2 * rows / 3) <= 1
    assert sum(sign == "│" for sign in signs.values()) == 2 * (rows - 2)
    assert sum(sign == "─" for sign in signs.values()) == 2 * (columns - 2)
