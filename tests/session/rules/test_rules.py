"""The rules before the release, by cases from the trade and from the two-curtain model."""

from dataclasses import replace

import pytest

from session.frame.finding import Level, RemedyKind
from session.rules import Situation, findings_before_release, ready_at_s
from session.rules.situation import Pop
from session.set.kit import Body, Kit, Lens, Light, Support, Trigger
from session.set.setup import Arrangement, PlacedLight, Revision, Settings
from tests.support.scripted import reading

BODY = Body(
    name="body", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000,
    sync_time_s=1 / 200, curtain_travel_s=0.003,
)  # fmt: skip
KIT = Kit(
    body=(BODY,),
    light=(Light(name="key", recycling_time_s=2.0), Light(name="lamp", kind="lamp")),
    trigger=(Trigger(name="radio", delay_s=0.0),),
)
WITH_FLASH = Revision(lights=(PlacedLight("key", 0.0),))


def situation(exposure_s: float = 1 / 200, kit: Kit = KIT, revision: Revision = WITH_FLASH, **more) -> Situation:
    revision = replace(revision, settings=replace(revision.settings, exposure_s=exposure_s))
    told = {"exposure_s": exposure_s} | more.pop("told", {})
    return Situation(revision=revision, kit=kit, reading=reading(**told), **more)


def found(where: Situation, rule: str):
    return next((f for f in findings_before_release(where) if f.id == rule), None)


# Dark shares by the two-curtain model with a travel of 3.0 ms and no delay: a slit crosses the frame and
# the flash lights what is open when the first curtain has arrived. Worked out from T_c, t in the docstring
# of session.lighting.sync; statement of the fact: articles on flash synchronisation speed.
@pytest.mark.parametrize(
    ("exposure_s", "dark_percent"), [(1 / 400, 17), (1 / 500, 33), (1 / 640, 48), (1 / 1000, 67), (1 / 2000, 83)]
)
def test_a_time_shorter_than_sync_is_stopped_and_names_the_dark_share(exposure_s, dark_percent):
    finding = found(situation(exposure_s), "sync")
    assert finding.level is Level.STOP
    assert finding.value == pytest.approx(exposure_s)
    assert finding.limit == pytest.approx(1 / 200)
    assert f"{dark_percent} % of the picture" in finding.text
    assert finding.remedy.settings == {"exposure_s": 0.005}


@pytest.mark.parametrize("exposure_s", [1 / 200, 0.0050, 1 / 160, 1 / 60, 0.5, 30])
def test_times_at_or_above_sync_pass(exposure_s):
    assert found(situation(exposure_s), "sync") is None


def test_a_quantised_time_within_a_tenth_of_a_stop_is_the_same_setting():
    # PTP tells 1/160 s as 0.0062 s: 0.012 EV off
    kit = KIT.model_copy(update={"body": (BODY.model_copy(update={"sync_time_s": 1 / 160}),)})
    assert found(situation(0.0062, kit), "sync") is None


def test_a_slow_trigger_moves_the_limit():
    kit = KIT.model_copy(update={"trigger": (Trigger(name="old", delay_s=0.004),)})
    finding = found(situation(1 / 200, kit), "sync")
    assert finding.limit == pytest.approx(0.007)
    assert found(situation(1 / 125, kit), "sync") is None


def test_without_a_known_curtain_travel_a_trigger_delay_is_a_caution_only():
    kit = KIT.model_copy(
        update={
            "body": (BODY.model_copy(update={"curtain_travel_s": None}),),
            "trigger": (Trigger(name="radio", delay_s=0.0008),),
        }
    )
    assert found(situation(1 / 200, kit), "sync").level is Level.CAUTION
    assert found(situation(1 / 250, kit), "sync").level is Level.STOP


@pytest.mark.parametrize("lights", [(), (PlacedLight("lamp"),)])
def test_without_a_flash_any_time_will_do(lights):
    assert found(situation(1 / 2000, revision=Revision(lights=lights)), "sync") is None


def test_a_light_that_the_kit_does_not_know_is_taken_for_a_flash():
    assert found(situation(1 / 500, revision=Revision(lights=(PlacedLight("borrowed"),))), "sync") is not None


# Recycling time by power, constant-power charger: 2.0 s at full gives 1.0 at a half and 0.5 at a quarter.
@pytest.mark.parametrize(("power_ev", "needed_s"), [(0, 2.0), (-1, 1.0), (-2, 0.5), (-3, 0.25), (-4, 0.125)])
def test_the_flash_gets_its_charging_time_by_the_power_used(power_ev, needed_s):
    where = situation(pops={"key": Pop(10.0, power_ev)}, now_s=10.0 + needed_s * 0.6)
    finding = found(where, "recycling")
    assert finding.remedy.kind is RemedyKind.WAIT
    assert finding.remedy.wait_s == pytest.approx(needed_s * 0.4)
    assert found(situation(pops={"key": Pop(10.0, power_ev)}, now_s=10.0 + needed_s), "recycling") is None


def test_the_longest_of_the_waits_decides():
    where = situation(pops={"key": Pop(10.0, 0.0)}, touched_s=10.5, now_s=11.0)
    assert ready_at_s(findings_before_release(where), 11.0) == (pytest.approx(12.5), "hold-off")
    assert ready_at_s((), 11.0) == (11.0, None)


@pytest.mark.parametrize(("mode", "level"), [("manual", None), ("program", Level.STOP), ("aperture", Level.STOP)])
def test_the_exposure_mode_must_be_manual(mode, level):
    finding = found(situation(told={"exposure_mode": mode}), "exposure-mode")
    assert (finding.level if finding else None) is level


