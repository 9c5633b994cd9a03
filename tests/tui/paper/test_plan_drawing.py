"""The plan is to scale: distances on paper are the recorded ones, and no number covers another."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from session.set.setup import PassiveItem, PlacedLight, Revision
from session.units.quantities import RefusedNumberError
from tests.support.log_samples import revision
from tui.paper.plan_drawing import (
    BOX_MM,
    DrawnThing,
    camera_place,
    drawn_things,
    from_above,
    from_the_side,
    labels,
    plan_svg,
)

HALF = BOX_MM / 2
WITHIN_MM = 0.5


def random_set(seed: int) -> Revision:
    """A set-up of up to twelve things, anywhere from 100 mm to 3 m."""
    chance = np.random.default_rng(seed)
    lights, passive = [], []
    for number in range(int(chance.integers(1, 13))):
        place = (float(chance.uniform(100, 3000)), float(chance.uniform(0, 360)), float(chance.uniform(-10, 90)))
        if chance.random() < 0.6:
            lights.append(PlacedLight(f"light {number}", -2.0, *place))
        else:
            kind = str(chance.choice(["bounce", "flag", "plate", "paper"]))
            passive.append(PassiveItem(kind, f"item {number}", *place))
    return replace(revision(), lights=tuple(lights), passive=tuple(passive))


def shown(svg: str) -> tuple[int, dict[int, tuple[float, float]]]:
    """The scale that a drawing names, and where its things stand on paper, mm."""
    scale = re.search(r'data-scale="(\d+)"', svg)
    found = re.findall(r'data-number="(\d+)" data-x="([-\d.]+)" data-y="([-\d.]+)"', svg)
    assert scale
    return int(scale[1]), {int(number): (float(x), float(y)) for number, x, y in found}


@pytest.mark.parametrize("seed", range(100))
def test_distances_on_paper_are_the_recorded_ones(seed: int) -> None:
    made = random_set(seed)
    scale, above = shown(plan_svg(made, side=False))
    other_scale, aside = shown(plan_svg(made, side=True))
    assert scale == other_scale and set(above) == set(aside) == set(range(len(made.placed) + 1))
    for number, thing in enumerate(made.placed, 1):
        (x, y), (depth, height) = above[number], aside[number]
        on_paper_mm = math.hypot(x - HALF, y - HALF, HALF - height)
        assert on_paper_mm == pytest.approx((thing.distance_mm or 0) / scale, abs=WITHIN_MM)
        assert depth - HALF == pytest.approx(y - HALF, abs=WITHIN_MM), "both views have the same depth"
        assert all(0 <= place <= BOX_MM for place in (x, y, depth, height))


@pytest.mark.parametrize("seed", range(100))
def test_no_number_covers_another(seed: int) -> None:
    made = random_set(seed)
    things = (*drawn_things(made), *filter(None, (camera_place(made),)))
    scale, _ = shown(plan_svg(made, side=False))
    for place in (from_above, from_the_side):
        boxes = labels([(one, place(one, scale)) for one in things])
        assert len(boxes) == len(things)
        assert not [(one, other) for one in boxes for other in boxes if one.overlaps(other)]


def test_the_camera_stands_where_the_tape_says_and_things_are_as_large_as_they_are() -> None:
    card = PassiveItem("bounce", "card", 400.0, 90.0, 0.0, "", 210.0, 297.0)
    made = replace(revision(), lights=(), passive=(card,), working_distance_mm=300.0, view_down_deg=60.0)
    for side, size_mm in ((False, 210.0), (True, 297.0)):
        svg = plan_svg(made, side=side)
        scale, places = shown(svg)
        x, y = places[0]
        wanted = (HALF + 300 * math.cos(math.radians(60)) / scale, HALF - 300 * math.sin(math.radians(60)) / scale)
        assert (x, y) == pytest.approx(wanted if side else (HALF, HALF + 150 / scale), abs=WITHIN_MM)
        ends = re.search(r'data-size="1" d="M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)"', svg)
        assert ends is not None
        one, two, three, four = map(float, ends.groups())
        assert math.hypot(three - one, four - two) == pytest.approx(size_mm / scale, abs=WITHIN_MM)
        assert "camera · 300 mm" in svg and "1 · 400 mm" in svg


def test_a_camera_whose_tilt_nobody_measured_is_left_out_of_the_view_from_the_side() -> None:
    made = replace(revision(), working_distance_mm=300.0, view_down_deg=None)
    assert "camera · 300 mm" in plan_svg(made, side=False)
    assert "camera · 300 mm" not in plan_svg(made, side=True)


@pytest.mark.parametrize("distance_mm", [-50.0, math.nan, 1e12])
def test_a_place_that_cant_be_meant_is_refused(distance_mm: float) -> None:
    camera = replace(revision(), working_distance_mm=distance_mm)
    light = replace(revision(), lights=(PlacedLight("key", 0.0, distance_mm, 10.0, 20.0),))
    for made in (camera, light):
        with pytest.raises(RefusedNumberError, match="distance_mm"):
            plan_svg(made, side=True)


@pytest.mark.parametrize(
    ("azimuth_deg", "elevation_deg", "above", "aside"),
    [
        (0, 0, (0, 1), (1, 0)),  # beside the camera: below the piece, at the right in the side view
        (90, 0, (-1, 0), (0, 0)),  # clockwise from the camera, seen from above: at the left
        (180, 0, (0, -1), (-1, 0)),  # behind the piece
        (270, 0, (1, 0), (0, 0)),
        (0, 90, (0, 0), (0, -1)),  # straight above
    ],
)
def test_sides_are_where_the_photographer_sees_them(
    azimuth_deg: float, elevation_deg: float, above: tuple[int, int], aside: tuple[int, int]
) -> None:
    made = replace(revision(), lights=(PlacedLight("key", 0.0, 500.0, azimuth_deg, elevation_deg),), passive=())
    (one,) = drawn_things(made)
    scale, _ = shown(plan_svg(made, side=False))
    for place, wanted in ((from_above, above), (from_the_side, aside)):
        x, y = place(one, scale)
        assert ((x - HALF) * scale / 500, (y - HALF) * scale / 500) == pytest.approx(wanted, abs=1e-9)


def test_what_has_no_place_is_left_out() -> None:
    made = replace(revision(), lights=(PlacedLight("key", 0.0, 500.0, None), PlacedLight("fill", 0.0, None, 10.0)))
    assert [one.number for one in drawn_things(made)] == [3]
    assert isinstance(drawn_things(made)[0], DrawnThing)
