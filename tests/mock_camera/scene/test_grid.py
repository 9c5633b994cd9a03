"""Pixels and millimetres: there and back for any pose, sizes that transform quickly, and windows that hold a box."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.scene.grid import (
    Crop,
    Placement,
    Pose,
    crop_of,
    frame_grid,
    piece_coordinates,
    places_down,
    quick_size,
)
from mock_camera.scene.optics import FocusedLens

quick = settings(max_examples=40)
placements = st.builds(Placement, st.floats(-3, 3), st.floats(-3, 3), st.floats(-180, 180))
poses = st.builds(
    Pose, st.just(FocusedLens()), placements, placements, st.floats(0, 3), st.floats(-5, 5), st.floats(0.9, 1.1)
)
STILL = Pose(FocusedLens(), Placement(), Placement(), 0.0)
GRID = frame_grid(384, 256, 24 / 384)


@quick
@given(poses, st.floats(-10, 10), st.floats(-10, 10), st.floats(0, 5))
def test_a_point_of_the_piece_comes_back_from_the_sensor(pose: Pose, x: float, y: float, height: float) -> None:
    back = pose.to_piece(*pose.to_sensor(x, y, height), height)
    assert back == pytest.approx((x, y), abs=1e-6)


@quick
@given(poses, st.floats(0, 4))
def test_what_lies_nearer_to_the_lens_is_drawn_larger(pose: Pose, height: float) -> None:
    assert pose.magnification(height + 0.5) > pose.magnification(height)
    assert pose.away_of(height + 0.5) == pytest.approx(pose.away_of(height) - 0.5)


@quick
@given(poses)
def test_turning_keeps_every_length_at_the_ratio_of_its_height(pose: Pose) -> None:
    one, other = pose.to_sensor(1, 2, 0), pose.to_sensor(4, 6, 0)
    assert math.dist(one, other) == pytest.approx(5 * pose.magnification(0))


def test_in_the_regions_plane_the_ratio_is_the_arrangements() -> None:
    pose = Pose(FocusedLens(), Placement(), Placement(), 2.0)
    assert pose.magnification(2.0) == pytest.approx(FocusedLens().magnification)


@quick
@given(poses, st.floats(-1, 1), st.floats(-1, 1))
def test_a_direction_on_the_table_keeps_its_length_in_the_picture(pose: Pose, right: float, down: float) -> None:
    assert math.hypot(*pose.to_picture(right, down)) == pytest.approx(math.hypot(right, down), abs=1e-9)


@pytest.mark.parametrize("place", [(0.0, 0.0), (3.5, -7.25), (500.0, 200.0)])
def test_pixels_and_places_on_the_sensor_are_one_from_the_other(place: tuple[float, float]) -> None:
    assert GRID.pixel(*GRID.sensor_mm(*place)) == pytest.approx(place)


def test_the_middle_of_the_raster_is_the_optical_axis() -> None:
    assert GRID.sensor_mm((GRID.full_width - 1) / 2, (GRID.full_height - 1) / 2) == pytest.approx((0, 0))


@quick
@given(st.integers(1, 5000))
def test_a_quick_size_is_the_next_multiple_of_four_with_small_factors(at_least: int) -> None:
    size = quick_size(at_least)

    def is_quick(number: int) -> bool:
        rest = number
        for prime in (2, 3, 5, 7):
            while rest % prime == 0:
                rest //= prime
        return rest == 1

    assert size >= at_least and size % 4 == 0 and is_quick(size)
    assert not any(is_quick(smaller) for smaller in range((at_least + 3) // 4 * 4, size, 4))


@quick
@given(st.integers(32, 1500).map(lambda n: 2 * n), st.integers(32, 1000).map(lambda n: 2 * n), st.floats(0, 5))
def test_the_margin_is_even_and_lies_alike_on_both_sides(width: int, height: int, reach_mm: float) -> None:
    grid = frame_grid(width, height, 24 / width, reach_mm=reach_mm)
    assert grid.margin_x % 2 == grid.margin_y % 2 == 0
    assert grid.full_width == width + 2 * grid.margin_x >= width + 48
    wanted = min(round(reach_mm / grid.pitch_mm), round(0.15 * width))
    assert grid.margin_x >= wanted - 1


def test_rows_fall_evenly_in_the_frame_and_spread_with_the_zoom() -> None:
    plain, zoomed = places_down(GRID, 1.0), places_down(GRID, 1.02)
    assert plain[GRID.margin_y] == pytest.approx(0.5 / GRID.height)
    assert plain[GRID.margin_y + GRID.height - 1] == pytest.approx(1 - 0.5 / GRID.height)
    assert zoomed[0] < plain[0] and zoomed[-1] > plain[-1]
    assert (zoomed[-1] - zoomed[0]) / (plain[-1] - plain[0]) == pytest.approx(1.02)


@quick
@given(poses, st.floats(-8, 6), st.floats(-5, 3), st.floats(0.5, 4), st.floats(0.5, 4))
def test_a_window_holds_its_box_and_is_none_where_the_box_lies_outside(
    pose: Pose, left: float, top: float, width: float, height: float
) -> None:
    window = crop_of(GRID, pose, (left, top, left + width, top + height), 0.0)
    corners = [GRID.pixel(*pose.to_sensor(left + i * width, top + j * height, 0.0)) for i in (0, 1) for j in (0, 1)]
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    if window is None:
        assert max(xs) < 4 or max(ys) < 4 or min(xs) > GRID.full_width - 6 or min(ys) > GRID.full_height - 6
        return
    assert window.left % 4 == window.top % 4 == window.width % 2 == window.height % 2 == 0
    assert window.left <= max(min(xs), 0) and window.top <= max(min(ys), 0)
    assert window.left + window.width >= min(max(xs), GRID.full_width - 1)
    assert window.top + window.height >= min(max(ys), GRID.full_height - 1)


@pytest.mark.parametrize("pose", [STILL, Pose(FocusedLens(), Placement(1, 2, 30), Placement(0, 0, -10), 0.0)])
def test_every_pixel_of_a_window_lies_where_the_pose_puts_it(pose: Pose) -> None:
    crop = Crop(40, 20, 60, 30)
    x, y, mm = piece_coordinates(GRID, pose, crop, 1.0)
    assert x.shape == y.shape == (30, 60)
    for row, column in ((0, 0), (29, 59), (10, 33)):
        expected = pose.to_piece(*GRID.sensor_mm(crop.left + column, crop.top + row), 1.0)
        assert (float(x[row, column]), float(y[row, column])) == pytest.approx(expected, abs=1e-3)
    assert mm == pytest.approx(GRID.pitch_mm / pose.magnification(1.0), rel=1e-5)
