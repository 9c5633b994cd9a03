"""Whole plans put up on the simulated bench: what the picture shows is what the plan said.

Random pieces are planned with the demo's kit; of each search one plan is drawn, from anywhere in the ranking, of each
kind in turn. The lens, lights, powers, distances, f-number and exposure time are put up as the plan says, and what the
picture shows of a grey card in the place of the piece, or of a polished plate with the same squares, is measured.

    STILLSET_EXAMPLES=6 .venv/bin/python -m pytest -s tests/whole/test_plan_put_up_shows_what_it_promised.py

Limits as in test_planner_agrees_with_pictures.py; run with -s for the worst errors.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from mock_camera.scene.grey_card import LATTICE_MM
from session.lighting.mirror import SHOWN_EV
from session.plan.kit_search import rank_plans
from session.plan.wish import Wish
from session.set.kit import Kit, demo_kit
from tests.support.card_in_picture import grey, magnification, row_shares
from tests.support.comparisons import (
    BLUR_SHARE,
    DARK_SHARE,
    DEPTH_SHARE,
    EXPOSURE_EV,
    RATIO_SHARE,
    WITHOUT_FLASH,
    held,
    worst_of_each,
)
from tests.support.examples import examples
from tests.support.random_plans import BODY, KINDS, Planned, kind_of, planned, promised_blur_mm, put_up, tells
from tests.support.simulated_bench import Bench
from tests.support.traced_lenses import SENSOR_WIDTH_MM

DEMO = demo_kit()
PLANS = [planned(number) for number in range(examples(7))]


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
    right = 0.18 * 2**SHOWN_EV if wish.surface == "mirror" else 0.18
    held("plan: exposure, EV", math.log2(grey(light) / right), EXPOSURE_EV, words)
    shares = row_shares(light, bench.light())
    held("plan: dark share, of the frame", float((shares < WITHOUT_FLASH).mean()), DARK_SHARE, words)
    # in time for every flash down to a tenth of its peak: the edge loses a tenth of its light at most, 0.152 EV
    assert -math.log2(shares.min()) < 0.152 + EXPOSURE_EV


@pytest.mark.parametrize("one", PLANS, ids=named)
def test_promised_blur_is_seen_at_both_ends_of_what_a_frame_covers(one: Planned) -> None:
    bench, half_mm = Bench(one.set_up, well_lit=True), one.plan.stop.slice_mm / 2
    for away_mm in (-half_mm, half_mm):
        shown = bench.blur_mm(away_mm) / promised_blur_mm(one.plan)
        held("plan: blur at the ends, share", shown - 1, BLUR_SHARE, one.set_up.put.words)


@pytest.mark.parametrize("one", PLANS, ids=named)
def test_allowed_blur_is_reached_at_the_ends_of_the_planned_depth(one: Planned) -> None:
    bench, depth_mm = Bench(one.set_up, well_lit=True), one.plan.stop.depth_mm
    off = np.random.default_rng(one.set_up.pixels[0]).uniform(0.6, 1.5)
    limit_mm = bench.depth_limit_through_glass_mm if one.set_up.glass else bench.depth_limit_mm
    near_mm, far_mm = (limit_mm(start_mm=side * off * depth_mm / 2) for side in (-1, 1))
    held("plan: depth, share", (near_mm + far_mm) / depth_mm - 1, DEPTH_SHARE, one.set_up.put.words)


@pytest.mark.parametrize("lens", ["Longmere 100 close-up", "Broadfen 28"])
def test_polished_piece_is_dark_and_lit_where_the_plan_says(lens: str) -> None:
    wish = Wish(
        60, 40, 3.0, blur_radius_on_piece_mm=0.05, surface="mirror", lights=("fill",), iso=50, body=BODY, lens=lens
    )
    plan = next(plan for plan in rank_plans(DEMO, wish).plans if plan.reflection)
    shown, (surface,) = plan.reflection, plan.lights
    assert surface.over_ev == 0
    assert shown is not None
    assert shown.dark_radius_mm is not None
    assert shown.lit_from_radius_mm is not None
    around_lens = replace(put_up(plan, DEMO).lights[0], elevation_deg=90, distance_mm=shown.panel_distance_mm)
    light = Bench(replace(put_up(plan, DEMO), lights=(around_lens,))).light()
    # the bare plate, halfway between two squares of the row through the middle
    bare_mm = LATTICE_MM * np.arange(-9, 10)
    px = plan.mounting.magnification * light.shape[1] / SENSOR_WIDTH_MM
    middle = light[light.shape[0] // 2 - 2 : light.shape[0] // 2 + 2]
    places = np.rint(light.shape[1] / 2 + bare_mm * px).astype(int)
    seen = [
        (abs(mm), middle[:, at - 1 : at + 2].mean())
        for mm, at in zip(bare_mm, places, strict=True)
        if 1 < at < light.shape[1] - 2
    ]
    dark = [value for mm, value in seen if mm < shown.dark_radius_mm]
    lit = [value for mm, value in seen if shown.lit_from_radius_mm < mm < wish.piece_width_mm / 2]
    assert dark
    assert lit
    assert max(dark) < 0.01
    for value in lit:
        held("plan: exposure of a lit surface, EV", math.log2(value / 0.18) - SHOWN_EV, EXPOSURE_EV, plan.build.label)


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
