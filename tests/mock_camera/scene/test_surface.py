"""A level of a piece in the making: covered to the fraction of a pixel, painted, bevelled, grained."""

import math

import numpy as np
import pytest

from mock_camera.scene.grid import Crop, Placement, Pose, frame_grid
from mock_camera.scene.optics import FocusedLens
from mock_camera.scene.shapes import disc
from mock_camera.scene.surface import Surface


def surface(width: int = 240, turn_deg: float = 0.0) -> Surface:
    grid = frame_grid(width, width * 2 // 3, 24 / width)
    pose = Pose(FocusedLens(), Placement(turn_deg=turn_deg), Placement(), 0.0)
    return Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), 0.0)


@pytest.mark.parametrize("radius_mm", [0.6, 2.0, 5.3])
def test_a_covered_disc_has_the_area_of_a_circle(radius_mm: float) -> None:
    s = surface()
    area_mm2 = float(s.coverage(disc(s.x, s.y, 0.2, -0.3, radius_mm)).sum()) * s.px_mm**2
    assert area_mm2 == pytest.approx(math.pi * radius_mm**2, rel=0.01)


def test_paint_mixes_the_colour_by_the_share_that_covers() -> None:
    s = surface()
    s.fill((0.2, 0.4, 0.6))
    s.paint(np.full_like(s.x, 0.25), (1.0, 0.0, 0.6))
    assert [float(plane.mean()) for plane in s.colour] == pytest.approx([0.4, 0.3, 0.6])


def test_a_part_holds_its_circle_and_not_much_more() -> None:
    s = surface()
    part = s.part(3.0, -2.0, 1.5)
    x, y = s.x[part], s.y[part]
    assert (x.min(), x.max(), y.min(), y.max()) == pytest.approx((1.5, 4.5, -3.5, -0.5), abs=8 * s.px_mm)
    assert x.min() <= 1.5 and x.max() >= 4.5 and y.min() <= -3.5 and y.max() >= -0.5


def test_a_bevel_faces_outwards_and_only_at_the_rim() -> None:
    s = surface()
    distance = disc(s.x, s.y, 0.0, 0.0, 3.0)
    s.bevel(distance, 0.5, 0.8)
    right, left = (distance > -0.4) & (distance < -0.1) & (s.x > 2.5), (s.x < -2.5) & (distance > -0.4) & (distance < 0)
    assert s.tilt_x[right].min() > 0 > s.tilt_x[left].max()
    assert not s.tilt_x[distance < -0.6].any()


@pytest.mark.parametrize("turn_deg", [0.0, 90.0])
def test_a_lean_is_given_along_the_pieces_own_axes(turn_deg: float) -> None:
    s = surface(turn_deg=turn_deg)
    s.lean(np.full_like(s.x, 0.1), np.zeros_like(s.x))
    # a quarter turn clockwise carries the piece's right to the picture's down
    angle = math.radians(turn_deg)
    assert float(s.tilt_x.mean()) == pytest.approx(0.1 * math.cos(angle), abs=1e-6)
    assert float(s.tilt_y.mean()) == pytest.approx(0.1 * math.sin(angle), abs=1e-6)


def test_grain_is_the_same_on_the_piece_at_any_size_of_pixel_and_never_finer() -> None:
    def grain(width: int) -> np.ndarray:
        s = surface(width)
        frame = slice(s.grid.margin_y, -s.grid.margin_y), slice(s.grid.margin_x, -s.grid.margin_x)
        return s.texture(5, (1.0, 1.0))[frame]

    coarse, fine = grain(120), grain(240)
    smaller = fine.reshape(80, 2, 120, 2).mean(axis=(1, 3))
    assert np.corrcoef(smaller.ravel(), coarse.ravel())[0, 1] > 0.95
    assert coarse.std() == pytest.approx(fine.std(), rel=0.1)
    assert surface().texture(5, (0.001, 0.001)).std() < 0.05, "what a pixel averages away isn't drawn"
