"""A plan as numbers and remarks: each number belongs to the plan, each remark to what causes it."""

import json
import math
from typing import Any

import pytest

from session.plan.kit_search import rank_plans
from session.plan.ranked_plan import Plan
from session.plan.report import LIGHT_HAZARDS, cautions, hazards, numbers, remarks, room_text
from session.plan.wish import Wish
from session.set.kit import Kit, Light, Shaper
from tests.support.plan_kits import BODY, FULL_KIT, LARGE, LENSES

LENS = next(lens for lens in LENSES if lens.name == "100 close-up")
SMALL_KIT = FULL_KIT.model_copy(
    update={"body": (BODY,), "lens": (LENS,), "tube": (), "supplementary": (), "converter": (), "reversing_ring": ()}
)

BOX = Light(name="box", guide_number_m=50, distance_mm=600, source_size_mm=300, least_power_ev=-10)

MOVEMENT: dict[str, Any] = {
    "piece_width_mm": 28.0,
    "piece_height_mm": 28.0,
    "relief_mm": 2.4,
    "blur_radius_on_piece_mm": 0.015,
    "delivered_pixels": 2400.0,
}


def with_parts(**parts: Any) -> Kit:
    return SMALL_KIT.model_copy(update=parts)


def planned(kit: Kit = SMALL_KIT, **more: Any) -> Plan:
    return rank_plans(kit, Wish.from_fields({**MOVEMENT, **more})).plans[0]


def test_the_numbers_are_those_of_the_plan_and_survive_json() -> None:
    plan = planned()
    told = json.loads(json.dumps(numbers(plan)))
    width_mm, height_mm = told["field_width_mm"], told["field_height_mm"]
    body = plan.build.body
    assert width_mm * plan.mounting.magnification == pytest.approx(body.sensor_width_mm)
    assert height_mm * plan.mounting.magnification == pytest.approx(body.sensor_height_mm)
    assert told["effective_f_number"] / told["f_number"] == pytest.approx(2 ** (told["exposure_increase_ev"] / 2))
    assert told["pixels_on_piece"] == pytest.approx(28 / told["pixel_footprint_um"] * 1000)
    assert told["delivered_pixels"] == pytest.approx(told["pixels_on_piece"] / 0.8)
    assert told["clearance_mm"] <= told["working_distance_mm"] < told["track_mm"]
    assert told["series_s"] >= told["frames"] * told["hold_off_s"]
    assert told["exposure_s"] >= told["fastest_exposure_s"]
    assert [light["name"] for light in told["lights"]] == [light.name for light in plan.lights]


def test_each_criterion_is_told_with_its_sentence_and_whether_it_fails() -> None:
    plan = planned(most_frames=1, clear_in_front_mm=900.0)
    told = numbers(plan)["criteria"]
    assert isinstance(told, list)
    assert {one["name"] for one in told if one["fails"]} == {one.name for one in plan.failing}
    assert plan.failing
    for one in told:
        assert one["text"].endswith(".")
        assert one["fails"] == (one["spare_ev"] is not None and one["spare_ev"] < -0.01)
    worst = [one.short_ev for one in plan.failing]
    assert worst == sorted(worst, reverse=True)


def test_of_a_lens_that_tells_little_the_numbers_are_none() -> None:
    kit = with_parts(
        body=(BODY.model_copy(update={"flange_distance_mm": None}),),
        lens=(LENSES[7].model_copy(update={"length_mm": None, "front_diameter_mm": None}),),
        tube=(), supplementary=(), converter=(), reversing_ring=(),
    )  # fmt: skip
    plan = planned(kit)
    told = numbers(plan)
    assert [told[name] for name in ("working_distance_mm", "track_mm", "clearance_mm")] == [None] * 3
    assert [one.name for one in plan.unknown] == ["room"]
    json.dumps(told)


@pytest.mark.parametrize(
    ("more", "found", "missing"),
    [
        ({}, "stands", "glass"),
        ({"plate": "thin"}, "glass", ""),
    ],
)
def test_hazards_follow_from_what_is_put_up(more: dict[str, Any], found: str, missing: str) -> None:
    told = hazards(planned(**more))
    assert found in told
    assert missing not in told
    assert set(LIGHT_HAZARDS) <= set(told)


def test_without_flash_only_the_stands_are_minded() -> None:
    dark = planned(with_parts(light=()))
    assert hazards(dark) == ("stands",)
    assert len(cautions(planned())) > len(cautions(dark))
    assert set(cautions(dark)) < set(cautions(planned()))


