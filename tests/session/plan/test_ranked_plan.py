"""A plan's rank and what follows from the plan, on a real search of the invented kit."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.plan.criteria import ROUNDING_EV, Criterion, at_least, at_most, filling, framing, light
from session.plan.kit_search import rank_plans
from session.plan.ranked_plan import AMPLE_EV, Plan, rank
from session.plan.ranking import first_of_each
from session.plan.wish import Wish
from tests.support.plan_kits import FULL_KIT, LENSES

KIT = FULL_KIT.model_copy(update={"body": FULL_KIT.body[:1], "lens": LENSES[4:7], "tube": FULL_KIT.tube[:1]})
PLANS = rank_plans(KIT, Wish(28, 22, 2.4, delivered_pixels=2400, blur_radius_on_piece_mm=0.015)).plans
ANY = PLANS[0]

ROOM, PIXELS = 5, 6


def points(*criteria: Criterion, plan: Plan = ANY) -> tuple[float, ...]:
    return rank(plan.build, criteria, plan.stop)


def test_what_fails_is_summed_and_what_holds_makes_up_for_nothing() -> None:
    short = points(at_least("room", 50, 100, "mm"), light(-0.5), at_most("blur", 1, 8, "mm"))
    assert short[0] == pytest.approx(1.5)
    assert points(at_least("room", 200, 100, "mm"), light(3.0))[0] == 0.0


def test_what_cannot_be_told_is_counted() -> None:
    assert points(at_least("room", None, 100, "mm"), light(None))[1] == 2
    assert points(at_least("room", 100, 100, "mm"), light(0.0))[1] == 0


@pytest.mark.parametrize(("spare_ev", "point"), [(0.5, -0.5), (AMPLE_EV, -AMPLE_EV), (4.0, -AMPLE_EV), (-0.5, 0.5)])
def test_room_and_pixels_beyond_twice_the_need_buy_nothing(spare_ev: float, point: float) -> None:
    value = 100 * 2**spare_ev
    found = points(at_least("room", value, 100, "mm"), at_least("pixels", value, 100, "px"))
    assert (found[ROOM], found[PIXELS]) == (pytest.approx(point), pytest.approx(point))


def test_however_much_room_there_is_counts_last_but_one() -> None:
    ample, vast = (points(at_least("room", mm, 100, "mm")) for mm in (300, 600))
    assert ample[:-2] == vast[:-2]
    assert vast[-2] < ample[-2]


def test_without_a_size_of_delivery_pixels_do_not_rank() -> None:
    assert points(at_least("room", 100, 100, "mm"))[PIXELS] == 0


@settings(max_examples=40)
@given(
    st.lists(st.floats(0.02, 0.8), min_size=2, max_size=6, unique=True),
    st.floats(-2, 3),
    st.floats(0.3, 0.8),
)
def test_of_plans_alike_in_all_else_the_one_that_fills_more_of_the_picture_never_ranks_later(shares, room_ev, fill):
    wish = Wish(28, 28, 2.4, None, fill, blur_radius_on_piece_mm=0.015)
    room = at_least("room", 100 * 2**room_ev, 100, "mm")
    ranks = [points(framing(share, wish), *filling(share, wish), room) for share in shares]
    in_order = [min(shares[at], fill) for at in first_of_each(ranks, range(len(ranks))) if shares[at] <= fill]
    assert all(more >= less * 2**-ROUNDING_EV for more, less in pairwise(in_order))


def test_where_pixels_are_wished_they_alone_say_how_far_a_picture_may_be_cropped() -> None:
    wish = Wish(28, 28, 2.4, delivered_pixels=2400)
    assert filling(0.1, wish) == ()
    (short,) = filling(0.2, replace(wish, delivered_pixels=None, blur_radius_on_piece_mm=0.015))
    assert short.short_ev == 2.0


def test_every_plan_of_a_search_keeps_its_own_rank_and_facts() -> None:
    assert len(PLANS) > 10
    for plan in PLANS:
        assert plan.delivered_pixels == pytest.approx(plan.pixels_on_piece / 0.8)
        assert [one.short_ev for one in plan.failing] == sorted((one.short_ev for one in plan.failing), reverse=True)
        assert plan.rank == rank(plan.build, plan.criteria, plan.stop)
        assert (plan.rank[0] > 0) == bool(plan.failing)
        assert plan.rank[1] == len(plan.unknown)
        assert plan.rank[2] == plan.stop.series.frames
        width_mm, height_mm = plan.field_mm
        assert (width_mm < height_mm) == plan.turned
        cut_off = next(one for one in plan.criteria if one.name == "framing").short_ev > 0
        assert cut_off or (width_mm * 0.8 >= 28 * 0.99 and height_mm * 0.8 >= 22 * 0.99)
        assert plan.pixels_on_piece == pytest.approx(28 * plan.mounting.magnification / plan.pixel_pitch_um * 1000)
        moved = plan.build.ring is not None or bool(plan.build.tubes) or plan.mounting.magnification > 1
        assert plan.focus_by_moving == moved


def test_a_series_takes_its_frames_times_the_longer_of_waiting_and_recycling() -> None:
    for plan in PLANS:
        each_s = max([plan.hold_off_s, *(light.recycling_time_s for light in plan.lights)])
        frames = plan.stop.series.frames
        assert plan.series_s == pytest.approx(frames * each_s + frames * plan.time.exposure_s)


def test_light_lost_close_up_is_told_in_stops() -> None:
    for plan in PLANS:
        lost = math.log2((plan.stop.effective_f_number / plan.stop.f_number) ** 2)
        assert plan.exposure_increase_ev == pytest.approx(lost)
