"""Whole plans put up on the simulated bench: what the picture shows is what the plan said.

Random pieces are planned with the demo's kit; of each search one plan is drawn, from anywhere in the ranking, of each
kind in turn. The lens, lights, powers, distances, f-number and exposure time are put up as the plan says, and what the
picture of a grey card in the place of the piece shows is measured. The simulated table has no glass that blurs, so what
a plate does to the depth is left to tests/session/plan/test_second_model.py, and no mirror that shows its lights.

Limits as in test_planner_agrees_with_pictures.py; run with -s for the worst errors.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest

from session.plan.kit_search import rank_plans
from session.plan.wish import Wish
from session.set.kit import Kit, demo_kit
from tests.support.card_in_picture import grey, magnification, row_shares
from tests.support.comparisons import (
    DARK_SHARE,
    DEPTH_SHARE,
    EXPOSURE_EV,
    RATIO_SHARE,
    WITHOUT_FLASH,
    held,
    worst_of_each,
)
from tests.support.examples import examples
from tests.support.random_plans import BODY, KINDS, Planned, kind_of, planned, put_up, tells
from tests.support.simulated_bench import Bench
from tests.support.traced_lenses import SENSOR_WIDTH_MM

PLANS = [planned(number) for number in range(examples(10))]


def named(one: Planned) -> str:
    return one.set_up.put.words.replace(" ", "-")


@pytest.fixture(scope="module", autouse=True)
def table() -> Iterator[None]:
    yield
    print(f"\n{worst_of_each()}")


def test_different_lenses_and_added_parts_are_drawn() -> None:
    assert len({one.plan.build.lens.name for one in PLANS}) >= 3
    assert len({one.plan.build.label for one in PLANS}) >= 6
    assert {kind_of(one.plan) for one in PLANS} == set(KINDS)


@pytest.mark.parametrize("one", PLANS, ids=named)
def test_piece_takes_the_planned_share_of_the_picture_and_is_lit_rightly_from_edge_to_edge(one: Planned) -> None:
    plan, bench, words = one.plan, Bench(one.set_up), one.set_up.put.words
    light = bench.light(plan.time.exposure_s)
    shown = magnification(light, SENSOR_WIDTH_MM)
    promised = next(each.value for each in plan.criteria if each.name == "framing")
    assert promised is not None
    body, wish = plan.build.body, plan.wish
    across, down = wish.piece_width_mm, wish.piece_height_mm
    if plan.turned:
        across, down = down, across
    share = shown * max(across / body.sensor_width_mm, down / body.sensor_height_mm)
    held("plan: share of the picture", share / promised - 1, RATIO_SHARE, words)
    held("plan: exposure, EV", math.log2(grey(light) / 0.18), EXPOSURE_EV, words)
    shares = row_shares(light, bench.light())
    held("plan: dark share, of the frame", float((shares < WITHOUT_FLASH).mean()), DARK_SHARE, words)
    # in time for every flash down to a tenth of its peak: the edge loses a tenth of its light at most, 0.152 EV
    assert -math.log2(shares.min()) < 0.152 + EXPOSURE_EV


@pytest.mark.parametrize("one", [one for one in PLANS if not one.plan.wish.plate], ids=named)
def test_allowed_blur_is_reached_at_the_ends_of_the_planned_depth(one: Planned) -> None:
    bench, depth_mm = Bench(one.set_up, well_lit=True), one.plan.stop.depth_mm
    off = np.random.default_rng(one.set_up.pixels[0]).uniform(0.6, 1.5)
    near_mm = bench.depth_limit_mm(start_mm=-off * depth_mm / 2)
    far_mm = bench.depth_limit_mm(start_mm=off * depth_mm / 2)
    held("plan: depth, share", (near_mm + far_mm) / depth_mm - 1, DEPTH_SHARE, one.set_up.put.words)


DEMO = demo_kit()
TUBE = DEMO.shaper[0].model_copy(update={"origin_behind_mm": 150.0})
TUBED = DEMO.model_copy(update={"shaper": (TUBE, *DEMO.shaper[1:])})
"""The demo's kit with a tube in which the lamp stands 150 mm behind the front."""


@pytest.mark.parametrize("kit", [DEMO, TUBED], ids=["demo", "tube"])
@pytest.mark.parametrize(
    "lights",
    [
        (),
        ("key",),
        ("key", "fill"),
        ("key", "rim", "fill"),
        ("key", "rim=-1@120"),
        ("key", "rim=0@120", "fill=-1@70"),
        ("fill", "key=-2@20"),
    ],
    ids=",".join,
)
def test_grey_card_is_right_under_the_lights_of_the_set_up_that_a_plan_becomes(
    lights: tuple[str, ...], kit: Kit
) -> None:
    wish = Wish(20, 12, 1.0, blur_radius_on_piece_mm=0.03, lights=lights, body=BODY)
    plan = next(plan for plan in rank_plans(kit, wish).plans if tells(plan))
    assert len(plan.lights) == max(1, len(lights))
    light = Bench(put_up(plan, kit)).light(plan.time.exposure_s)
    held("plan: exposure of its lights, EV", math.log2(grey(light) / 0.18), EXPOSURE_EV, f"{lights}")
