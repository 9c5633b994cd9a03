"""The rules about the camera: what drifted, what is automatic, what one key would set, and whose sync time counts."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import Reading, Setting
from session.frame.finding import Finding, Level, RemedyKind, RuleId
from session.rules import camera_rules
from session.rules.situation import Situation
from session.set.kit import Body, Kit
from session.set.setup import Revision, Settings

ASKED = Settings(exposure_s=1 / 200, f_number=11.0, iso=100)
AS_ASKED: dict[str, Any] = {"exposure_s": 1 / 200, "f_number": 11.0, "iso": 100}


def situation(by_hand: tuple[str, ...] = (), asked: Settings = ASKED, **told: Any) -> Situation:
    """A camera that says these; `by_hand`: settings that the computer can't set."""
    settings_told = {name: Setting(name, value, str(value), (), name in by_hand) for name, value in told.items()}
    return Situation(Revision(7, 3, settings=asked), Kit(), Reading(settings_told))


def test_a_camera_that_says_what_the_set_up_says_has_not_drifted() -> None:
    assert camera_rules.drifted_settings(situation(**AS_ASKED)) == ()
    assert camera_rules.drifted_settings(situation()) == (), "nor has one that says nothing"


def test_a_turned_dial_is_named_with_both_values_and_goes_back_by_one_key() -> None:
    (finding,) = camera_rules.drifted_settings(situation(**AS_ASKED | {"f_number": 8.0}))
    assert (finding.id, finding.level, finding.value) == (RuleId.DRIFTED, Level.STOP, 1)
    assert (finding.limit, finding.unit) == (0, "settings")
    assert finding.text == "Aperture is f/8, set-up 07.3 says f/11."
    assert finding.remedy is not None
    assert (finding.remedy.kind, finding.remedy.text) == (RemedyKind.SET_CAMERA, "back to f/11")
    assert finding.remedy.settings == {"f_number": 11.0}


def test_several_turned_dials_are_one_finding_that_counts_them() -> None:
    (finding,) = camera_rules.drifted_settings(situation(exposure_s=1 / 60, f_number=8.0, iso=400))
    assert finding.value == 3 and finding.remedy is not None
    assert finding.remedy.settings == {"exposure_s": 1 / 200, "f_number": 11.0, "iso": 100}
    assert all(word in finding.text for word in ("1/60 s", "f/8", "400", "1/200 s", "f/11"))


def test_what_the_camera_cant_set_goes_back_by_hand_and_only_that() -> None:
    (by_hand,) = camera_rules.drifted_settings(situation(("f_number",), **AS_ASKED | {"f_number": 8.0}))
    assert by_hand.remedy is not None and by_hand.remedy.kind is RemedyKind.BY_HAND
    assert by_hand.remedy.text == "back to f/11"
    (mixed,) = camera_rules.drifted_settings(situation(("f_number",), exposure_s=1 / 60, f_number=8.0))
    assert mixed.remedy is not None
    assert (mixed.remedy.kind, mixed.remedy.settings) == (RemedyKind.SET_CAMERA, {"exposure_s": 1 / 200})


def test_a_setting_that_the_set_up_leaves_to_the_camera_never_drifts() -> None:
    free = Settings(1 / 200, None, 100)
    for f_number in (1.4, 8.0, 64.0):
        assert camera_rules.differing(Revision(settings=free), situation(f_number=f_number).reading) == {}


@settings(max_examples=40)
@given(st.floats(0.5, 60), st.floats(-0.05, 0.05))
def test_a_time_that_the_camera_rounds_is_the_same_time(exposure_s: float, off_ev: float) -> None:
    """Cameras tell 1/160 s as 0.0062 s: 0.012 EV off; a tenth of a stop is no turned dial."""
    asked = Settings(exposure_s, 11.0, 100)
    told = situation(asked=asked, exposure_s=exposure_s * 2**off_ev)
    assert camera_rules.differing(told.revision, told.reading) == {}


@pytest.mark.parametrize(
    ("told", "rule", "level"),
    [
        ({"exposure_mode": "aperture"}, RuleId.EXPOSURE_MODE, Level.STOP),
        ({"exposure_mode": "auto"}, RuleId.EXPOSURE_MODE, Level.STOP),
        ({"iso": 0}, RuleId.ISO, Level.STOP),
        ({"white_balance": "Auto"}, RuleId.WHITE_BALANCE, Level.CAUTION),
        ({"white_balance": "automatic, warm"}, RuleId.WHITE_BALANCE, Level.CAUTION),
    ],
)
def test_what_is_automatic_is_told_by_its_rule(told: dict[str, Any], rule: RuleId, level: Level) -> None:
    (finding,) = camera_rules.fixed_exposure(situation(**told))
    assert (finding.id, finding.level) == (rule, level)
    assert "from frame to frame" in finding.text or "would not match" in finding.text


