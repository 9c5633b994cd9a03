"""Power, distance and time of the flashes against published guide-number and sync values."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.lighting.mix import combined_ev
from session.plan.kit_search import rank_plans
from session.plan.planned_revision import as_revision
from session.plan.powers import LightPlan, light_plan, reaches, spare_light_ev, time_plan
from session.plan.wish import Wish
from session.set.kit import Kit, Light, Plate, Shaper
from session.set.setup import Revision
from session.units.marked_values import MARKED_EXPOSURES_S, MARKED_F_NUMBERS, exposure_at_least_s, f_numbers_between
from tests.support.plan_kits import BODY, FULL_KIT

ASIDE_DEG = 5.0
"""The least angle from the axis that a wish takes."""

GN36, GN18 = (number / math.sqrt(math.cos(math.radians(ASIDE_DEG))) for number in (36, 18))
"""Guide numbers that are 36 and 18 for a piece lit from there: published values hold for a surface facing the light."""

KEY = Light(name="key", guide_number_m=GN36, distance_mm=500, duration_t01_s=0.0005)
FILL = Light(name="fill", guide_number_m=GN36, distance_mm=500, level_ev=-2)
KIT = Kit(
    light=(KEY, FILL, Light(name="lamp", kind="lamp")),
    shaper=(Shaper(name="tube", loss_ev=1.5), Shaper(name="softbox", source_size_mm=600), Shaper(name="sheet")),
    plate=(Plate(name="glass", thickness_mm=2, refractive_index=1.5168),),
)


def wish(**more: Any) -> Wish:
    return Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.015, **{"light_angle_deg": ASIDE_DEG, **more})


def planned(light: Light, effective: float, **more: Any) -> LightPlan:
    kit = KIT.model_copy(update={"light": (light,)})
    (reach,) = reaches(kit, wish(**more))
    return light_plan(reach, effective)


# GN 36, a sixteenth, 0.5 m, m = 0.5: f/12 at ISO 100 and f/16.97 at ISO 200 (published formula for guide number,
# distance, ISO and power, ISO 1230:1992; times 1.5 for the ratio).
@pytest.mark.parametrize(("iso", "f_number"), [(100, 12.0), (200, 16.97)])
def test_power_for_a_published_exposure(iso, f_number):
    plan = planned(KEY, 1.5 * f_number, iso=iso)
    assert plan.power_ev == pytest.approx(-4, abs=1e-3)
    assert plan.distance_mm == 500
    assert plan.short_ev == 0


@pytest.mark.parametrize(("angle_deg", "lost_ev"), [(45.0, 0.5), (60.0, 1.0), (30.0, 0.2075)])
def test_a_light_from_aside_needs_more_power_by_the_cosine(angle_deg, lost_ev):
    # cosine law (Lambert): cos 45° = 2^−0.5, cos 60° = 2^−1, cos 30° = 2^−0.2075
    facing = KEY.model_copy(update={"guide_number_m": 36.0})
    assert planned(facing, 18, light_angle_deg=angle_deg).power_ev == pytest.approx(-4 + lost_ev, abs=1e-3)


def test_a_light_over_the_plate_comes_along_the_axis():
    both = reaches(KIT, wish(lights=("key", "fill"), plate="glass", light_angle_deg=45.0))
    over, aside = (reach.incidence_loss_ev for reach in both)
    assert (over, aside) == (0.0, pytest.approx(0.5))


def test_a_shaper_takes_its_loss_and_one_that_nobody_measured_is_told():
    assert planned(KEY.model_copy(update={"shaper": "tube"}), 18).power_ev == pytest.approx(-2.5, abs=1e-3)
    unknown = planned(KEY.model_copy(update={"shaper": "sheet"}), 18)
    assert unknown.power_ev == pytest.approx(-4, abs=1e-3)
    assert not unknown.loss_known


def test_a_light_too_weak_where_it_stands_comes_nearer_by_the_inverse_square():
    # 72 m·f at full power reach f/144 at 0.5 m: one stop more needs 0.5/√2 m
    plan = planned(KEY, 72 * math.sqrt(2))
    assert plan.power_ev == 0
    assert plan.distance_mm == pytest.approx(500 / math.sqrt(2))
    far = planned(KEY, 72 * 100)
    assert (far.power_ev, far.distance_mm) == (0, KEY.nearest_mm)
    assert far.short_ev == pytest.approx(2 * math.log2(7200 / (36 / 0.15)))


def test_a_light_too_strong_at_its_least_moves_away():
    plan = planned(KEY, 72 / 2**4.5)  # two stops too strong at −7 EV
    assert plan.power_ev == KEY.least_power_ev
    assert plan.distance_mm == pytest.approx(1000)


def test_a_softbox_gains_less_than_the_inverse_square_promises():
    # 60 cm disc moved from 0.5 to 0.25 m: +1.157 EV, not +2 (surface integral over the disc)
    softbox = KEY.model_copy(update={"shaper": "softbox"})
    # over a plate it may stand so near; beside the lens it would be in the camera's view
    away = planned(softbox, 10, plate="glass").power_ev
    near = planned(softbox.model_copy(update={"distance_mm": 250.0}), 10, plate="glass").power_ev
    # the guide number is for far away: −1.287 and −0.444 EV of it are left near by
    assert away - near == pytest.approx(1.157, abs=1e-3)


@given(st.floats(-6, 0), st.floats(10, 40))
def test_lights_that_work_together_give_the_right_exposure_together(level_ev, effective):
    kit = KIT.model_copy(update={"light": (KEY, FILL.model_copy(update={"level_ev": level_ev}))})
    found = reaches(kit, wish(lights=("key", "fill")))
    assert combined_ev([reach.level_ev for reach in found]) == pytest.approx(0, abs=1e-9)
    key, fill = (light_plan(reach, effective) for reach in found)
    if fill.power_ev > FILL.least_power_ev and key.power_ev < 0:
        assert key.power_ev - fill.power_ev == pytest.approx(-level_ev)


def test_of_lights_together_the_weakest_decides_and_of_lights_alone_the_strongest():
    kit = KIT.model_copy(update={"light": (KEY, KEY.model_copy(update={"name": "small", "guide_number_m": GN18}))})
    alone, together = wish(), wish(lights=("key", "small"))
    strongest, weakest = (
        spare_light_ev(reaches(kit, alone), alone, 20),
        spare_light_ev(reaches(kit, together), together, 20),
    )
    assert strongest == pytest.approx(2 * math.log2(36 / 0.15 / 20))
    assert weakest == pytest.approx(strongest - 2 + 1)  # half the guide number is two stops; two keys share one


def test_the_first_light_comes_over_the_plate_and_the_others_pass_it():
    # 3.517 stops over it (reflected once, passed once), 0.147 through it
    bare = reaches(KIT, wish(lights=("key", "fill")))
    plated = reaches(KIT, wish(lights=("key", "fill"), plate="glass"))
    losses = [after.loss_ev - before.loss_ev for before, after in zip(bare, plated, strict=True)]
    assert losses == pytest.approx([3.517, 0.147], abs=5e-4)


@pytest.mark.parametrize(
    ("name", "words"), [("none", "has no light 'none'"), ("lamp", "guide_number_m of the light 'lamp' is missing")]
)
def test_a_light_that_can_not_be_worked_out_is_named(name, words):
    with pytest.raises(ValueError, match=words):
        reaches(KIT, wish(lights=(name,)))


def test_the_time_is_the_next_marked_one_that_the_whole_flash_fits_into():
    # published: 3.0 + 0.5 + 0.5 ms → 1/250 s
    body = BODY.model_copy(update={"sync_time_s": 1 / 320})
    plan = time_plan(body, 0.0005, (planned(KEY, 18),))
    assert plan.fastest_exposure_s == pytest.approx(1 / 250)
    assert plan.exposure_s == pytest.approx(1 / 250)
    assert plan.sync_margin_ev == pytest.approx(0)
    assert time_plan(body, 0.0006, (planned(KEY, 18),)).exposure_s == pytest.approx(1 / 200)
    assert time_plan(BODY, 0.0, ()).exposure_s == pytest.approx(BODY.sync_time_s)


def test_a_flash_whose_duration_is_not_known_is_told():
    silent = KEY.model_copy(update={"duration_t01_s": None})
    assert not time_plan(BODY, 0.0, (planned(silent, 18),)).duration_known


def test_marked_values_are_powers_of_two_rounded():
    # thirds of a stop: f-numbers 2^(k/6), times 2^(k/3); engraved ones stray by less than 0.15 EV
    for k, number in enumerate(MARKED_F_NUMBERS):
        assert abs(2 * math.log2(number / 2 ** (k / 6))) < 0.15
    first = round(3 * math.log2(MARKED_EXPOSURES_S[0]))
    for k, time_s in enumerate(MARKED_EXPOSURES_S):
        assert abs(math.log2(time_s / 2 ** ((first + k) / 3))) < 0.15
    assert f_numbers_between(5.6, 11) == (5.6, 6.3, 7.1, 8.0, 9.0, 10.0, 11.0)
    assert exposure_at_least_s(0.0167) == pytest.approx(1 / 60)
    assert exposure_at_least_s(100) == 30


def facing_lux(plan: LightPlan, guide_number_m: float) -> float:
    """Light on the face of the piece, of a small bare flash: inverse square, cosine to the axis, nothing from behind.

    In units of the light that exposes it rightly at f/1.
    """
    away_m = plan.distance_mm / 1000
    return 2**plan.power_ev * (guide_number_m / away_m) ** 2 * max(0.0, math.cos(math.radians(plan.from_axis_deg)))


@pytest.mark.parametrize(
    ("lights", "beside"),
    [
        (("key", "fill"), (0.0, -2.0)),
        (("key", "fill=-1"), (0.0, -1.0)),
        (("key@30", "fill=0@70"), (0.0, 0.0)),
        (("key", "fill=-1@120"), (0.0, None)),
        (("key@100", "fill=-3@10"), (None, -3.0)),
    ],
)
def test_lights_of_a_wish_expose_the_face_rightly_each_from_its_own_angle(lights, beside):
    plans = [light_plan(reach, 18) for reach in reaches(KIT, wish(lights=lights, light_angle_deg=45.0))]
    lux = [facing_lux(plan, GN36) for plan in plans]
    assert math.log2(sum(lux) / 18**2) == pytest.approx(0, abs=1e-9)
    for plan, light, level in zip(plans, lux, beside, strict=True):
        assert plan.behind is (level is None)
        assert (light == 0) is plan.behind
        if level is not None and beside[0] is not None:
            assert math.log2(light / lux[0]) == pytest.approx(level)


def test_a_rim_light_gives_the_edge_that_faces_it_its_level_beside_the_key():
    key, rim = (light_plan(reach, 18) for reach in reaches(KIT, wish(lights=("key@60", "fill=-1@120"))))
    edge = 2**rim.power_ev * (GN36 / (rim.distance_mm / 1000)) ** 2
    assert math.log2(edge / facing_lux(key, GN36)) == pytest.approx(-1)


def test_lights_that_all_stand_behind_the_piece_are_refused():
    with pytest.raises(ValueError, match="none shines on its face"):
        reaches(KIT, wish(lights=("key@120", "fill@100")))


def test_a_large_source_is_turned_and_moved_until_it_stands_free_and_that_is_told():
    kit = KIT.model_copy(update={"light": (KEY.model_copy(update={"shaper": "softbox", "distance_mm": 400.0}),)})
    (reach,) = reaches(kit, wish(light_angle_deg=30.0), beside_mm=35)
    inner_mm = reach.distance_mm * math.sin(math.radians(reach.from_axis_deg)) - 300 * math.cos(
        math.radians(reach.from_axis_deg)
    )
    lowest_mm = reach.distance_mm * math.cos(math.radians(reach.from_axis_deg)) - 300 * math.sin(
        math.radians(reach.from_axis_deg)
    )
    assert inner_mm > 34.9 and lowest_mm > -0.1
    assert "camera's view" in reach.moved
    assert reach.nearest_mm > 350
    (low,) = reaches(kit, wish(light_angle_deg=70.0), beside_mm=35)
    assert "below the piece's plane" in low.moved and low.distance_mm > 800
    (free,) = reaches(kit.model_copy(update={"light": (KEY,)}), wish(light_angle_deg=30.0), beside_mm=35)
    assert free.moved == ""


def test_a_lamp_behind_its_tube_is_set_by_where_its_light_comes_from():
    deep = Shaper(name="tube", loss_ev=0.0, origin_behind_mm=150)
    kit = KIT.model_copy(update={"shaper": (deep,)})
    tubed = KEY.model_copy(update={"shaper": "tube"})
    far, near = (
        light_plan(reaches(kit.model_copy(update={"light": (light,)}), wish())[0], 18)
        for light in (tubed.model_copy(update={"distance_mm": 620.0}), tubed.model_copy(update={"distance_mm": 200.0}))
    )
    # the lamp goes from 770 to 350 mm from the piece
    assert far.power_ev - near.power_ev == pytest.approx(2 * math.log2(770 / 350))


def test_with_none_named_the_first_flash_that_suffices_lights_alone_and_the_others_are_alternatives():
    weak = KEY.model_copy(update={"name": "weak", "guide_number_m": 2.0})
    other = KEY.model_copy(update={"name": "other"})
    behind = KEY.model_copy(update={"name": "behind", "from_axis_deg": 120.0})
    kit = FULL_KIT.model_copy(update={"light": (weak, behind, KEY, other)})
    plan = rank_plans(kit, Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.015)).plans[0]
    assert [light.name for light in plan.lights] == ["key"]
    assert [light.name for light in plan.alternatives] == ["other"]
    assert [light.name for light in as_revision(plan, Revision()).lights] == ["key"]


def test_a_mirror_like_piece_is_lit_by_luminance_whatever_the_distance():
    softbox = KEY.model_copy(update={"shaper": "softbox"})
    near, far = (
        planned(softbox.model_copy(update={"distance_mm": mm}), 20, plate="glass", surface="mirror")
        for mm in (400.0, 1200.0)
    )
    assert near.by_luminance and near.power_ev == far.power_ev
    small = planned(KEY, 20, surface="mirror")
    assert not small.by_luminance


def test_for_a_mirror_like_piece_a_light_with_a_surface_is_taken_where_none_is_named():
    box = KEY.model_copy(update={"name": "box", "shaper": "softbox"})
    kit = KIT.model_copy(update={"light": (KEY, box)})
    assert [one.light.name for one in reaches(kit, wish(surface="mirror"))] == ["box"]
    assert [one.light.name for one in reaches(kit, wish())] == ["key", "box"]
    assert [one.light.name for one in reaches(kit, wish(surface="mirror", lights=("key",)))] == ["key"]
    bare = KIT.model_copy(update={"light": (KEY,)})
    assert [one.light.name for one in reaches(bare, wish(surface="mirror"))] == ["key"]


@pytest.mark.parametrize(("effective_f_number", "over_ev"), [(64.0, 0.0), (32.0, 0.0), (16.0, 1.0), (8.0, 3.0)])
def test_what_a_mirror_shows_too_bright_at_the_least_power_is_told_since_no_distance_helps(effective_f_number, over_ev):
    # at f/22.6 here the least power is just right: each stop wider is one too many
    least_ev = planned(KEY.model_copy(update={"shaper": "softbox"}), 16 * math.sqrt(2), surface="mirror").power_ev
    dim = KEY.model_copy(update={"shaper": "softbox", "least_power_ev": least_ev})
    light = planned(dim, effective_f_number, surface="mirror")
    assert light.over_ev == pytest.approx(over_ev, abs=1e-9)
    assert planned(dim.model_copy(update={"least_power_ev": -1.0}), effective_f_number).over_ev == 0


def test_a_light_of_which_the_kit_tells_no_place_stands_within_arms_reach():
    anywhere = KEY.model_copy(update={"distance_mm": None})
    (reach,) = reaches(KIT.model_copy(update={"light": (anywhere,)}), wish())
    assert reach.distance_mm == 600


def test_on_a_mirror_like_piece_the_key_alone_is_as_bright_as_wished_and_the_others_stand_beside_it():
    box = KEY.model_copy(update={"name": "box", "shaper": "softbox"})
    kit = KIT.model_copy(update={"light": (box, KEY)})
    levels = [one.level_ev for one in reaches(kit, wish(surface="mirror", lights=("box=-1", "key=-3")))]
    assert levels == pytest.approx([0.0, -2.0])


def test_a_large_source_that_stands_free_is_left_where_it_is():
    box = KEY.model_copy(update={"shaper": "softbox", "distance_mm": 900.0, "from_axis_deg": 45.0})
    (reach,) = reaches(KIT.model_copy(update={"light": (box,)}), wish())
    assert (reach.moved, reach.distance_mm, reach.from_axis_deg) == ("", 900.0, 45.0)


def test_a_light_over_the_plate_comes_down_the_axis_and_one_level_with_the_piece_is_behind_it():
    low = KEY.model_copy(update={"from_axis_deg": 89.5})
    kit = KIT.model_copy(update={"light": (KEY, low.model_copy(update={"name": "low"}))})
    over, beside = reaches(kit, wish(plate="glass", lights=("key", "low")))
    assert (over.from_axis_deg, beside.from_axis_deg, beside.behind) == (0.0, 89.5, False)
    level = low.model_copy(update={"from_axis_deg": 90.0, "name": "level"})
    kit = KIT.model_copy(update={"light": (KEY, level)})
    assert [one.behind for one in reaches(kit, wish(lights=("key", "level")))] == [False, True]
