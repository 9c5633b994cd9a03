"""The search against brute force over the same criteria, and the reasons it gives."""

import math
import sys
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import session.optics.sharpness
from session.plan.kit_search import WORDS, rank_plans, reason
from session.plan.ranked_plan import Plan
from session.plan.ranking import TOLERANCE_EV, better_in_every_later_point
from session.plan.wish import Wish
from session.set.kit import Kit, Plate, Support, demo_kit
from tests.support.plan_brute_force import candidates
from tests.support.plan_kits import BODY, FULL_KIT, LENSES, LIGHTS

MOVEMENT = Wish(28, 28, 2.4, delivered_pixels=2400, blur_radius_on_piece_mm=0.015)
RING = Wish(11, 11, 6, delivered_pixels=2400, blur_radius_on_piece_mm=0.015, lights=("flash 36", "flash 12"))
CALIPER = Wish(140, 40, 30, 3, delivered_pixels=2400, blur_radius_on_piece_mm=0.05, clear_in_front_mm=300)
HOPELESS = Wish(4, 4, 3, delivered_pixels=9000, blur_radius_on_piece_mm=0.002, most_frames=5, clear_in_front_mm=200)

ROUNDING = (0.02, 0, 0, 0, 0, 0.011, 0.011, 0, 0.011, 1e-4)
"""What the ranks may differ by without one of them being better: pupils of the brute force are sampled, and points of a
rank are rounded."""

BLUR_TENTHS, BLUR = 7, 9


