"""A plan in words: what a mirror-like piece shows, roles of lights, and what would do instead."""

import math
from dataclasses import replace

import pytest

from session.plan.kit_search import rank_plans
from session.plan.nearest_wish import nearest_wish
from session.plan.wish import Wish
from session.set.kit import demo_kit
from session.units.numbers import mm_text
from tui.planner.planner_screen import plan_line
from tui.planner.view_text import plan_details, view_lines

KIT = demo_kit()
MOVEMENT = Wish(28, 28, 2.4, delivered_pixels=2400, blur_radius_on_piece_mm=0.015)


def plan_for(wish: Wish = MOVEMENT, place: int = 0):
    return rank_plans(KIT, wish).plans[place]


@pytest.mark.parametrize("wish", [MOVEMENT, Wish(11, 11, 4, delivered_pixels=2000, plate="2 mm glass")])
def test_rows_of_the_ranking_differ_visibly_at_80_columns_and_are_whole_at_120(wish):
    plans = rank_plans(KIT, wish).plans
    assert len(plans) > 50
    rows = [plan_line(0, plan, KIT, 54) for plan in plans]  # 80 columns without the wishes and the gap
    assert max(map(len, rows)) <= 54
    parts = {(plan.build.body.name, plan.build.label): row for plan, row in zip(plans, rows, strict=True)}
    assert len(set(parts.values())) == len(parts)
    for plan in plans:
        row = plan_line(0, plan, KIT, 84)  # 120 columns likewise
        assert plan.build.lens.name in row and plan.build.body.name in row and "…" not in row
        added = [f"{tube.extension_mm:g}" for tube in plan.build.tubes]
        assert not added or row.index("+".join(added)) < row.index(plan.build.lens.name)


def test_what_to_give_up_and_why_is_told_once_for_all_that_fail_alike():
    wish = replace(MOVEMENT, body="Wendle 16")
    found = rank_plans(KIT, wish)
    lines = [text for text, _ in view_lines(found, wish, nearest_wish(KIT, wish, found), 8, invented=True, width=0)]
    assert lines[1].endswith("nearest first: nothing meets the whole wish")
    assert lines[2] == "Nearest: 1020 px instead of 2400. With Wendle 36 all of it holds."
    why = "      fails by 1.2 stops: 1024 pixels across the delivered picture, 2400 are wanted."
    assert (lines.count(why), lines.count("      fails as 1 does")) == (1, 6)
    # the third is cut off by its tube, which is another reason, and told too
    assert sum(line.startswith("      fails by") for line in lines) == 3
    holds = rank_plans(KIT, MOVEMENT)
    words = [text for text, _ in view_lines(holds, MOVEMENT, None, 3, invented=True, width=0)]
    assert words[1].endswith("best first") and not any("fails" in line for line in words)


def test_a_mirror_like_piece_smaller_than_the_lens_in_it_stays_dark():
    plan = plan_for(Wish(11, 9, 0.5, blur_radius_on_piece_mm=0.02, surface="mirror"))
    assert plan.reflection.dark_radius_mm > math.hypot(11, 9) / 2
    assert "shows the lens all over, and stays dark" in " ".join(text for _, text in plan_details(plan))


def test_what_a_mirror_like_piece_shows_over_a_plate_is_told_with_size_and_place():
    wish = Wish(11, 9, 0.5, blur_radius_on_piece_mm=0.02, plate="2 mm glass", surface="mirror", lights=("fill",))
    plan = plan_for(wish)
    told = " ".join(text for _, text in plan_details(plan))
    shown = plan.reflection
    assert shown.panel_distance_mm == plan.lights[0].distance_mm
    assert f"at least {mm_text(shown.panel_width_mm)} × {mm_text(shown.panel_height_mm)}" in told
    assert "small softbox fills" in told and "by its luminance" in told
    assert plan_for(replace(wish, surface="matt")).reflection is None


def test_plan_tells_each_lights_role_and_what_would_do_instead():
    plan = plan_for(replace(MOVEMENT, lights=("key", "fill", "rim=-1@120")))
    told = dict(plan_details(plan))
    assert "−2 EV beside the key" in told["light fill"]
    assert "behind, it lights the edge only" in told["light rim"]
    alone = list(plan_details(plan_for()))
    assert [label for label, _ in alone if label.startswith("light ")] == ["light key"]
    assert any(label == "or instead" and " alone, " in text for label, text in alone)
