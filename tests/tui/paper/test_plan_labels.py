"""Labels beside their points: as wide as their text, near where there is room, and farther where there is none."""

from __future__ import annotations

import math

import pytest

from tui.paper.plan_labels import FONT_MM, Drawn, LabelBox, place_labels, text_width_mm

SIDE_MM = 84.0


def test_a_label_is_as_wide_as_its_text_in_the_widest_usual_type() -> None:
    """Advance widths of a wide sans serif, in hundredths of an em, from its own table: 0-9 64, space and · 32, m 97."""
    assert text_width_mm("12 · 1240 mm") >= FONT_MM * (6 * 0.63 + 4 * 0.31 + 2 * 0.97)
    assert text_width_mm("camera · 310 mm") > text_width_mm("2 · 310 mm") + 3


def leader_mm(box: LabelBox, point: tuple[float, float]) -> float:
    return math.dist(box.leader_to, point)


def test_a_label_stands_near_its_point_and_its_leader_ends_at_its_edge() -> None:
    (box,) = place_labels(["1 · 500 mm"], Drawn([(60.0, 30.0)], [((60.0, 30.0), (42.0, 42.0))]), SIDE_MM)
    assert leader_mm(box, (60.0, 30.0)) < 4
    x, y = box.leader_to
    assert box.left_mm <= x <= box.left_mm + box.width_mm and box.top_mm <= y <= box.top_mm + box.height_mm


def test_labels_of_things_at_one_place_get_leaders_and_what_is_kept_free_stays_free() -> None:
    points = [(42.0, 60.0)] * 8
    free = LabelBox("", 20.0, 55.0, 44.0, 20.0)
    boxes = place_labels([f"{number} · 300 mm" for number in range(8)], Drawn(points, [], free=[free]), SIDE_MM)
    assert not [(one, other) for one in boxes for other in boxes if one.overlaps(other)]
    assert not [box for box in boxes if box.overlaps(free)]
    assert max(leader_mm(box, points[0]) for box in boxes) > 5


@pytest.mark.parametrize("count", [0, 1])
def test_few_labels_are_placed_too(count: int) -> None:
    assert len(place_labels(["camera · 90 mm"] * count, Drawn([(1.0, 1.0)] * count, []), SIDE_MM)) == count