def lexically_better(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Whether the first later point that differs by more than rounding is better."""
    for place in range(1, len(one)):
        mine, its = one[place], other[place]
        if place in (BLUR_TENTHS, BLUR) and one[BLUR] == pytest.approx(other[BLUR], rel=5e-3):
            continue  # the same blur, perhaps on the two sides of a tenth of a stop
        if abs(mine - its) > ROUNDING[place]:
            return mine < its
        if mine > its:
            return False  # the other is a last digit ahead, which its rounding may or may not have made
    return False


def what_beats(best: Plan, kit: Kit, wish: Wish) -> list[str]:
    """Candidates that should stand before the winner by the documented order, in words; none when it is the best.

    A winner may lie beyond the tolerance of the least total where it goes before one that lies within it: as good in
    every later point, and less than the tolerance behind that one.
    """
    tried = list(candidates(kit, wish))
    assert tried
    least_ev = min(best.rank[0], *(rank[0] for rank, _ in tried))
    within = [rank for rank, _ in tried if rank[0] <= least_ev + TOLERANCE_EV + ROUNDING[0]]
    goes_before = any(
        best.rank[0] < rank[0] + TOLERANCE_EV + ROUNDING[0] and better_in_every_later_point(best.rank, rank)
        for rank in within
    )
    words = []
    for rank, name in tried:
        near = rank[0] < least_ev + TOLERANCE_EV - ROUNDING[0]
        clearly_less = rank[0] < best.rank[0] - TOLERANCE_EV - ROUNDING[0] and not goes_before
        if clearly_less or (near and lexically_better(rank, best.rank)):
            words.append(f"{name}: {rank} beats {best.build.label}: {best.rank}")
    return words


def winner(kit: Kit, wish: Wish) -> Plan:
    return rank_plans(kit, wish).plans[0]


@pytest.mark.parametrize("wish", [MOVEMENT, RING, CALIPER, HOPELESS], ids=["movement", "ring", "caliper", "hopeless"])
def test_brute_force_never_beats_the_winner(wish):
    assert what_beats(winner(FULL_KIT, wish), FULL_KIT, wish) == []
    assert sum(1 for _ in candidates(FULL_KIT, wish)) > 4 * 12 * 5


def named(things, name):
    return next(thing for thing in things if thing.name == name)


@settings(max_examples=40)
@given(
    width=st.floats(3, 200),
    aspect=st.floats(0.2, 2),
    relief=st.floats(0, 15),
    blur=st.floats(0.005, 0.2),
    clear=st.floats(0, 400),
    pixels=st.none() | st.floats(500, 8000),
    frames=st.none() | st.integers(1, 20),
    lenses=st.lists(st.sampled_from(LENSES), min_size=1, max_size=3, unique_by=lambda lens: lens.name),
    body=st.sampled_from(FULL_KIT.body),
    light=st.sampled_from(LIGHTS),
)
@example(
    185.0,
    1.375,
    15.0,
    0.0625,
    0.0,
    None,
    None,
    [named(LENSES, "24")],
    named(FULL_KIT.body, "full"),
    named(LIGHTS, "flash 12"),
)
@example(
    15.0,
    1.875,
    0.0,
    0.125,
    116.0,
    None,
    None,
    [named(LENSES, "55 close-up"), named(LENSES, "60 close-up")],
    named(FULL_KIT.body, "full"),
    named(LIGHTS, "flash 12"),
)
@example(
    89.5,
    0.5,
    0.0,
    0.125,
    95.0,
    None,
    None,
    [named(LENSES, "120 close-up"), named(LENSES, "60 close-up")],
    named(FULL_KIT.body, "full"),
    named(LIGHTS, "flash 12"),
)
def test_brute_force_never_beats_the_winner_of_any_kit_and_wish(
    width, aspect, relief, blur, clear, pixels, frames, lenses, body, light
):
    kit = FULL_KIT.model_copy(update={"lens": tuple(lenses), "body": (body,), "light": (light,)})
    wish = Wish(
        width, width * aspect, relief, delivered_pixels=pixels, blur_radius_on_piece_mm=blur, clear_in_front_mm=clear,
        most_frames=frames,
    )  # fmt: skip
    assert what_beats(winner(kit, wish), kit, wish) == []


def test_the_plans_are_in_the_order_of_their_ranks_and_each_says_why():
    plans = rank_plans(FULL_KIT, MOVEMENT).plans
    assert len(plans) > 240
    for better, worse in pairwise(plans):
        assert (reason(better, worse) in WORDS) or better.rank == worse.rank
        assert better.rank[0] < worse.rank[0] + TOLERANCE_EV or better_in_every_later_point(better.rank, worse.rank)


def test_the_wave_optics_are_worked_out_once_for_all_searches(monkeypatch):
    rank_plans(FULL_KIT, MOVEMENT)

    def never(waves: float) -> float:
        raise AssertionError("an integral in the middle of a search")

    monkeypatch.setattr(session.optics.sharpness, "mtf50", never)
    rank_plans(FULL_KIT, RING)


def test_the_work_for_one_build_is_bounded():
    calls = 0

    def count(frame, event, argument) -> None:
        nonlocal calls
        calls += event == "call"

    rank_plans(FULL_KIT, MOVEMENT)
    sys.setprofile(count)
    try:
        found = rank_plans(FULL_KIT, MOVEMENT)
    finally:
        sys.setprofile(None)
    # Some 11 stops of about 60 calls each; three times that would be felt at each key of a screen.
    assert calls / len(found.plans) < 2500


def test_fewer_frames_go_before_a_barer_lens():
    one = winner(FULL_KIT, Wish(28, 28, 0.5, blur_radius_on_piece_mm=0.025))
    assert (one.stop.series.frames, one.build.parts) == (1, 0)


def test_a_short_lens_is_moved_back_and_cropped_for_room():
    kit = FULL_KIT.model_copy(update={"lens": (LENSES[4],), "tube": (), "supplementary": (), "converter": ()})
    wish = Wish(28, 28, 0.5, None, 0.8, 1000, 0.025, clear_in_front_mm=150, body="full")
    best = winner(kit, wish)
    assert not best.failing
    assert best.clearance_mm == pytest.approx(150, abs=0.6)
    assert best.mounting.magnification < 0.8 * 24 / 28
    # without pixels nobody said how far it may be cropped: the piece takes so much less of the height
    kit = kit.model_copy(update={"reversing_ring": ()})
    (short,) = winner(kit, replace(wish, delivered_pixels=None)).failing
    assert short.value == pytest.approx(28 * best.mounting.magnification / 24)
    assert short.text.endswith("80 % was wanted; where it may be cropped, say how many pixels to deliver.")


def test_without_pixels_a_lens_that_leaves_the_piece_small_stands_behind_all_that_fill_the_picture():
    plans = rank_plans(demo_kit(), Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.015)).plans
    shares = [28 * plan.mounting.magnification / min(plan.build.body.sensor_height_mm, 24) for plan in plans]
    (at,) = (
        n for n, plan in enumerate(plans) if (plan.build.label, plan.build.body.name) == ("Plainfield 50", "Wendle 36")
    )
    assert shares[at] == pytest.approx(28 * 0.15 / 24)  # at its closest focus, 0.15, on a picture 24 mm high
    assert [one.name for one in plans[at].failing] == ["filling"]
    filled = [n for n, plan in enumerate(plans) if not plan.failing]
    assert filled
    assert max(filled) < at
    assert all(shares[n] == pytest.approx(0.8, rel=0.01) for n in filled)


def test_what_fails_is_told_with_the_numbers_worst_first():
    best = winner(FULL_KIT, HOPELESS)
    assert [one.short_ev for one in best.failing] == sorted((one.short_ev for one in best.failing), reverse=True)
    texts = {one.name: one.text for one in best.failing}
    assert "0.002 mm are allowed" in texts["blur"]
    assert all(text.endswith(".") for text in texts.values())


def test_a_mild_piece_fails_in_nothing():
    best = winner(FULL_KIT, MOVEMENT)
    assert best.failing == best.unknown == ()
    assert best.delivered_pixels >= 2400
    assert best.stop.blur_radius_mm <= 0.015


def test_a_kit_that_does_not_tell_is_ranked_below_one_that_does():
    blind = BODY.model_copy(update={"name": "blind"})
    lens = LENSES[7].model_copy(update={"length_mm": 0.0, "name": "unknown"})
    kit = Kit(body=(blind,), lens=(lens, LENSES[7]))
    first, second = rank_plans(kit, MOVEMENT).plans
    assert first.build.lens.name == "100 close-up"
    assert {one.name for one in second.unknown} == {"room", "light"}
    assert "lacks front_to_pupil_mm" in next(one.text for one in second.unknown if one.name == "room")


def test_the_hold_off_comes_from_the_stand():
    soft = FULL_KIT.model_copy(update={"support": (Support(name="soft", frequency_hz=10, damping_ratio=0.02),)})
    assert winner(soft, MOVEMENT).hold_off_s == pytest.approx(3.665, abs=1e-3)  # published: to a hundredth


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"body": "none"}, "The kit has no body 'none'; it has full, small, large, old"),
        ({"lens": "none"}, "The kit has no lens 'none'"),
        ({"plate": "none"}, "The kit has no plate 'none'; it has thin"),
        ({"support": "none"}, "The kit has no support"),
        ({"trigger": "none"}, "The kit has no trigger"),
        ({"lights": ("none",)}, "The kit has no light 'none'"),
    ],
)
def test_what_the_kit_has_not_is_named(wrong, sentence):
    with pytest.raises(ValueError) as refused:
        rank_plans(FULL_KIT, Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.015, **wrong))
    assert sentence in str(refused.value)


def test_a_lens_with_an_impossible_track_is_left_out_with_the_reason():
    bent = LENSES[7].model_copy(update={"name": "bent", "principal_gap_mm": 500.0})
    found = rank_plans(Kit(body=(BODY,), lens=(bent, LENSES[7])), MOVEMENT)
    assert [plan.build.lens.name for plan in found.plans] == ["100 close-up"]
    assert "longer than the gap between the principal planes" in found.left_out[0].why


def test_a_lens_that_fits_no_body_is_said():
    lens = LENSES[7].model_copy(update={"mount": "a"})
    with pytest.raises(ValueError, match="No lens of the kit fits a body"):
        rank_plans(Kit(body=(BODY.model_copy(update={"mount": "b"}),), lens=(lens,)), MOVEMENT)


def test_an_empty_kit_can_not_be_planned_with():
    with pytest.raises(ValueError, match="The kit has no body"):
        rank_plans(Kit(), MOVEMENT)
    with pytest.raises(ValueError, match="The kit has no lens"):
        rank_plans(Kit(body=(BODY,)), MOVEMENT)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"piece_width_mm": 0}, "piece_width_mm is 0 mm"),
        ({"piece_width_mm": 1e9}, "piece_width_mm is 1,000,000,000 mm"),
        ({"relief_mm": float("nan")}, "relief_mm is not a number"),
        ({"relief_mm": -1}, "relief_mm is -1 mm"),
        ({"depth_needed_mm": 3}, "but the piece is only 2.4 mm deep"),
        ({"blur_radius_on_piece_mm": None}, "blur_radius_on_piece_mm is missing: give it in mm"),
        ({"fill": 80}, "fill is 80"),
        ({"light_angle_deg": 0}, "light_angle_deg is 0"),
        ({"most_frames": 0}, "most_frames is 0"),
    ],
)
def test_a_wish_that_can_not_be_meant_is_refused_in_one_sentence(wrong, words):
    values = {"piece_width_mm": 28, "piece_height_mm": 28, "relief_mm": 2.4, "blur_radius_on_piece_mm": 0.015}
    with pytest.raises(ValueError) as refused:
        Wish(**values | wrong)
    assert words in str(refused.value)
    assert str(refused.value).count(". ") == 0


def test_a_flat_piece_asks_for_the_depth_by_which_it_stands_aslant():
    # a corner of 28 mm turned by 1 degree comes 28·sin 1° = 0.489 mm nearer
    flat = Wish(28, 14, 0, blur_radius_on_piece_mm=0.015)
    assert flat.depth_mm == pytest.approx(28 * math.sin(math.radians(1)), rel=1e-3)
    assert Wish(28, 14, 0, tilt_deg=0, blur_radius_on_piece_mm=0.015).depth_mm == 0.1
    assert Wish(28, 14, 2.4, blur_radius_on_piece_mm=0.015).depth_mm == 2.4
    assert Wish(28, 14, 2.4, 0.3, blur_radius_on_piece_mm=0.015).depth_mm == 0.3
    square = Wish(28, 14, 0, tilt_deg=0, blur_radius_on_piece_mm=0.015)
    assert winner(FULL_KIT, flat).stop.f_number >= winner(FULL_KIT, square).stop.f_number


def test_of_a_plate_s_two_sides_the_one_that_lacks_more_is_told():
    glass = Plate(name="sheet", thickness_mm=1, width_mm=150.0, height_mm=100.0)
    kit = FULL_KIT.model_copy(update={"plate": (glass,), "lens": (LENSES[7],), "body": FULL_KIT.body[:1], "tube": ()})
    plan = rank_plans(kit, Wish(144, 16, 1.0, blur_radius_on_piece_mm=0.1, plate="sheet")).plans[0]
    # 180 × 20 mm are delivered: across the tilt 150 mm are too few, along it 100 mm are ample
    (size,) = [one for one in plan.criteria if one.name == "plate"]
    assert plan.plate is not None
    assert (size.value, plan.plate.length_mm) == (150.0, 100.0)
    assert size.limit == plan.plate.width_needed_mm == pytest.approx(180)
    assert plan.plate.length_needed_mm < 100


@pytest.mark.parametrize(
    ("across_mm", "along_mm", "short"), [(200.0, 200.0, False), (22.0, 200.0, True), (200.0, 22.0, True)]
)
def test_a_plate_must_clear_the_delivered_picture_both_ways(across_mm, along_mm, short):
    glass = Plate(name="sheet", thickness_mm=1, width_mm=across_mm, height_mm=along_mm)
    kit = FULL_KIT.model_copy(update={"plate": (glass,), "lens": (LENSES[7],), "body": FULL_KIT.body[:1], "tube": ()})
    plan = rank_plans(kit, Wish(32, 16, 1.0, blur_radius_on_piece_mm=0.02, plate="sheet")).plans[0]
    assert plan.plate is not None
    # 40 × 20 mm are delivered; the shorter side lies along the tilt, where it takes 1/cos 45° of glass
    assert plan.plate.width_needed_mm >= 40
    assert plan.plate.length_needed_mm >= 20 / math.cos(math.radians(45))
    (size,) = [one for one in plan.criteria if one.name == "plate"]
    assert (size.short_ev > 0) is short
    assert size.value == pytest.approx(22.0 if short else size.value)
