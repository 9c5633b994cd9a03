"""The plan from the side, drawn to scale in as much room as there is."""

import pytest

from session.plan.kit_search import rank_plans
from session.plan.wish import Wish
from session.set.kit import demo_kit
from tui.screen.side_view import RIGHT_MARGIN_COLUMNS, side_view

KIT = demo_kit()
MOVEMENT = Wish(28, 28, 2.4, delivered_pixels=2400, blur_radius_on_piece_mm=0.015)


def plan_for(wish: Wish = MOVEMENT, place: int = 0):
    return rank_plans(KIT, wish).plans[place]


@pytest.mark.parametrize("width", [60, 80, 120, 160])
@pytest.mark.parametrize("place", [0, 5, 40])
def test_distances_along_the_axis_are_drawn_to_scale(width, place):
    plan = plan_for(place=place)
    drawn = side_view(plan, width, 15)
    middle = drawn.lines[15 // 2]
    plane = width - RIGHT_MARGIN_COLUMNS
    sensor = middle.index("▌")
    assert (plane - sensor) * drawn.mm_a_column == pytest.approx(plan.mounting.track_mm, abs=drawn.mm_a_column)
    front = max(line.rindex("│") for line in drawn.lines if "│" in line)
    free_mm = (plane - front) * drawn.mm_a_column
    assert free_mm == pytest.approx(plan.mounting.working_distance_mm, abs=1.5 * drawn.mm_a_column)


@pytest.mark.parametrize(("width", "height"), [(30, 5), (80, 7), (80, 24), (200, 60)])
def test_the_drawing_fills_its_place_exactly(width, height):
    for wish in (MOVEMENT, Wish(11, 11, 4, delivered_pixels=2000, plate="2 mm glass")):
        drawn = side_view(plan_for(wish), width, height)
        assert [len(line) for line in drawn.lines] == [width] * height


@pytest.mark.parametrize(("width", "height"), [(0, 0), (5, 2), (29, 4)])
def test_where_there_is_no_room_nothing_is_drawn(width, height):
    drawn = side_view(plan_for(), width, height)
    assert "".join(drawn.lines).strip() == ""


def test_a_plate_is_drawn_tilted_and_lights_beyond_the_drawing_are_named_with_their_distance():
    drawn = side_view(plan_for(Wish(28, 28, 2.4, delivered_pixels=2400, plate="2 mm glass")), 100, 20)
    assert sum(line.count("╲") for line in drawn.lines) > 10
    assert any(word.startswith("key ") and word.endswith(" mm") for word in drawn.beyond)
