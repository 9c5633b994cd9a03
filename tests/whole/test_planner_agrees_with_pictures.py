"""The planner's numbers against the simulated camera's pictures, over random arrangements.

Three routes to each number: the planner's formulas; a ray trace of the same glass, from which the simulated camera is
set up; and what its picture shows, formed by its own optics, light and shutter and measured in its pixels (never in
what it says of itself). Everything is drawn by number from one seed, see tests/support/random_set_ups.py.

Limits are those the product promises: ratio 0.5 %, depth at the stated blur 10 %, exposure 0.1 EV, dark share 2 % of
the frame. Run with -s for the worst error of each.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest

from session.lighting import sync
from session.optics.aperture import depth_with_diffraction_mm
from session.optics.depth import depth_of_lens
from session.optics.steps import refocus
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
from tests.support.random_set_ups import set_up
from tests.support.simulated_bench import SLOW_S, Bench, SetUp
from tests.support.still_life import linear
from tests.support.traced_lenses import KINDS, SENSOR_WIDTH_MM

SET_UPS = [set_up(number) for number in range(36)]
SHOTS = 3  # where diffraction counts, depth answers two to three times as strongly to noise in the blur
SMALL_OPENINGS = [set_up(number, small_opening=True) for number in range(12)]
FOCUSED_BY_RING = [one for one in SET_UPS if one.kind in ("bare", "tubes")]


def named(one: SetUp) -> str:
    return one.put.words.replace(" ", "-")


@pytest.fixture(scope="module", autouse=True)
def table() -> Iterator[None]:
    yield
    print(f"\n{worst_of_each()}")


def test_each_kind_of_arrangement_is_drawn_and_thirty_in_all() -> None:
    assert len(SET_UPS) >= 30
    assert {one.kind for one in SET_UPS} == {one.kind for one in SMALL_OPENINGS} == set(KINDS)


@pytest.mark.parametrize("one", SET_UPS, ids=named)
def test_ratio_in_the_picture_is_the_planned_one(one: SetUp) -> None:
    shown = magnification(Bench(one).light(), SENSOR_WIDTH_MM)
    held("ratio, share", shown / one.put.planned.magnification - 1, RATIO_SHARE, one.put.words)


@pytest.mark.parametrize("one", FOCUSED_BY_RING, ids=named)
def test_ratio_after_turning_the_ring_is_the_planned_one(one: SetUp) -> None:
    # a small opening, so that the card is still to be measured out of focus
    lens, bench = one.put.planned, Bench(one, well_lit=True, f_number=32)
    farther_mm = 0.05 * lens.entrance_pupil_distance_mm
    planned = refocus(lens.focal_length_mm, lens.magnification, farther_mm, lens.pupil_magnification)
    before = magnification(bench.light(), SENSOR_WIDTH_MM)
    bench.world.do("turn_focus", mm=farther_mm)
    still = magnification(bench.light(), SENSOR_WIDTH_MM)
    held("size of a still card by ring, share", still / before / planned.still_scale - 1, RATIO_SHARE, one.put.words)
    bench.move_back_to(farther_mm)
    followed = magnification(bench.light(), SENSOR_WIDTH_MM)
    held("ratio at the new plane, share", followed / planned.magnification - 1, RATIO_SHARE, one.put.words)


@pytest.mark.parametrize("one", SET_UPS, ids=named)
def test_stated_blur_is_reached_at_the_planned_depth_limits(one: SetUp) -> None:
    planned = depth_of_lens(one.put.planned, one.blur_circle_mm)
    bench = Bench(one, well_lit=True)
    # the first try knows the limits by half only, to one side or the other
    off = np.random.default_rng(one.pixels[0]).uniform(0.6, 1.5)
    near_mm = bench.depth_limit_mm(start_mm=-off * planned.near_mm)
    far_mm = bench.depth_limit_mm(start_mm=off * planned.far_mm)
    held("near limit, share", near_mm / planned.near_mm - 1, DEPTH_SHARE, one.put.words)
    held("far limit, share", far_mm / planned.far_mm - 1, DEPTH_SHARE, one.put.words)
    held("depth, share", (near_mm + far_mm) / planned.depth_mm - 1, DEPTH_SHARE, one.put.words)


@pytest.mark.parametrize("one", SMALL_OPENINGS, ids=named)
def test_stated_blur_with_diffraction_is_reached_at_the_planned_depth(one: SetUp) -> None:
    lens, bench = one.put.planned, Bench(one, well_lit=True)
    planned_mm = depth_with_diffraction_mm(lens.effective_f_number, lens.magnification, one.blur_circle_mm)
    off = np.random.default_rng(one.pixels[0]).uniform(0.6, 1.5)
    near_mm = bench.depth_limit_mm(start_mm=-off * planned_mm / 2, shots=SHOTS)
    far_mm = bench.depth_limit_mm(start_mm=off * planned_mm / 2, shots=SHOTS)
    held("depth with diffraction, share", (near_mm + far_mm) / planned_mm - 1, DEPTH_SHARE, one.put.words)


@pytest.mark.parametrize("one", SET_UPS, ids=named)
def test_grey_card_comes_out_as_bright_as_planned(one: SetUp) -> None:
    bench = Bench(one)
    by_flash = math.log2(grey(bench.light()) / 0.18)
    held("exposure by flash, EV", by_flash - one.flash_ev, EXPOSURE_EV, one.put.words)
    bench.world.do("ambient", ev=-one.ambient_stops_under, exposure_s=SLOW_S)
    with_room = math.log2(grey(linear(bench.picture())) / 0.18)
    held("exposure by flash and room, EV", with_room - one.whole_ev, EXPOSURE_EV, one.put.words)


@pytest.mark.parametrize("one", SET_UPS, ids=named)
def test_rows_without_flash_are_as_many_as_planned(one: SetUp) -> None:
    bench = Bench(one)
    shares = row_shares(bench.light(one.short_s), bench.light())
    planned = sync.dark_share(one.short_s, one.curtain_travel_s, one.trigger_delay_s)
    held("dark share, of the frame", float((shares < WITHOUT_FLASH).mean()) - planned, DARK_SHARE, one.put.words)
    # the bottom of the upright picture is covered first: there the travel begins
    place = 1 - (np.arange(len(shares)) + 0.5) / len(shares)
    loss_ev = sync.loss_along_frame_ev(
        place, one.short_s, one.curtain_travel_s, one.trigger_delay_s, one.duration_t01_s
    )
    lit = loss_ev < 3
    if lit.any():
        off = -np.log2(shares[lit]) - loss_ev[lit]
        held("loss along the frame, EV", float(off[np.argmax(np.abs(off))]), EXPOSURE_EV, one.put.words)
