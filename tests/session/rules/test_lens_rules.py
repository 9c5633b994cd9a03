"""Rules on what lens and light can do, against published depths, blurs and losses."""

import math
from dataclasses import replace
from typing import Any

import pytest

from session.frame.finding import Finding, Level, RemedyKind, RuleId, stops
from session.rules import Situation, findings_before_release
from session.set.kit import Body, ExtensionTube, Kit, Lens, Light, Plate, Trigger, demo_kit
from session.set.setup import Arrangement, Confirmation, PassiveItem, PlacedLight, Revision, Settings
from session.shoot.acts import ApplyRemedy
from tests.support.plate_trace import virtual_focus_mm
from tests.support.pupil_fft import blur
from tests.support.scripted import Studio, reading

BODY = Body(
    name="body", sensor_width_mm=36, sensor_height_mm=24, pixels_across=4800, pixels_down=3200,
    sync_time_s=1 / 200, curtain_travel_s=0.003,
)  # fmt: skip
LENS = Lens(name="lens", focal_length_mm=100, smallest_f_number=32)
KIT = Kit(
    body=(BODY,),
    lens=(LENS,),
    light=(Light(name="key", duration_t01_s=0.001), Light(name="lamp", kind="lamp")),
    trigger=(Trigger(name="radio", delay_s=0.0002),),
    tube=(
        ExtensionTube(name="contacts", extension_mm=12, electronic_aperture=True),
        ExtensionTube(name="plain", extension_mm=25),
    ),
)
# 7.5 µm pixels and a limit of 2 px radius: a disc of 0.030 mm, the traditional blur circle of this format
CIRCLE_PX = 2.0
LIFE_SIZE = Arrangement("lens", 100, 1.0)


def situation(kit: Kit = KIT, told: dict[str, Any] | None = None, exposure_s: float = 1 / 200, **revision) -> Situation:
    values: dict[str, Any] = {
        "arrangement": LIFE_SIZE,
        "blur_limit_px": CIRCLE_PX,
        "settings": Settings(exposure_s, 11.0),
    }
    return Situation(Revision(**(values | revision)), kit, reading(**{"exposure_s": exposure_s} | (told or {})))


def found(where: Situation, rule: str) -> Finding | None:
    return next((f for f in findings_before_release(where) if f.id == rule), None)


# Effective f-numbers by the published close-up forms: N·(1 + m/P); reversed N·(1/P + m); with a close-up lens on
# infinity N alone, where the bellows factor would be wrong.
@pytest.mark.parametrize(
    ("arrangement", "f_number", "effective"),
    [
        (LIFE_SIZE, 8.0, 16.0),
        (LIFE_SIZE, 11.0, 22.0),
        (LIFE_SIZE, 14.0, 28.0),
        (Arrangement("lens", 100, 0.5), 11.0, 16.5),
        (Arrangement("lens", 100, 2.0), 8.0, 24.0),
        (Arrangement("lens", 100, 1.0, 0.6), 11.0, 11 * (1 + 1 / 0.6)),
        (Arrangement("lens", 100, 1.0, 1.6), 11.0, 11 * (1 + 1 / 1.6)),
        (Arrangement("lens", 50, 2.0, 0.6, reversed=True), 8.0, 8 * (1 / 0.6 + 2)),
        (Arrangement("lens", 100, 0.4, dioptres=4.0), 8.0, 8.0),
    ],
)
def test_the_depth_is_that_of_the_defocused_transfer_function_at_the_effective_aperture(
    arrangement, f_number, effective
):
    wanted = {"arrangement": arrangement, "told": {"f_number": f_number}}
    told_mm = found(situation(depth_needed_mm=10, **wanted), "depth").value
    unit_mm = 0.55e-3 * effective / arrangement.magnification
    geometric = told_mm / 2 * arrangement.magnification / effective / unit_mm
    assert unit_mm * blur(geometric) == pytest.approx(0.03 / arrangement.magnification, rel=2e-3)
    assert found(situation(depth_needed_mm=told_mm * 1.0002, **wanted), "depth") is not None
    assert found(situation(depth_needed_mm=told_mm * 0.9998, **wanted), "depth") is None