def test_a_camera_set_by_hand_all_over_gives_no_finding() -> None:
    fixed = situation(exposure_mode="manual", iso=100, white_balance="Flash", focus_mode="manual")
    assert camera_rules.fixed_exposure(fixed) == camera_rules.focus_by_hand(fixed) == ()


def balanced(*offered: str, asked: str | None = None) -> Finding:
    told = Reading({"white_balance": Setting("white_balance", "Auto", "Auto", offered)})
    where = Situation(Revision(settings=Settings(white_balance=asked)), Kit(), told)
    (finding,) = camera_rules.fixed_exposure(where)
    return finding


@pytest.mark.parametrize(
    ("offered", "asked", "chosen"),
    [
        (("Auto", "Daylight", "Flash"), None, "Flash"),
        (("Auto", "Daylight", "Shade"), None, "Daylight"),
        (("Auto", "FLASH"), None, "FLASH"),
        (("Auto", "Daylight", "Flash"), "Daylight", "Daylight"),
        (("Auto", "Shade"), None, None),
        (("Auto", "Shade"), "Flash", None),
    ],
)
def test_a_fixed_balance_is_chosen_among_the_cameras_own_words(
    offered: tuple[str, ...], asked: str | None, chosen: str | None
) -> None:
    remedy = balanced(*offered, asked=asked).remedy
    assert remedy is not None
    if chosen is None:
        assert (remedy.kind, remedy.text) == (RemedyKind.BY_HAND, "turn it by hand on the camera")
    else:
        assert (remedy.kind, remedy.settings) == (RemedyKind.SET_CAMERA, {"white_balance": chosen})


@pytest.mark.parametrize("mode", ["single", "continuous", "AF-S"])
def test_a_camera_that_would_focus_anew_is_stopped(mode: str) -> None:
    (finding,) = camera_rules.focus_by_hand(situation(focus_mode=mode))
    assert (finding.id, finding.level) == (RuleId.FOCUS_MODE, Level.STOP) and mode in finding.text
    (by_hand,) = camera_rules.focus_by_hand(situation(("focus_mode",), focus_mode=mode))
    assert by_hand.remedy is not None and by_hand.remedy.kind is RemedyKind.BY_HAND


# --- the kit ---------------------------------------------------------------------------------------------


def body(name: str, serial: str = "") -> Body:
    return Body(
        name=name, sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000, sync_time_s=1 / 160,
        serial=serial,
    )  # fmt: skip


OURS = Kit(body=(body("Wendle 16", "W-1"), body("Longmere 9")))


@pytest.mark.parametrize(
    ("serial", "model"),
    [("W-1", "something else"), ("", "Wendle 16"), ("X", "wendle 16"), ("", "")],
    ids=["by its serial number", "by its model", "whatever case", "no camera yet"],
)
def test_a_camera_of_the_kit_and_none_at_all_pass(serial: str, model: str) -> None:
    assert camera_rules.camera_in_kit(Situation(Revision(), OURS, camera_serial=serial, camera_model=model)) == ()


def test_a_strangers_camera_is_told_with_the_sync_time_that_counts_instead() -> None:
    (finding,) = camera_rules.camera_in_kit(Situation(Revision(), OURS, camera_serial="X-9", camera_model="Harrow 3"))
    assert (finding.id, finding.level) == (RuleId.KIT, Level.CAUTION)
    assert finding.text == "Harrow 3 isn't in the kit: sync time 1/160 s and sensor are those of Wendle 16."
    assert finding.remedy is not None and finding.remedy.kind is RemedyKind.BY_HAND


def test_a_kit_that_nobody_owns_says_that_it_is_invented() -> None:
    invented = OURS.model_copy(update={"invented": True})
    (finding,) = camera_rules.camera_in_kit(Situation(Revision(), invented, camera_model="Harrow 3"))
    assert finding.text.endswith("those of Wendle 16, which is invented.")


def test_a_kit_without_a_body_says_that_no_rule_looks_at_sync_and_sensor() -> None:
    (finding,) = camera_rules.camera_in_kit(Situation(Revision(), Kit(), camera_model="Harrow 3"))
    said = "The kit has no body, so Harrow 3's sync time and sensor aren't known: no rule looks at them."
    assert finding.text == said


def test_a_body_that_a_person_chose_is_believed() -> None:
    chosen = Situation(Revision(body="Longmere 9"), OURS, camera_model="Harrow 3")
    assert camera_rules.camera_in_kit(chosen) == () and chosen.body is OURS.body[1]
    (finding,) = camera_rules.camera_in_kit(Situation(Revision(body="sold last year"), OURS, camera_model="Harrow 3"))
    assert finding.level is Level.CAUTION
