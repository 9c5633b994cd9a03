"""Plane shapes as signed distances: against the nearest of many points on their outlines."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.scene.shapes import box, capsule, disc, gear

places = st.floats(-20, 20)
quick = settings(max_examples=40)


def at(shape: object, x: float, y: float, *values: object) -> float:
    return float(shape(np.array([x], np.float32), np.array([y], np.float32), *values)[0])


def nearest(outline: list[tuple[float, float]], x: float, y: float) -> float:
    return min(math.hypot(x - px, y - py) for px, py in outline)


@quick
@given(places, places, st.floats(1, 8))
def test_a_disc_is_as_far_as_its_rim(x: float, y: float, radius: float) -> None:
    assert at(disc, x, y, 1, -2, radius) == pytest.approx(math.hypot(x - 1, y + 2) - radius, abs=1e-4)


@quick
@given(places, places, st.floats(1, 6), st.floats(1, 6))
def test_a_box_is_as_far_as_the_nearest_point_of_its_outline_and_negative_inside(
    x: float, y: float, half_w: float, half_h: float
) -> None:
    steps = [n / 200 * 2 - 1 for n in range(201)]
    outline = [(t * half_w, s * half_h) for t in steps for s in (-1, 1)]
    outline += [(s * half_w, t * half_h) for t in steps for s in (-1, 1)]
    inside = abs(x) < half_w and abs(y) < half_h
    distance = at(box, x, y, 0, 0, half_w, half_h)
    assert distance == pytest.approx(-nearest(outline, x, y) if inside else nearest(outline, x, y), abs=0.05)


def test_rounded_corners_take_from_the_corner_and_leave_the_sides() -> None:
    assert at(box, 5, 0, 0, 0, 5, 3, 1.0) == pytest.approx(0, abs=1e-5)
    assert at(box, 5, 3, 0, 0, 5, 3) == pytest.approx(0, abs=1e-5)
    assert at(box, 5, 3, 0, 0, 5, 3, 1.0) == pytest.approx(math.sqrt(2) - 1, abs=1e-5)


@quick
@given(places, places)
def test_a_capsule_is_as_far_as_the_nearest_point_of_its_middle_line_less_its_radius(x: float, y: float) -> None:
    line = [(-4 + 8 * n / 400, 1 + 2 * n / 400) for n in range(401)]
    assert at(capsule, x, y, (-4, 1), (4, 3), 1.5) == pytest.approx(nearest(line, x, y) - 1.5, abs=0.02)


def test_a_gear_has_its_teeth_around_a_hub_with_spokes_between() -> None:
    teeth, radius = 12, 6.0
    angles = np.linspace(0, 2 * np.pi, 7200, endpoint=False)
    x, y = ((radius + 0.05) * turned(angles).astype(np.float32) for turned in (np.cos, np.sin))
    rim = gear(x, y, 0, 0, radius, teeth, 0.0)
    crossings = int((np.diff(np.sign(rim)) != 0).sum())
    assert crossings == pytest.approx(2 * teeth, abs=1)
    assert at(gear, 0, 0, 0, 0, radius, teeth, 0.0) < 0, "the hub"
    assert at(gear, 30, 0, 0, 0, radius, teeth, 0.0) > 0
    between, on = math.radians(36), 0.0
    assert at(gear, 3 * math.cos(between), 3 * math.sin(between), 0, 0, radius, teeth, 0.0) > 0
    assert at(gear, 3 * math.cos(on), 3 * math.sin(on), 0, 0, radius, teeth, 0.0) < 0, "a spoke"


@pytest.mark.parametrize("shape", [(3,), (2, 5)])
def test_distances_have_the_shape_of_the_places(shape: tuple[int, ...]) -> None:
    x = np.zeros(shape, np.float32)
    for found in (
        disc(x, x, 0, 0, 1),
        box(x, x, 0, 0, 1, 1),
        capsule(x, x, (0, 0), (1, 0), 1),
        gear(x, x, 0, 0, 3, 9, 0),
    ):
        assert found.shape == shape