@pytest.mark.parametrize(("f_number", "sharp"), [(14.0, True), (16.0, False), (22.0, False)])
def test_where_diffraction_alone_blurs_more_than_is_allowed_no_depth_is_told(f_number, sharp):
    # at life size a sampled pupil in focus blurs to 1.745 wavelengths x f-number: 0.0269, 0.0307 and 0.0422 mm
    assert (0.55e-3 * 2 * f_number * blur(0.0) < 0.03) is sharp
    finding = found(situation(told={"f_number": f_number}, depth_needed_mm=3.0), "depth")
    assert (finding.value > 0) is sharp
    assert ("leaves nothing sharp enough" in finding.text) is not sharp
    if not sharp:
        assert finding.remedy.kind is RemedyKind.BY_HAND
        assert finding.remedy.text.startswith("allow more blur, or set f/14: ")


def test_glass_in_the_set_takes_its_share_of_the_depth():
    apart_mm = abs(virtual_focus_mm("tangential", 45, 1.52, 1.0) - virtual_focus_mm("sagittal", 45, 1.52, 1.0))
    kit = KIT.model_copy(update={"plate": tuple(Plate(name=f"{mm} mm", thickness_mm=mm) for mm in (1, 5))})
    bare_mm, through = (
        found(situation(kit, depth_needed_mm=10, passive=passive), "depth")
        for passive in ((), (PassiveItem("plate", "1 mm"),))
    )
    assert through.value == pytest.approx(bare_mm.value - apart_mm, rel=1e-4)
    thick = found(situation(kit, depth_needed_mm=10, passive=(PassiveItem("plate", "5 mm"),)), "depth")
    assert thick.text.startswith("The glass at f/11 (f/22 here) leaves nothing sharp enough")
    unknown = found(situation(kit, depth_needed_mm=10, passive=(PassiveItem("plate", "window"),)), "depth")
    assert unknown.value == bare_mm.value


def test_too_little_depth_names_both_numbers_and_the_frames_that_would_do():
    # 1.175 mm by wave optics at a quarter overlap: 10 mm take ceil((10 − 1.175)/0.881) + 1 = 12 frames
    finding = found(situation(depth_needed_mm=10), "depth")
    assert finding.text == "Sharp over 1.2 mm at f/11 (f/22 here), the view needs 10.0 mm: 12 frames cover it."
    assert finding.remedy.kind is RemedyKind.BY_HAND
    assert finding.remedy.text == "take 12 frames, 0.9 mm apart"


def test_a_smaller_stop_is_the_remedy_where_diffraction_allows_it():
    # at f/8 0.945 mm are sharp, at f/9 1.040, at f/10 1.119, and the most at f/11 or f/13: 1.18 mm (wave optics)
    finding = found(situation(told={"f_number": 8.0}, depth_needed_mm=1.1), "depth")
    assert finding.remedy.kind is RemedyKind.SET_CAMERA
    assert finding.remedy.settings == {"f_number": 10.0}
    more = found(situation(told={"f_number": 8.0}, depth_needed_mm=1.2), "depth")
    assert more.remedy.text == "take 2 frames, 0.7 mm apart"


# f/8 to f/10 are two thirds of a stop, as ISO 517 marks them: (10/8)² = 1.56 = 0.64 EV
@pytest.mark.parametrize(("power_ev", "stops_down"), [(-2.0, True), (-0.65, True), (-0.6, False), (0.0, False)])
def test_no_smaller_stop_is_the_remedy_where_a_flash_has_no_power_left_for_it(power_ev, stops_down):
    lights = (PlacedLight("lamp"), PlacedLight("key", power_ev=power_ev))
    finding = found(situation(told={"f_number": 8.0}, depth_needed_mm=1.1, lights=lights), "depth")
    assert finding.remedy.text == ("set f/10" if stops_down else "take 2 frames, 0.7 mm apart")


def test_a_depth_that_no_series_covers_is_said_so():
    finding = found(situation(depth_needed_mm=5000, arrangement=Arrangement("lens", 100, 10.0)), "depth")
    assert "no focus series covers that" in finding.text


def test_without_a_depth_asked_for_or_a_body_nothing_is_said():
    assert found(situation(), "depth") is None
    assert found(situation(KIT.model_copy(update={"body": ()}), depth_needed_mm=10), "depth") is None
    assert (
        found(situation(depth_needed_mm=10, settings=Settings(1 / 200, None), told={"f_number": None}), "depth") is None
    )


