"""The steps of a reshoot: what was recorded, in the order in which hands work, and what the camera says now."""

from dataclasses import replace

from session.match.match_steps import MatchStep, Measured, StepState, match_steps
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