def test_a_series_near_full_power_minds_the_duty_cycle() -> None:
    weak = Light(name="weak", guide_number_m=3, distance_mm=600, duration_t01_s=0.001)
    many = planned(with_parts(light=(weak,)), relief_mm=12.0)
    assert many.stop.series.frames > 1
    assert any(light.power_ev > -1 for light in many.lights)
    assert "duty cycle" in hazards(many)
    strong = weak.model_copy(update={"name": "strong", "guide_number_m": 100})
    assert "duty cycle" not in hazards(planned(with_parts(light=(strong,)), relief_mm=12.0))


def test_the_aperture_by_hand_and_focus_by_moving_are_remarked_on() -> None:
    by_hand = planned(with_parts(lens=(LENS.model_copy(update={"electronic_aperture": False}),)))
    assert any(text.startswith("The camera can't set the aperture: set f/") for text in remarks(by_hand))
    kit = with_parts(tube=FULL_KIT.tube[1:])
    found = rank_plans(kit, Wish.from_fields({**MOVEMENT, "piece_width_mm": 15.0, "piece_height_mm": 15.0})).plans
    large = next(plan for plan in found if plan.build.tubes)
    assert large.focus_by_moving
    assert "Focus by moving the camera, not by the ring." in remarks(large)
    small = planned(
        piece_width_mm=200.0, piece_height_mm=150.0, delivered_pixels=None, lens="100 close-up", body="full"
    )
    assert not small.focus_by_moving
    assert not any("Focus by moving" in text for text in remarks(small))


@pytest.mark.parametrize(
    ("light", "remark"),
    [
        (
            Light(name="any", guide_number_m=50, distance_mm=600),
            "How long any burns isn't known: counted as no time at all.",
        ),
        (
            Light(name="any", guide_number_m=50, distance_mm=600, duration_t01_s=0.001, shaper="cloth"),
            "The loss of cloth on any isn't known: counted as none, measure it.",
        ),
    ],
)
def test_what_the_kit_does_not_tell_of_a_light_is_remarked_on(light: Light, remark: str) -> None:
    kit = with_parts(light=(light,), shaper=(Shaper(name="cloth"),))
    assert remark in remarks(planned(kit))
    known = Light(name="any", guide_number_m=50, distance_mm=600, duration_t01_s=0.001)
    assert remark not in remarks(planned(with_parts(light=(known,))))


def test_a_body_without_a_curtain_travel_and_thick_glass_are_remarked_on() -> None:
    large = planned(with_parts(body=(LARGE,)))
    assert "The curtain travel of large isn't known: its sync time stands for it." in remarks(large)
    thick = FULL_KIT.plate[0].model_copy(update={"name": "thick", "thickness_mm": 6})
    told = remarks(planned(with_parts(plate=(thick,)), plate="thick"))
    assert any(text.startswith("The plate's astigmatism takes ") for text in told)


def test_a_mirror_like_piece_is_told_what_it_shows_in_a_whole_sentence() -> None:
    told = remarks(planned(surface="mirror"))
    assert any(text.startswith("The piece shows the lens") and text.endswith(".") for text in told)


def test_a_light_that_a_mirror_like_piece_shows_too_bright_at_its_least_power_is_remarked_on() -> None:
    said = "The piece shows box 3.0 EV too bright even at its least power, wherever it stands"
    power_ev = planned(surface="mirror", kit=with_parts(light=(BOX,))).lights[0].power_ev
    for spare_ev, told in ((3.0, True), (0.05, False)):
        strong = BOX.model_copy(update={"least_power_ev": power_ev + spare_ev})
        assert (
            any(text.startswith(said) for text in remarks(planned(surface="mirror", kit=with_parts(light=(strong,)))))
            is told
        )


@pytest.mark.parametrize(
    ("clearance_mm", "text"),
    [
        (None, "182 mm from the lens to the plane of focus"),
        (179.0, "179 mm free (182 mm to the plane of focus)"),
        (-3.0, "-3.0 mm free (182 mm to the plane of focus)"),
    ],
)
def test_room_is_told_from_the_nearest_point_that_is_known(clearance_mm: float | None, text: str) -> None:
    assert room_text(182, clearance_mm) == text


def test_no_number_is_not_a_number() -> None:
    for plan in rank_plans(with_parts(lens=LENSES[:4]), Wish.from_fields(MOVEMENT)).plans:
        for name, value in numbers(plan).items():
            assert not isinstance(value, float) or not math.isnan(value), (plan.build.label, name)