# In focus half contrast lies at 0.40397/(λ·N_e): as a disc 0.70508/0.40397·λ·N_e = 0.9600 µm per unit of N_e, so that
# 0.030 mm are reached at N_e = 31.25 (published transfer of a round pupil; λ = 0.55 µm).
@pytest.mark.parametrize(("f_number", "speaks"), [(11.0, False), (14.0, False), (16.0, True), (22.0, True)])
def test_diffraction_is_cautioned_above_the_blur_that_is_allowed(f_number, speaks):
    finding = found(situation(told={"f_number": f_number}), "diffraction")
    assert (finding is not None) is speaks
    if finding:
        assert finding.level is Level.CAUTION
        assert finding.value == pytest.approx(0.96 * 2 * f_number / 7.5 / 2, rel=1e-3), "a radius"
        assert finding.limit == pytest.approx(2)
        assert finding.remedy.settings == {"f_number": 14.0}


# A 1500th of the diagonal (published custom) is 0.0288 mm for 36 x 24 mm and 0.0192 mm for 24 x 16 mm: by 0.9600 µm per
# unit of N_e that is N_e = 30.05 and 20.03.
@pytest.mark.parametrize(
    ("width_mm", "height_mm", "magnification", "f_number", "speaks"),
    [
        (36, 24, 1.0, 11.0, False),
        (36, 24, 1.0, 15.0, False),
        (36, 24, 1.0, 15.05, True),
        (36, 24, 0.5, 20.0, False),
        (36, 24, 0.5, 20.1, True),
        (24, 16, 0.5, 11.0, False),
        (24, 16, 1.0, 10.0, False),
        (24, 16, 1.0, 10.05, True),
    ],
)
def test_a_pixel_s_radius_accuses_no_close_up_whose_diffraction_the_whole_picture_hides(
    width_mm, height_mm, magnification, f_number, speaks
):
    fine = BODY.model_copy(update={"sensor_width_mm": width_mm, "sensor_height_mm": height_mm, "pixels_across": 8256})
    kit = KIT.model_copy(update={"body": (fine,)})
    revision = Revision(arrangement=Arrangement("lens", 100, magnification))
    finding = found(Situation(revision, kit, reading(f_number=f_number)), "diffraction")
    assert (finding is not None) is speaks
    if finding:
        assert finding.limit == pytest.approx(math.hypot(width_mm, height_mm) / 1500 / 2 * 8256 / width_mm), "a radius"
        assert finding.text.endswith(f"{finding.limit:.1f} px the whole picture hides.")


def test_opening_the_lens_is_no_key_s_choice_where_the_depth_then_takes_more_frames():
    # at f/22 (44 here) a quarter wave is 4·0.55 µm·44² = 4.3 mm, so one frame; at f/14 the circle decides
    finding = found(situation(told={"f_number": 22.0}, depth_needed_mm=3.0), "diffraction")
    assert finding.remedy.kind is RemedyKind.BY_HAND and "f/14" in finding.remedy.text
    assert not finding.remedy.settings


def test_diffraction_counts_the_converter():
    # k·N(1 + m0): 2·11·(1 + 0.5) = 33 and not 44
    arrangement = Arrangement("lens", 100, 1.0, converter=2.0)
    assert "(f/33 here)" in found(situation(told={"f_number": 11.0}, arrangement=arrangement), "diffraction").text


def test_a_flash_that_outlasts_the_open_shutter_names_the_loss_at_the_edge():
    # t = 4 ms, T_c = 3 ms, delay 0.2 ms, t0.1 = 2 ms: an edge loses 0.732 EV inside the sync time (two-curtain model
    # with an exponential tail)
    kit = KIT.model_copy(
        update={
            "light": (Light(name="key", duration_t01_s=0.002),),
            "body": (BODY.model_copy(update={"sync_time_s": 1 / 250}),),
        }
    )
    finding = found(situation(kit, exposure_s=1 / 250, lights=(PlacedLight("key"),)), "flash-duration")
    assert finding.level is Level.CAUTION
    assert (finding.value, finding.limit) == (pytest.approx(0.002), pytest.approx(0.0008))
    assert "an edge loses 0.7 EV" in finding.text
    assert finding.remedy.settings == {"exposure_s": 0.005}  # 3.0 + 0.2 + 2.0 ms is 1/192 s: 1/200 within the slack
    assert found(situation(kit, exposure_s=1 / 160, lights=(PlacedLight("key"),)), "flash-duration") is None


def test_the_duration_is_the_one_at_the_power_in_use():
    light = Light(name="key", durations_t01_s={0: 0.004, -4: 0.0004})
    kit = KIT.model_copy(update={"light": (light,)})
    assert found(situation(kit, lights=(PlacedLight("key", 0.0),)), "flash-duration") is not None
    assert found(situation(kit, lights=(PlacedLight("key", -4.0),)), "flash-duration") is None