def test_automatic_iso_is_stopped_and_automatic_white_balance_cautioned():
    where = situation(told={"iso": 0, "white_balance": "Automatic"})
    assert found(where, "iso").level is Level.STOP
    assert found(where, "iso").remedy.settings == {"iso": 100}
    assert found(where, "white-balance").level is Level.CAUTION


def test_a_focus_mode_that_is_not_manual_is_stopped():
    assert found(situation(told={"focus_mode": "automatic"}), "focus-mode").level is Level.STOP


def test_a_camera_that_does_not_tell_is_not_accused():
    where = Situation(revision=WITH_FLASH, kit=KIT)
    assert {(f.id, f.level) for f in findings_before_release(where)} == {("ambient", Level.NOTE)}


def test_a_turned_dial_names_both_values():
    finding = found(situation(told={"f_number": 8.0, "iso": 200}), "drifted")
    assert "Aperture is f/8, set-up 01.1 says f/11" in finding.text
    assert "ISO is 200" in finding.text
    assert finding.remedy.settings == {"f_number": 11.0, "iso": 100}


def test_nominal_and_exact_stops_are_the_same_setting():
    assert found(situation(told={"f_number": 11.314}), "drifted") is None  # exact f/11 is 8·√2


def test_the_stabiliser_asks_for_a_confirmation_where_the_camera_cannot_tell():
    lens = Lens(name="shaky", focal_length_mm=100, stabiliser=True)
    kit = KIT.model_copy(update={"lens": (lens,)})
    revision = replace(WITH_FLASH, arrangement=Arrangement(lens="shaky"))
    finding = found(situation(kit=kit, revision=revision), "stabiliser")
    assert (finding.level, finding.remedy.kind) == (Level.STOP, RemedyKind.CONFIRM)
    assert found(situation(kit=kit, revision=replace(revision, confirmed=("stabiliser",))), "stabiliser") is None
    assert found(situation(kit=kit, revision=revision, told={"stabiliser": "off"}), "stabiliser") is None
    assert found(situation(kit=kit, revision=revision, told={"stabiliser": "on"}), "stabiliser").level is Level.STOP


@pytest.mark.parametrize(
    ("name", "free", "level"),
    [("card", 10_000, Level.STOP), ("card", 3_000_000, Level.CAUTION), ("card", 10**9, None),
     ("disk", 10_000, Level.STOP), ("disk", 10**9, None)],
)  # fmt: skip
def test_room_on_card_and_disk(name, free, level):
    finding = found(situation(frame_bytes=1_000_000, **{f"free_{name}_bytes": free}), name)
    assert (finding.level if finding else None) is level


@pytest.mark.parametrize(("percent", "level"), [(2, Level.STOP), (10, Level.CAUTION), (50, None)])
def test_the_battery(percent, level):
    finding = found(situation(told={"battery_percent": percent}), "battery")
    assert (finding.level if finding else None) is level


@pytest.mark.parametrize(
    ("kit", "body", "said"),
    [
        (KIT, "", "other 4 isn't in the kit: sync time 1/200 s and sensor are those of body."),
        (KIT.model_copy(update={"invented": True}), "", "are those of body, which is invented."),
        (KIT, "gone", "are those of body."),
        (Kit(), "", "The kit has no body, so other 4's sync time and sensor aren't known"),
    ],
)
def test_a_camera_that_the_kit_lacks_is_told_with_the_body_whose_numbers_count(kit, body, said):
    finding = found(situation(kit=kit, revision=replace(WITH_FLASH, body=body), camera_model="other 4"), "kit")
    assert finding.level is Level.CAUTION
    assert said in finding.text


@pytest.mark.parametrize(
    ("body", "camera"),
    [
        ("", {"camera_model": "Body"}),
        ("body", {"camera_model": "other 4"}),
        ("", {"camera_model": "other 4", "camera_serial": "17"}),
        ("", {}),
    ],
    ids=["by its name", "chosen", "by its serial number", "not connected"],
)
def test_a_camera_that_the_kit_has_or_that_was_chosen_is_not_told(body, camera):
    kit = KIT.model_copy(update={"body": (BODY.model_copy(update={"serial": "17"}),)})
    assert found(situation(kit=kit, revision=replace(WITH_FLASH, body=body), **camera), "kit") is None


def test_every_finding_has_a_sentence_that_fits_the_screen_and_the_ids_differ():
    where = situation(
        1 / 500,
        revision=replace(WITH_FLASH, arrangement=Arrangement(lens="shaky")),
        kit=KIT.model_copy(update={"lens": (Lens(name="shaky", focal_length_mm=100, stabiliser=True),)}),
        told={"exposure_mode": "program", "iso": 0, "white_balance": "Automatic", "focus_mode": "automatic",
              "battery_percent": 2},
        pops={"key": Pop(10, 0)}, touched_s=10, now_s=10.5, free_card_bytes=0, free_disk_bytes=0,
    )  # fmt: skip
    findings = findings_before_release(where)
    assert {f.id for f in findings} >= {
        "drifted", "sync", "exposure-mode", "iso", "white-balance", "focus-mode", "stabiliser", "battery", "card",
        "disk", "recycling", "hold-off",
    }  # fmt: skip
    assert len({f.id for f in findings}) == len(findings)
    for finding in findings:
        assert finding.text.endswith(".")
        assert len(finding.text) <= 110
        assert finding.remedy is not None


def test_a_stand_of_the_kit_is_found_by_name_or_the_first():
    kit = Kit(support=(Support(name="a"), Support(name="b")))
    assert kit.support_for("b").name == "b"
    assert kit.support_for("").name == "a"
    assert Settings().by_name()["f_number"] == 11.0
