"""What to give up where nothing meets the whole wish: what is told can be met, and no less than that could."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest

from session.plan import criteria
from session.plan import nearest_wish as nearest_wish_module
from session.plan.criteria import at_least
from session.plan.kit_search import rank_plans
from session.plan.nearest_wish import NearestWish, nearest_wish
from session.plan.report import lack_text
from session.plan.wish import Wish
from session.set.kit import Kit, demo_kit
from tests.support.plan_kits import FULL_KIT, LENSES

KIT = demo_kit()
MOVEMENT = Wish(28, 28, 2.4, delivered_pixels=2400, blur_radius_on_piece_mm=0.015)

LOOSER_IF_MORE = {
    "delivered_pixels": False,
    "fill": True,
    "clear_in_front_mm": False,
    "light_angle_deg": True,
    "blur_radius_on_piece_mm": True,
    "most_frames": True,
    "iso": True,
}


def nearest(wish: Wish, kit: Kit = KIT) -> NearestWish | None:
    return nearest_wish(kit, wish, rank_plans(kit, wish))


def test_a_wish_that_is_met_has_no_nearer_one() -> None:
    assert nearest(MOVEMENT) is None
    assert nearest(replace(MOVEMENT, body="Wendle 36")) is None


def test_pixels_are_given_up_to_what_the_sensor_has_and_the_body_that_has_more_is_named() -> None:
    """A square piece stands as high as the 1024 px of the shorter side, with its margin: in tens 1020."""
    found = nearest(replace(MOVEMENT, body="Wendle 16"))
    assert found is not None and found.wish == replace(MOVEMENT, body="Wendle 16", delivered_pixels=1020)
    assert found.text == "Nearest: 1020 px instead of 2400. With Wendle 36 all of it holds."
    anywhere = nearest(replace(MOVEMENT, delivered_pixels=9000))
    # 7008 px along 36 mm are 4672 along 24
    assert anywhere is not None and anywhere.text == "Nearest: 4670 px instead of 9000."


@pytest.mark.parametrize("number", range(6))
def test_what_is_told_is_met_and_every_number_is_given_up_the_right_way(number: int) -> None:
    chance = np.random.default_rng([23, number])
    wish = Wish(
        float(chance.uniform(3, 100)),
        float(chance.uniform(3, 100)),
        float(chance.uniform(0, 10)),
        None,
        float(chance.uniform(0.5, 0.9)),
        float(chance.choice([2400, 6000, 9000])),
        float(chance.uniform(0.002, 0.01)),
        clear_in_front_mm=float(chance.choice([20, 300])),
        iso=50,
        most_frames=int(chance.choice([1, 5, 40])),
    )
    found = nearest(wish)
    if found is None:
        assert any(plan.holds for plan in rank_plans(KIT, wish).plans)
        return
    assert found.wish is not None
    assert any(plan.holds for plan in rank_plans(KIT, found.wish).plans)
    changed = {field.name for field in fields(Wish) if getattr(wish, field.name) != getattr(found.wish, field.name)}
    assert changed and changed <= set(LOOSER_IF_MORE)
    assert len(found.instead) == len(changed)
    for name in changed:
        before, after = getattr(wish, name), getattr(found.wish, name)
        assert (after > before) is LOOSER_IF_MORE[name]


def only(kit: Kit, wish: Wish) -> NearestWish:
    found = nearest(wish, kit)
    assert found is not None and found.wish is not None
    return found


CLOSE_UP = FULL_KIT.model_copy(
    update={"body": FULL_KIT.body[:1], "lens": (LENSES[7],), "tube": (), "supplementary": (), "converter": ()}
)


def test_a_crop_is_offered_where_the_lens_leaves_the_piece_small() -> None:
    plain = LENSES[7].model_copy(update={"closest_magnification": 0.15, "thread_mm": None})
    kit = CLOSE_UP.model_copy(update={"lens": (plain,), "reversing_ring": ()})
    wish = Wish(20, 20, 0.5, blur_radius_on_piece_mm=0.05)
    found = only(kit, wish)
    body = kit.body[0]
    # 20 mm at 0.15 are 3 mm of 36, with the margin 3 / 0.8
    across = 3 / 0.8 / 36 * body.pixels_across
    assert found.wish == replace(wish, delivered_pixels=math.floor(across / 10) * 10)
    assert found.text == f"Nearest: {math.floor(across / 10) * 10} px of a crop."


def test_room_blur_frames_and_iso_are_given_up_as_far_as_needed() -> None:
    kit = CLOSE_UP.model_copy(update={"reversing_ring": ()})
    wish = Wish(24, 24, 1.0, delivered_pixels=4000, blur_radius_on_piece_mm=0.02)
    assert nearest(wish, kit) is None
    (room,) = [one for one in rank_plans(kit, wish).plans[0].criteria if one.name == "room"]
    assert room.value is not None
    wide = only(kit, replace(wish, clear_in_front_mm=300))
    assert wide.wish == replace(wish, clear_in_front_mm=math.floor(room.value))
    flat = only(kit, replace(wish, light_angle_deg=10.0))
    lens = kit.lens[0]
    assert lens.front_diameter_mm is not None
    # a ray past the rim to the far corner of the piece
    passes_deg = math.degrees(math.atan((lens.front_diameter_mm + math.hypot(24, 24)) / 2 / room.value))
    assert flat.wish is not None and flat.wish.light_angle_deg == math.ceil(passes_deg)
    deep = replace(wish, relief_mm=4.0, most_frames=1)
    assert only(kit, deep).wish == replace(deep, blur_radius_on_piece_mm=0.028)
    assert nearest(replace(deep, blur_radius_on_piece_mm=0.027), kit) is not None, "a thousandth less doesn't do"
    deeper = only(kit, replace(deep, relief_mm=12.0))
    assert deeper.text == "Nearest: a blur radius of 0.036 mm instead of 0.02 mm, 2 frames instead of 1."
    weak = kit.model_copy(update={"light": (kit.light[0].model_copy(update={"guide_number_m": 1.0}),)})
    (light,) = [one for one in rank_plans(weak, wish).plans[0].failing if one.name == "light"]
    dim = only(weak, wish)
    assert dim.wish is not None
    # the next of the thirds of a stop that suffices
    assert dim.wish.iso / 2 ** (1 / 3) * 0.97 < 100 * 2**light.short_ev <= dim.wish.iso
    assert dim.text == f"Nearest: ISO {dim.wish.iso:.0f} instead of 100."


@pytest.mark.parametrize(("iso", "higher"), [(10, 16), (32, 40), (50, 64)])  # 12.5 is written by nobody
def test_of_slow_speeds_too_the_next_that_suffices_is_offered(iso: int, higher: int) -> None:
    """With a flash that is 0.2 stops too weak a third of a stop more suffices."""
    wish = Wish(24, 24, 1.0, delivered_pixels=4000, blur_radius_on_piece_mm=0.02, iso=iso)
    found = only(flash_short_by(0.2, wish), wish)
    assert found.text == f"Nearest: ISO {higher} instead of {iso}."


def test_no_speed_is_offered_at_which_noise_shows() -> None:
    wish = Wish(24, 24, 1.0, delivered_pixels=4000, blur_radius_on_piece_mm=0.02)
    # 1600 lies four stops above 100
    assert only(flash_short_by(3.9, wish), wish).text == "Nearest: ISO 1600 instead of 100."
    beyond = nearest(wish, flash_short_by(4.2, wish))
    assert beyond is not None
    assert (beyond.wish, beyond.text) == (None, "")


def flash_short_by(wanted_ev: float, wish: Wish) -> Kit:
    """The close-up kit with one flash that is too weak for the wish by so much."""
    guide_number_m, off_ev = 0.1, 1.0
    for _ in range(20):
        weak = CLOSE_UP.light[0].model_copy(update={"guide_number_m": guide_number_m})
        kit = CLOSE_UP.model_copy(update={"reversing_ring": (), "light": (weak,)})
        (light,) = [one for one in rank_plans(kit, wish).plans[0].criteria if one.name == "light"]
        off_ev = light.short_ev - wanted_ev
        if abs(off_ev) < 0.01:
            break
        guide_number_m *= 2 ** (off_ev / 2)
    assert abs(off_ev) < 0.01
    return kit


def test_what_the_ranking_takes_for_nothing_needs_no_other_wish() -> None:
    """Within a tenth of a stop plans are equal, and of those the one with less blur goes first, just short of light."""
    kit = CLOSE_UP.model_copy(
        update={"reversing_ring": (), "light": (CLOSE_UP.light[0].model_copy(update={"guide_number_m": 2.0}),)}
    )
    wish = Wish(24, 24, 1.0, delivered_pixels=4000, blur_radius_on_piece_mm=0.02)
    (plan,) = rank_plans(kit, wish).plans
    (light,) = plan.failing
    assert 0 < light.short_ev < 0.05
    assert plan.holds and nearest(wish, kit) is None
    assert lack_text(light) == "just short: The flash is 0.0 EV too weak at its nearest."
    assert lack_text(at_least("room", 50, 100, "mm")).startswith("fails by 1.0 stops: 50 mm are free")


def test_every_criterion_says_what_of_the_wish_gives_way() -> None:
    assert set(nearest_wish_module._WAYS) == set(criteria._TEXTS)


def test_a_plate_that_is_too_small_is_no_number_of_the_wish() -> None:
    wish = Wish(140, 100, 1.0, delivered_pixels=1000, blur_radius_on_piece_mm=0.1, plate="thin")
    plans = rank_plans(FULL_KIT, wish).plans
    assert all("plate" in [one.name for one in plan.failing] for plan in plans)
    found = nearest(wish, FULL_KIT)
    assert found is not None
    assert (found.wish, found.instead, found.text) == (None, (), "")