def test_out_of_sync_is_for_the_rule_about_sync_alone():
    where = situation(lights=(PlacedLight("key"),), exposure_s=1 / 500)
    assert found(where, "sync") is not None
    assert found(where, "flash-duration") is None


@pytest.mark.parametrize("lights", [(), (PlacedLight("lamp"),), (PlacedLight("borrowed"),)])
def test_lamps_and_flashes_of_unknown_duration_are_not_accused(lights):
    assert found(situation(lights=lights), "flash-duration") is None


# k stops under the flash ambient adds log2(1 + 2^−k): published 0.170 at 3, 0.0444 at 5.
@pytest.mark.parametrize(
    ("ambient_ev", "level", "words"),
    [
        (None, Level.NOTE, "has not been measured"),
        (-3.0, Level.CAUTION, "3.0 EV under the flash and adds 0.17 EV"),
        (1.0, Level.CAUTION, "-1.0 EV under"),
        (-5.0, None, ""),
        (-7.0, None, ""),
    ],
)
def test_ambient_light_is_measured_and_five_stops_under(ambient_ev, level, words):
    finding = found(situation(lights=(PlacedLight("key"),), ambient_ev=ambient_ev), "ambient")
    assert (finding.level if finding else None) is level
    assert words in (finding.text if finding else "")


def test_without_a_flash_the_rooms_light_is_the_light():
    assert found(situation(ambient_ev=-1.0), "ambient") is None


@pytest.mark.parametrize(
    ("arrangement", "words"),
    [
        (Arrangement("lens", 50, 2.0, reversed=True), "The lens is reversed"),
        (Arrangement("lens", 50, 0.5, extension_mm=25), "plain tubes"),
        (Arrangement("lens", 50, 0.5, extension_mm=37), "plain tubes"),
        (Arrangement("lens", 50, 0.5, extension_mm=12), None),
        (Arrangement("lens", 50, 0.5), None),
        (Arrangement("unknown", 50, 0.5), None),
    ],
)
def test_the_aperture_is_asked_for_by_a_tick_where_the_camera_can_not_set_it(arrangement, words):
    finding = found(situation(arrangement=arrangement), RuleId.APERTURE_BY_HAND)
    assert (finding is not None) is (words is not None)
    if finding:
        assert words in finding.text
        assert "set f/11 by hand; focus by moving the camera" in finding.text
        assert finding.remedy.kind is RemedyKind.CONFIRM
    confirmed = situation(arrangement=arrangement, confirmed=(Confirmation.APERTURE_BY_HAND,))
    assert found(confirmed, RuleId.APERTURE_BY_HAND) is None


def test_a_lens_with_a_ring_is_asked_for_too():
    kit = KIT.model_copy(update={"lens": (LENS.model_copy(update={"electronic_aperture": False}),)})
    assert (
        found(situation(kit), RuleId.APERTURE_BY_HAND).text == "The lens has a ring for its aperture: set f/11 by hand."
    )


def test_the_confirmation_goes_into_the_set_up_and_the_frame_fires():
    studio = Studio()
    bench = studio.shoot.shoot_state
    studio.revise(replace(bench.revision, arrangement=Arrangement("Plainfield 50", 50.0, 1.0, reversed=True)))
    asked = next(f for f in studio.shoot.findings() if f.id == RuleId.APERTURE_BY_HAND)
    assert stops([asked]) == (asked,)
    studio.do(ApplyRemedy(asked))
    assert bench.revision.confirmed == (Confirmation.APERTURE_BY_HAND,)
    assert not stops(studio.shoot.findings())


def test_the_demos_set_up_is_stopped_by_nothing():
    revision = Revision(lights=(PlacedLight("key", -2.0, 620, 45, 30, "tube"),))
    findings = findings_before_release(Situation(revision, demo_kit(), reading()))
    assert [(f.id, f.level) for f in findings] == [("ambient", Level.NOTE)]


