"""The steps of a reshoot: what was recorded, in the order in which hands work, and what the camera says now."""

from dataclasses import replace

from session.match.match_steps import MatchStep, Measured, StepState, match_steps
from session.set.set_cautions import set_cautions
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Region, Revision, Settings
from tests.support.scripted import reading

OLD = Revision(
    setup_number=7,
    revision=3,
    settings=Settings(1 / 160, 16.0, 100, "Flash", "raw+jpeg"),
    arrangement=Arrangement("Plainfield 50", 50.0, 2.0, reversed=True, extension_mm=36.0),
    lights=(PlacedLight("key", -2.0, 620.0, 45.0, 30.0, "tube", "cable to the left"), PlacedLight("rim", -3.5)),
    passive=(PassiveItem("bounce", "white card", 180.0, 200.0), PassiveItem("plate", "2 mm glass")),
    must_be_sharp="the lettering",
    notes="card just out of the frame",
)


def steps(revision: Revision = OLD, measured: Measured | None = None) -> dict[str, MatchStep]:
    return {step.key: step for step in match_steps(revision, measured or Measured())}


def recorded(revision: Revision = OLD) -> dict[str, str]:
    return {key: step.recorded for key, step in steps(revision).items()}


def test_they_stand_in_the_order_in_which_hands_work():
    whole = replace(OLD, support="column", grey_patch=Region())
    assert list(steps(whole)) == [
        "camera", "lens", "place", "framing", "focus", "reflector white card", "glass 2 mm glass", "light key",
        "light rim", "together", "grey card", "piece", "notes",
    ]  # fmt: skip
    assert not {"place", "together", "grey card", "notes"} & set(steps(Revision()))


def test_without_a_measurement_every_step_is_open():
    assert {step.state for step in match_steps(OLD)} == {StepState.OPEN}
    assert not [step for step in match_steps(OLD) if step.measured]


def test_every_light_is_named_with_its_power_place_and_shaper():
    told = recorded()
    assert told["light key"] == (
        "1/4 (−2 EV) with tube, 620 mm from the piece, 45° left · 30° up (0° is from the camera, and along the table) "
        "(cable to the left)"
    )
    assert told["light rim"] == "1/16 +0.5 (−3.5 EV)"
    assert "180 mm" in told["reflector white card"]


def test_from_where_angles_count_is_said_once():
    rim = PlacedLight("rim", -3.5, 400.0, 200.0, 10.0)
    told = " ".join(recorded(replace(OLD, lights=(*OLD.lights[:1], rim))).values())
    assert told.count("0° is from the camera") == 1 and "160° right · 10° up" in told


def test_the_lens_is_told_with_what_is_behind_it():
    assert recorded()["lens"] == "Plainfield 50, reversed, 36 mm of tubes, at 2:1"
    by_hand = recorded(replace(OLD, settings=replace(OLD.settings, f_number=None)))
    assert by_hand["lens"].endswith("aperture by hand")


def test_a_dial_that_stands_elsewhere_is_told_with_the_value_it_goes_back_to():
    camera = steps(measured=Measured(reading(exposure_s=0.0062, f_number=11.0)))["camera"]
    assert (camera.state, camera.to_do) == (StepState.OFF, "aperture back to f/16")
    assert "aperture f/11" in camera.measured and "exposure time 1/161 s" in camera.measured


def test_a_camera_that_says_what_was_recorded_matches():
    camera = steps(measured=Measured(reading(exposure_s=0.0062, f_number=16.0)))["camera"]
    assert (camera.state, camera.to_do) == (StepState.MATCHES, "")


def test_a_setting_that_the_camera_does_not_tell_is_for_the_eyes():
    camera = steps(measured=Measured(reading(exposure_s=0.0062, f_number=16.0, white_balance=None)))["camera"]
    assert camera.state is StepState.CANT_TELL
    assert camera.to_do == "the camera doesn't tell its white balance: Flash"


def test_the_focus_goes_on_what_must_be_sharp_and_the_notes_come_last():
    assert recorded()["focus"] == "on the lettering"
    assert match_steps(OLD)[-1].recorded == "card just out of the frame"


def test_cautions_belong_to_what_stands_in_the_set():
    assert any("Plates" in caution for caution in set_cautions(OLD))
    assert not any("Plates" in caution for caution in set_cautions(replace(OLD, passive=())))
    assert set_cautions(replace(OLD, passive=(), lights=())) == ()
    assert "manual" in set_cautions(OLD)[-1]


def test_the_cameras_place_is_told_as_the_tape_and_the_level_told_it():
    at_the_copy_stand = replace(OLD, support="copy stand", working_distance_mm=182.0, camera_height_mm=340.0)
    made = replace(at_the_copy_stand, view_down_deg=35.0, view_around_deg=20.0)
    assert recorded(made)["place"] == (
        "on copy stand, lens to piece by tape 182 mm, lens above the table 340 mm, looks down 35°, looks from 20° left"
    )


def test_sizes_turns_and_the_gap_of_a_close_up_lens_are_told():
    glass = PassiveItem("plate", "pane", 90.0, 0.0, 90.0, "", 100.0, 60.0, 45.0, "left")
    box = PlacedLight("key", -2.0, 620.0, shaper="softbox", width_mm=600.0, height_mm=900.0)
    close_up = replace(OLD.arrangement, dioptres=2.0, gap_mm=31.0)
    told = recorded(replace(OLD, lights=(box,), passive=(glass,), arrangement=close_up))
    assert "with softbox, 600 × 900 mm, 620 mm" in told["light key"]
    assert told["glass pane"].endswith("100 × 60 mm, turned 45° left")
    assert "the close-up lens 31 mm before the front principal plane" in told["lens"]
