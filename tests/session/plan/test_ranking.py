"""The order of plans: a hair in what fails decides nothing, over made-up ranks and on the demo's kit."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.plan.kit_search import rank_plans, reason
from session.plan.ranking import TOLERANCE_EV, better_in_every_later_point, decides, first_of_each
from session.plan.wish import Wish
from session.set.kit import demo_kit

RANKS = st.lists(
    st.tuples(st.sampled_from([0.0, 0.03, 0.049, 0.051, 0.09, 0.11, 0.16, 0.2, 0.31, 2.0]), *[st.integers(0, 3)] * 3),
    max_size=12,
)


@given(RANKS)
def test_a_plan_better_in_every_later_point_never_loses_by_less_than_the_tolerance(ranks):
    order = list(first_of_each(ranks, range(len(ranks))))
    assert sorted(order) == list(range(len(ranks)))
    for before, after in combinations(order, 2):
        if better_in_every_later_point(ranks[after], ranks[before]):
            assert ranks[after][0] >= ranks[before][0] + TOLERANCE_EV


@given(RANKS)
def test_of_plans_within_the_tolerance_of_the_least_the_later_points_decide(ranks):
    order = list(first_of_each(ranks, range(len(ranks))))
    for place, chosen in enumerate(order):
        left = [ranks[at] for at in order[place:]]
        least = min(rank[0] for rank in left)
        near = min((rank[1:], rank[0]) for rank in left if rank[0] <= least + TOLERANCE_EV)
        assert (ranks[chosen][1:], ranks[chosen][0]) <= near


@given(RANKS)
def test_what_loses_by_more_than_the_tolerance_and_wins_in_nothing_stands_behind(ranks):
    order = list(first_of_each(ranks, range(len(ranks))))
    for before, after in combinations(order, 2):
        one, other = ranks[before], ranks[after]
        assert not (one[0] > other[0] + TOLERANCE_EV and one[1:] >= other[1:])


@given(RANKS, st.integers(1, 4))
def test_each_group_is_told_once(ranks, count):
    groups = [place % count for place in range(len(ranks))]
    found = [groups[at] for at in first_of_each(ranks, groups)]
    assert sorted(found) == sorted(set(groups))


@pytest.mark.parametrize(
    ("ranks", "order"),
    [
        ([(2.0, 1.0), (0.0, 5.0)], [1, 0]),
        ([(0.11, 0.0), (0.0, 1.0)], [1, 0]),
        ([(0.09, 0.0), (0.0, 1.0)], [0, 1]),
        ([(0.3, 0.0), (0.15, 1.0), (0.0, 2.0)], [2, 1, 0]),
    ],
)
def test_what_fails_by_more_than_the_tolerance_stands_behind_whatever_else_it_has(ranks, order):
    assert list(first_of_each(ranks, range(len(ranks)))) == order


def test_hundreds_of_plans_come_out_by_their_totals():
    ranks = [(float(place % 400), 1.0) for place in range(399, -1, -1)]
    assert [ranks[at][0] for at in first_of_each(ranks, range(400))] == [float(place) for place in range(400)]


@pytest.mark.parametrize(
    ("better", "worse", "place"),
    [
        ((0.0, 1, 1), (0.11, 0, 0), 0),
        ((0.0, 1, 1), (0.09, 2, 0), 1),
        ((0.05, 1, 1), (0.0, 1, 2), 2),
        ((0.0, 1, 1), (0.09, 1, 1), 0),
        ((0.0, 1, 1), (0.0, 1, 1), None),
    ],
)
def test_the_point_that_decides_is_named(better, worse, place):
    assert decides(better, worse) == place


def test_five_pixels_of_a_thousand_do_not_put_a_lens_close_to_the_piece_before_one_with_room():
    # A 28 mm lens on a 12 mm tube starts at 12/28, half a percent above the ratio wanted: five pixels of 1,024 more.
    wish = Wish(30, 30, 1, delivered_pixels=1062, blur_radius_on_piece_mm=0.03, body="Wendle 16")
    plans = rank_plans(demo_kit(), wish).plans
    roomy = next(plan for plan in plans if plan.build.label == "Longmere 100 close-up")
    close = next(plan for plan in plans if plan.build.label == "Broadfen 28, 12 mm contact tube")
    assert 0 < close.delivered_pixels - roomy.delivered_pixels < 6
    assert roomy.clearance_mm > 4 * close.clearance_mm
    assert plans.index(roomy) < plans.index(close)
    assert reason(roomy, close) == "fewer parts"


@pytest.mark.parametrize(
    ("one", "other", "better"),
    [
        ((5.0, 1.0, 1.0), (0.0, 2.0, 1.0), True),
        ((0.0, 1.0, 1.0), (0.0, 1.0, 1.0), False),
        ((0.0, 1.0, 2.0), (0.0, 2.0, 1.0), False),
        ((0.0, 2.0, 2.0), (5.0, 1.0, 2.0), False),
    ],
)
def test_better_in_every_later_point_is_better_in_one_and_worse_in_none_whatever_fails(one, other, better):
    assert better_in_every_later_point(one, other) is better