@pytest.mark.parametrize(
    ("arrangement", "words"),
    [
        (Arrangement("lens", 0.0, 1.0), "focal length is 0 mm, but must be from 1 to 2000 mm"),
        # the close-up lens alone gives 0.4
        (Arrangement("lens", 100, 0.3, dioptres=4.0), "the added lenses alone give 0.4 with the lens at infinity"),
        (Arrangement("lens", 100, 0.3, dioptres=0.05), "dioptres is 0.05, but must be 0 or from 0.1 to 50"),
        (Arrangement("lens", 100, -1.0), "ratio is -1, but must be from 0 to 50"),
        (Arrangement("lens", 100, 80.0), "ratio is 80, but must be from 0 to 50"),
        (Arrangement("lens", 100, float("nan")), "ratio is not a number"),
    ],
)
def test_a_lens_that_cannot_be_worked_out_is_said_by_every_rule_that_needs_it(arrangement, words):
    """Such set-ups stand in logs that took any number; what a rule can't tell it must not pass over."""
    where = situation(arrangement=arrangement, depth_needed_mm=10)
    for rule in (RuleId.DEPTH, RuleId.DIFFRACTION):
        finding = found(where, rule)
        assert finding.level is Level.CAUTION and words in finding.text
        assert finding.text.startswith(f"The rule about {rule} can't be worked out: ")


def test_a_ratio_that_nobody_said_is_no_fault():
    where = situation(arrangement=Arrangement("lens", 100, 0.0), depth_needed_mm=10)
    assert found(where, "depth") is None and found(where, "diffraction") is None


def test_every_sentence_fits_the_screen():
    kit = KIT.model_copy(update={"light": (Light(name="key", duration_t01_s=0.004),)})
    where = situation(
        kit, {"f_number": 22.0}, lights=(PlacedLight("key"),), depth_needed_mm=10, ambient_ev=-2.0,
        arrangement=Arrangement("lens", 50, 1.0, reversed=True),
    )  # fmt: skip
    findings = [f for f in findings_before_release(where) if f.id != "drifted"]
    assert {f.id for f in findings} == {
        "flash-duration",
        Confirmation.APERTURE_BY_HAND,
        "depth",
        "diffraction",
        "ambient",
    }
    for finding in findings:
        assert finding.text.endswith(".")
        assert len(finding.text) <= 110
        assert finding.remedy is not None


def test_a_blur_limit_that_no_picture_has_is_said():
    # a radius of 1000 px of 7.5 µm is a disc of 15 mm
    finding = found(situation(blur_limit_px=1000, depth_needed_mm=1.0), RuleId.DEPTH)
    assert "blur circle is 15 mm, but must be from 0.0001 to 5 mm" in finding.text


def test_no_rule_keeps_an_error_of_numbers_to_itself():
    """Rules let it through, and the one caller makes a finding of it; only an endless series means something else."""
    import ast
    from pathlib import Path

    import session.rules

    folder = Path(session.rules.__file__).parent
    for path in folder.glob("*.py"):
        caught = [ast.unparse(node.type) for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                  if isinstance(node, ast.ExceptHandler) and node.type]  # fmt: skip
        assert set(caught) <= (
            {"ValueError", "RefusedNumberError"} if path.name == "__init__.py" else {"EndlessSeriesError"}
        )


@pytest.mark.parametrize(
    ("needed_mm", "cover", "offered"),
    [
        (10.0, "; as well as it goes, 3 frames cover it.", "allow more blur, or set f/14: 13 frames, 0.8 mm apart"),
        (6.0, "; as well as it goes, 2 frames cover it.", "allow more blur, or set f/14: 8 frames, 0.8 mm apart"),
        (2.0, "enough.", "allow more blur, or set f/14: 3 frames, 0.8 mm apart"),
        (0.5, "enough.", "allow more blur, or set f/14"),
    ],
)
def test_what_diffraction_leaves_is_told_with_the_frames_here_and_at_the_stop_that_is_offered(
    needed_mm, cover, offered
):
    """A quarter wave at both ends is 4·0.55 µm·44² = 4.3 mm in one frame at f/22 (44 here)."""
    finding = found(situation(told={"f_number": 22.0}, depth_needed_mm=needed_mm), "depth")
    assert finding.text.endswith(cover)
    assert (finding.value, finding.limit) == (0.0, needed_mm)
    assert finding.remedy.text == offered


@pytest.mark.parametrize(("needed_mm", "by_key"), [(0.5, True), (0.8, True), (3.0, False)])
def test_opening_for_diffraction_is_a_key_where_the_depth_takes_no_more_frames_than_now(needed_mm, by_key):
    finding = found(situation(told={"f_number": 22.0}, depth_needed_mm=needed_mm), "diffraction")
    assert (finding.remedy.kind is RemedyKind.SET_CAMERA) is by_key
    assert finding.remedy.text == ("set f/14" if by_key else "allow more blur, or set f/14: 4 frames")


