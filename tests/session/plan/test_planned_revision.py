"""A plan becomes a set-up that the rules find nothing to stop in, and numbers that JSON takes."""

import json
import math
from dataclasses import replace
from typing import Any

import pytest

from session.frame.camera_messages import Reading, Setting
from session.lighting.cautions import CAUTIONS, LAST_WORD
from session.plan.kit_search import rank_plans
from session.plan.planned_revision import as_revision
from session.plan.ranked_plan import Plan
from session.plan.report import cautions, numbers, remarks
from session.plan.wish import Wish
from session.rules import Situation, findings_before_release
from session.set.kit import Body, ExtensionTube, Kit, Light, Plate, demo_kit
from session.set.lens_in_use import lens_in_use
from session.set.setup import Confirmation, PassiveItem, PlacedLight, Revision
from session.units.marked_values import MARKED_F_NUMBERS
from session.units.numbers import mm_text
from tests.support.plan_kits import FULL_KIT, unit_focusing

BASE = Revision(
    lights=(PlacedLight("flash 36", 0.0, 900.0, 45.0, 30.0, "", "to the left"), PlacedLight("gone")),
    passive=(PassiveItem("flag", "black card"), PassiveItem("plate", "old")),
    notes="kept",
    confirmed=(Confirmation.APERTURE_BY_HAND, "stabiliser"),
)


def plan_for(kit: Kit = FULL_KIT, place: int = 0, **more: Any) -> Plan:
    wanted: dict[str, Any] = {"blur_radius_on_piece_mm": 0.015, "lights": ("flash 36",)} | more
    wish = Wish(28, 28, 2.4, **wanted)
    return rank_plans(kit, wish).plans[place]


def test_the_plan_is_the_next_arrangement_of_the_set_up():
    plan = plan_for(plate="thin")
    revision = as_revision(plan, BASE)
    assert revision.settings.f_number == plan.stop.f_number
    assert revision.settings.exposure_s == plan.time.exposure_s
    assert revision.arrangement.magnification == plan.mounting.magnification
    assert (revision.body, revision.notes, revision.label) == (plan.build.body.name, "kept", BASE.label)
    assert revision.depth_needed_mm == 2.4
    assert revision.hold_off_s == plan.hold_off_s
    (light,) = revision.lights
    assert (light.azimuth_deg, light.elevation_deg, light.note) == (45.0, 30.0, "to the left")
    assert light.power_ev == pytest.approx(plan.lights[0].power_ev, abs=0.051)
    assert [item.name for item in revision.passive] == ["black card", "thin"]
    assert revision.confirmed == ("stabiliser",)


def test_the_tape_s_measures_of_the_camera_go_with_the_lens_arrangement_that_they_were_taken_of():
    plan = plan_for()
    taped = replace(BASE, working_distance_mm=236.0, camera_height_mm=150.0, view_down_deg=40.0)
    other = as_revision(plan, taped)
    assert (other.working_distance_mm, other.camera_height_mm, other.view_down_deg) == (None, None, 40.0)
    same = as_revision(plan, replace(taped, arrangement=replace(other.arrangement)))
    assert (same.working_distance_mm, same.camera_height_mm) == (236.0, 150.0)


def test_a_planned_plate_is_turned_only_where_the_side_is_known():
    """The plan knows the angle, but not from which side the light comes: a turn without a side can't be drawn."""
    plan = plan_for(plate="thin")
    assert plan.plate is not None
    distance_mm = round(plan.plate.distance_mm)
    new = as_revision(plan, BASE).passive[-1]
    assert new == PassiveItem("plate", "thin", distance_mm=distance_mm, note="tilted 45°, its face to the light")
    stood = PassiveItem("plate", "thin", note="edges taped", turned_deg=40.0, turned_to="left")
    kept = as_revision(plan, replace(BASE, passive=(stood,))).passive[-1]
    assert kept == replace(stood, distance_mm=distance_mm, turned_deg=45.0)


def test_the_set_ups_lens_counts_with_the_numbers_of_the_plan():
    wish = Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.015)
    for plan in rank_plans(FULL_KIT, wish).plans:
        lens = lens_in_use(as_revision(plan, BASE).arrangement, plan.stop.f_number)
        assert lens.effective_f_number == pytest.approx(plan.stop.effective_f_number)
        assert lens.magnification == pytest.approx(plan.mounting.magnification)
        assert lens.entrance_pupil_distance_mm == pytest.approx(plan.mounting.lens.entrance_pupil_distance_mm)


def test_all_numbers_of_every_plan_can_be_written_as_json():
    for plan in rank_plans(FULL_KIT, Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.015, plate="thin")).plans:
        written = json.loads(json.dumps(numbers(plan)))
        assert written["frames"] == plan.stop.series.frames
        assert {one["name"] for one in written["criteria"]} == {"framing", "filling", "plate", "room", "blur", "light"}


