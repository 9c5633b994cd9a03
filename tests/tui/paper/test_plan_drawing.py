"""The plan is to scale: distances on paper are the recorded ones, and no label lies on anything."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from session.set.setup import PassiveItem, PlacedLight, Revision
from session.units.quantities import RefusedNumberError
from tests.support.log_samples import revision
from tui.paper.plan_drawing import (
    BOX_MM,
    DrawnThing,
    drawn_things,
    face,
    from_above,
    from_the_side,
    plan_svg,
)

Numbers = NDArray[np.float64]

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


@dataclass(frozen=True)
class Paper:
    """What a drawing holds, read from its SVG; mm. boxes (n, 4): left, top, right, bottom; strokes (n, 2, 2)."""

    boxes: Numbers
    symbols: Numbers
    sights: Numbers
    beams: Numbers
    leaders: Numbers

    @classmethod
    def read(cls, svg: str) -> Paper:
        rects = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" rx="1"', svg)
        boxes = np.array(rects, float).reshape(-1, 4)
        boxes[:, 2:] += boxes[:, :2]
        symbols = np.array(re.findall(r'data-x="([-\d.]+)" data-y="([-\d.]+)"', svg), float)
        strokes = [
            _strokes(svg, kind) for kind in ('stroke-width=".15" fill', 'stroke-width=".25"', 'stroke-width=".1"')
        ]
        return cls(boxes, symbols, *strokes)


def _strokes(svg: str, kind: str) -> Numbers:
    paths = "".join(re.findall(rf'<path d="(M[^"]+)" stroke="#000" {kind}', svg))
    return np.array(re.findall(r"M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)", paths), float).reshape(-1, 2, 2)


def on_boxes(boxes: Numbers, strokes: Numbers) -> NDArray[np.bool_]:
    """Which strokes have a part in which boxes, (boxes, strokes): by points every half per cent of their way."""
    shares = np.linspace(0, 1, 201)[None, :, None]
    points = strokes[:, None, 0] + shares * (strokes[:, None, 1] - strokes[:, None, 0])
    inside = (points[None] > boxes[:, None, None, :2]) & (points[None] < boxes[:, None, None, 2:])
    return np.asarray(inside.all(-1).any(-1))


SYMBOL_MM = 1.5
"""Half of what every symbol has at least."""


@pytest.mark.parametrize("seed", range(100))
def test_distances_on_paper_are_the_recorded_ones_and_no_label_lies_on_anything(seed: int) -> None:
    made = random_set(seed)
    above, aside = (plan_svg(made, side=side) for side in (False, True))
    distances_are_to_scale(made, above, aside)
    for svg in (above, aside):
        labels_are_clear(made, Paper.read(svg))


def distances_are_to_scale(made: Revision, from_above: str, from_aside: str) -> None:
    (scale, above), (other_scale, aside) = shown(from_above), shown(from_aside)
    assert scale == other_scale and set(above) == set(aside) == set(range(len(made.placed) + 1))
    for number, thing in enumerate(made.placed, 1):
        (x, y), (depth, height) = above[number], aside[number]
        on_paper_mm = math.hypot(x - HALF, y - HALF, HALF - height)
        assert on_paper_mm == pytest.approx((thing.distance_mm or 0) / scale, abs=WITHIN_MM)
        assert depth - HALF == pytest.approx(y - HALF, abs=WITHIN_MM), "both views have the same depth"
        assert all(0 <= place <= BOX_MM for place in (x, y, depth, height))


def labels_are_clear(made: Revision, paper: Paper) -> None:
    count = len(made.placed) + 1
    assert len(paper.boxes) == len(paper.symbols) == len(paper.sights) == len(paper.leaders) == count
    assert len(paper.beams) == 2 * len(made.lights)
    assert (paper.boxes[:, :2] > 0.5).all() and (paper.boxes[:, 2:] < BOX_MM - 0.5).all()
    apart = (paper.boxes[:, None, 2:] <= paper.boxes[None, :, :2]).any(-1)
    assert (apart | apart.T | np.eye(count, dtype=bool)).all(), "labels on labels"
    grown = paper.boxes + np.array([-SYMBOL_MM, -SYMBOL_MM, SYMBOL_MM, SYMBOL_MM])
    here = paper.symbols[None]
    assert not ((here > grown[:, None, :2]) & (here < grown[:, None, 2:])).all(-1).any(), "labels on symbols"
    assert not on_boxes(paper.boxes, paper.sights).any(), "labels on lines to the piece"
    assert not on_boxes(paper.boxes, paper.beams).any(), "labels on beams"
    inside = paper.boxes + np.array([0.1, 0.1, -0.1, -0.1])  # each ends at the edge of its own
    assert not on_boxes(inside, paper.leaders).any(), "leaders over labels"


def test_the_camera_stands_where_the_tape_says_and_things_are_as_large_as_they_are() -> None:
    card = PassiveItem("bounce", "card", 400.0, 90.0, 0.0, "", 210.0, 297.0)
    made = replace(revision(), lights=(), passive=(card,), working_distance_mm=300.0, view_down_deg=60.0)
    for side in (False, True):
        svg = plan_svg(made, side=side)
        scale, places = shown(svg)
        x, y = places[0]
        wanted = (HALF + 300 * math.cos(math.radians(60)) / scale, HALF - 300 * math.sin(math.radians(60)) / scale)
        assert (x, y) == pytest.approx(wanted if side else (HALF, HALF + 150 / scale), abs=WITHIN_MM)
        across, down = (size * scale for size in outline_mm(svg))
        wanted = (210, 297) if side else (0, 210)  # at the left it is seen edge-on from above
        assert (across, down) == pytest.approx(wanted, abs=WITHIN_MM * scale)
        assert "camera · 300 mm" in svg and "1 · 400 mm" in svg


def outline_mm(svg: str) -> tuple[float, float]:
    """Width and height on paper of what encloses the outline of thing 1, mm."""
    found = re.search(r'data-size="1" d="M([^z]+)z"', svg)
    assert found
    corners = [tuple(map(float, corner.split())) for corner in found[1].split("L")]
    return max(x for x, _ in corners) - min(x for x, _ in corners), max(y for _, y in corners) - min(
        y for _, y in corners
    )


HALVED = math.sqrt(0.5)
"""Cosine and sine of 45°."""


@pytest.mark.parametrize(
    ("place", "turn", "above", "aside"),
    [
        # upright glass before the camera: seen from above a stroke, which a turn to a side lays slantwise
        ((0.0, 0.0), (0.0, ""), (100, 0), (0, 60)),
        ((0.0, 0.0), (45.0, "left"), (100 * HALVED, 100 * HALVED), (100 * HALVED, 60)),
        ((0.0, 0.0), (45.0, "right"), (100 * HALVED, 100 * HALVED), (100 * HALVED, 60)),
        ((0.0, 0.0), (45.0, "up"), (100, 60 * HALVED), (60 * HALVED, 60 * HALVED)),
        # level glass under a camera that looks straight down
        ((0.0, 90.0), (0.0, ""), (100, 60), (60, 0)),
        ((0.0, 90.0), (45.0, "left"), (100 * HALVED, 60), (60, 100 * HALVED)),
        ((0.0, 90.0), (45.0, "down"), (100, 60 * HALVED), (60 * HALVED, 60 * HALVED)),
        ((0.0, 0.0), (45.0, ""), (100, 0), (0, 60)),  # nobody said where to: drawn square
    ],
)
def test_a_turned_thing_is_drawn_as_it_is_seen(
    place: tuple[float, float], turn: tuple[float, str], above: tuple[float, float], aside: tuple[float, float]
) -> None:
    glass = PassiveItem("plate", "pane", 200.0, *place, "", 100.0, 60.0, *turn)
    made = replace(revision(), lights=(), passive=(glass,))
    scale, _ = shown(plan_svg(made, side=False))
    for side, wanted in ((False, above), (True, aside)):
        seen = [size * scale for size in outline_mm(plan_svg(made, side=side))]
        assert seen == pytest.approx(wanted, abs=WITHIN_MM * scale / 10)


@pytest.mark.parametrize("side", [False, True])
def test_what_is_large_stays_in_the_drawing(side: bool) -> None:
    box = PlacedLight("key", 0.0, 600.0, 45.0, 45.0, "softbox", "", 1200.0, 1800.0)
    svg = plan_svg(replace(revision(), lights=(box,), passive=()), side=side)
    found = re.search(r'data-size="1" d="M([^z]+)z"', svg)
    assert found and all(0 <= float(part) <= BOX_MM for part in re.split("[ L]", found[1]))


def test_glass_turned_to_the_left_throws_light_from_the_left_on_the_piece() -> None:
    """The law of reflection: d − 2 (d · n) n, with n square to the glass."""
    for turn, comes_along in (("left", (-1, 0, 0)), ("right", (1, 0, 0)), ("up", (0, 0, -1)), ("down", (0, 0, 1))):
        wide, high = (np.array(way) for way in face(PassiveItem("plate", "pane", 200.0, 0.0, 0.0, "", 9, 9, 45, turn)))
        square, light = np.cross(wide, high), np.array(comes_along)
        thrown = light - 2 * (light @ square) * square
        assert thrown == pytest.approx([0, -1, 0], abs=1e-9), f"away from the camera, onto the piece: {turn}"


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