def test_the_stop_that_diffraction_allows_is_found_for_a_lens_that_the_kit_does_not_know_too():
    # 0.9600 µm per unit of N_e: 0.030 mm at 31.25, at 3:1 f/7.8; the next marked one is f/7.1
    stranger = Arrangement("another", 100, 3.0)
    finding = found(situation(told={"f_number": 16.0}, arrangement=stranger), "diffraction")
    assert finding.remedy.text == "set f/7.1"
    huge = found(situation(told={"f_number": 16.0}, arrangement=Arrangement("another", 100, 30.0)), "diffraction")
    assert huge.remedy.text == "set f/1"
    beyond = found(situation(told={"f_number": 16.0}, arrangement=Arrangement("another", 100, 40.0)), "diffraction")
    assert beyond.remedy.text == "go farther away, or allow more blur"


def test_a_lens_offers_no_stop_that_it_has_not_or_is_not_sharp_at():
    slow = LENS.model_copy(update={"widest_f_number": 8.0})  # sharp from f/16
    finding = found(situation(KIT.model_copy(update={"lens": (slow,)}), {"f_number": 22.0}), "diffraction")
    assert finding.remedy.text == "go farther away, or allow more blur"


def test_blur_of_glass_is_mended_by_a_smaller_stop_where_one_is_sharp_all_over():
    kit = KIT.model_copy(update={"plate": (Plate(name="thick", thickness_mm=2),)})
    glass = (PassiveItem("plate", "thick"),)
    finding = found(situation(kit, {"f_number": 4.0}, depth_needed_mm=0.2, passive=glass), "depth")
    assert finding.text.startswith("The glass at f/4 (f/8 here) leaves nothing sharp enough; as well as it goes, 2 ")
    assert (finding.remedy.kind, finding.remedy.text) == (RemedyKind.SET_CAMERA, "set f/6.3")
    deep = found(situation(kit, {"f_number": 4.0}, depth_needed_mm=4.0, passive=glass), "depth")
    assert deep.remedy.text == "allow more blur, go farther away, or take thinner glass"


@pytest.mark.parametrize("blur_limit_px", [2.0, 3.0])
def test_the_words_name_whose_limit_diffraction_is_beyond(blur_limit_px):
    """2 px of 7.5 µm are 0.030 mm, more than the format's 0.0288 mm: the view's own limit decides."""
    finding = found(situation(told={"f_number": 32.0}, blur_limit_px=blur_limit_px), "diffraction")
    assert finding.text.endswith(f"{blur_limit_px:.1f} px are allowed.")


@pytest.mark.parametrize("rule", [RuleId.DEPTH, RuleId.DIFFRACTION])
def test_without_a_body_or_an_aperture_no_rule_about_the_lens_speaks(rule):
    no_body = KIT.model_copy(update={"body": ()})
    assert found(situation(no_body, {"f_number": 32.0}, depth_needed_mm=10), rule) is None
    silent = Situation(
        Revision(arrangement=LIFE_SIZE, depth_needed_mm=10, settings=Settings(f_number=None)), KIT, reading(f_number=0)
    )
    assert found(silent, rule) is None


@pytest.mark.parametrize(
    ("passing_mm", "extension_mm", "passed_on"),
    [
        ((12,), 12.49, True),
        ((12,), 12.5, False),
        ((12,), 13.0, False),
        ((12,), 0.4, False),
        ((36,), 12, False),
        ((12, 36), 48, True),
        ((12, 36), 36.3, True),
        ((12, 20, 36), 68, True),
        ((12, 20, 36), 56, True),
        ((12, 36), 24, False),
    ],
)
def test_tubes_of_the_kit_pass_the_aperture_on_where_some_of_them_come_to_the_length(
    passing_mm, extension_mm, passed_on
):
    tubes = tuple(ExtensionTube(name=str(mm), extension_mm=mm, electronic_aperture=True) for mm in passing_mm)
    where = situation(
        KIT.model_copy(update={"tube": tubes}), arrangement=Arrangement("lens", 50, 0.5, extension_mm=extension_mm)
    )
    finding = found(where, RuleId.APERTURE_BY_HAND)
    assert (finding is None) is passed_on
    if finding:
        assert finding.text == (
            "The lens stands on plain tubes: set f/11 by hand; focus by moving the camera, not by the ring."
        )