def test_the_numbers_agree_among_themselves():
    told: dict[str, Any] = numbers(plan_for(delivered_pixels=2400))
    assert told["effective_f_number"] == pytest.approx(told["f_number"] * 2 ** (told["exposure_increase_ev"] / 2))
    assert told["pixels_on_piece"] * told["pixel_footprint_um"] == pytest.approx(28_000)
    assert told["delivered_pixels"] == pytest.approx(told["pixels_on_piece"] / 0.8)
    assert told["field_height_mm"] == pytest.approx(28 / 0.8)
    assert told["depth_mm"] + (told["frames"] - 1) * told["step_mm"] >= told["depth_needed_mm"]
    assert told["sync_margin_ev"] == pytest.approx(math.log2(told["exposure_s"] / told["fastest_exposure_s"]))


def test_cautions_name_the_hazards_of_what_is_put_up():
    assert CAUTIONS["glass"] in cautions(plan_for(plate="thin"))
    assert CAUTIONS["glass"] not in cautions(plan_for())
    assert CAUTIONS["capacitor"] in cautions(plan_for())
    assert cautions(plan_for())[-1] == LAST_WORD


def test_remarks_tell_what_the_hands_must_do_and_what_is_not_known():
    body = Body(
        name="b", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000, sync_time_s=0.005
    )
    kit = Kit(
        body=(body,),
        lens=(unit_focusing("ringed", 100, 1.0, electronic_aperture=False, smallest_f_number=32),),
        light=(Light(name="key", guide_number_m=36),),
        tube=(ExtensionTube(name="plain", extension_mm=25),),
        plate=(Plate(name="thick", thickness_mm=4),),
    )
    plans = rank_plans(kit, Wish(20, 20, 0.5, blur_radius_on_piece_mm=0.015, plate="thick")).plans
    plan = next(plan for plan in plans if plan.build.tubes)
    said = " ".join(remarks(plan))
    for words in ("by hand", "moving the camera", "thinner glass", "How long key burns", "curtain travel of b"):
        assert words in said


def test_the_camera_is_turned_for_a_tall_piece():
    plan = rank_plans(FULL_KIT, Wish(20, 60, 2, blur_radius_on_piece_mm=0.025)).plans[0]
    width_mm, height_mm = plan.field_mm
    assert plan.turned
    assert height_mm == pytest.approx(60 / 0.8)
    assert width_mm < height_mm


def _at_the_bench(plan, kit):
    """What the rules say once the plan is the set-up and its aperture stands on a camera that offers every stop."""
    revision = as_revision(plan, BASE)
    aperture = Setting("f_number", plan.stop.f_number, "", MARKED_F_NUMBERS)
    return revision, {
        found.id: found for found in findings_before_release(Situation(revision, kit, Reading({"f_number": aperture})))
    }


@pytest.mark.parametrize("relief_mm", [0.0, 2.4, 10.0])
@pytest.mark.parametrize("blur_mm", [0.002, 0.015, 0.05])
@pytest.mark.parametrize("glass", [False, True], ids=["bare", "glass"])
@pytest.mark.parametrize("kit", [FULL_KIT, demo_kit()], ids=["full", "demo"])
def test_the_bench_counts_the_frames_of_the_plan_and_no_key_undoes_its_aperture(kit, glass, relief_mm, blur_mm):
    wish = Wish(20, 20, relief_mm, blur_radius_on_piece_mm=blur_mm, plate=kit.plate[0].name if glass else "")
    for plan in rank_plans(kit, wish).plans[:20]:
        revision, said = _at_the_bench(plan, kit)
        frames = plan.stop.series.frames
        blur = next(one for one in plan.criteria if one.name == "blur")
        assert ("depth" in said) is (frames > 1 or blur.spare_ev < 0)
        if frames > 1:
            assert f" {frames} frames cover it." in said["depth"].text
        if frames > 1 and blur.spare_ev >= 0:
            assert said["depth"].remedy.text == f"take {frames} frames, {mm_text(plan.stop.series.step_mm)} apart"
        assert "diffraction" not in said or blur.short_ev, "what the plan found sharp enough is at the bench"
        assert all("f_number" not in found.remedy.settings for found in said.values() if found.remedy)
        pitch_mm = plan.build.body.sensor_width_mm / plan.build.body.pixels_across
        assert revision.blur_limit_px * pitch_mm / plan.mounting.magnification == pytest.approx(blur_mm)
        assert (revision.settings.f_number, revision.depth_needed_mm) == (plan.stop.f_number, plan.wish.depth_mm)


def test_trigger_and_support_of_the_wish_go_before_those_of_the_set_up():
    base = replace(BASE, trigger="cord", support="old column")
    kept = as_revision(plan_for(), base)
    assert (kept.trigger, kept.support) == ("cord", "old column")
    wished = as_revision(plan_for(trigger="radio", support="column"), base)
    assert (wished.trigger, wished.support) == ("radio", "column")
    assert as_revision(plan_for(trigger="radio", support="column"), BASE).trigger == "radio"


def test_all_things_but_the_plate_stay_on_the_table_and_powers_are_those_that_a_flash_has():
    base = replace(BASE, passive=(PassiveItem("bounce", "white"), *BASE.passive, PassiveItem("scrim", "silk")))
    plan = plan_for()
    revision = as_revision(plan, base)
    assert [item.name for item in revision.passive] == ["white", "black card", "silk"]
    assert [light.power_ev for light in revision.lights] == [round(light.power_ev, 1) for light in plan.lights]
