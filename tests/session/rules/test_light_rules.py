"""The rules about light, each against the numbers of one invented body: which level, which limit, which remedy."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import Reading, Setting
from session.frame.finding import Level, RemedyKind, RuleId
from session.lighting.sync import dark_share
from session.rules import light_rules
from session.rules.situation import Pop, Situation
from session.set.kit import Body, Kit, Light, Trigger
from session.set.setup import PlacedLight, Revision, Settings

BODY = Body(
    name="body", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000,
    sync_time_s=1 / 200, curtain_travel_s=0.003,
)  # fmt: skip
SLOW_POP = Light(name="key", recycling_time_s=4.0, durations_t01_s={0.0: 0.004, -4.0: 0.0005})
KIT = Kit(body=(BODY,), light=(SLOW_POP, Light(name="rim", recycling_time_s=1.0), Light(name="lamp", kind="lamp")))
quick = settings(max_examples=40)


def lit(
    *lights: PlacedLight, exposure_s: float = 1 / 200, kit: Kit = KIT, ambient_ev: float | None = None
) -> Situation:
    lights = lights or (PlacedLight("key", -2.0),)
    return Situation(Revision(lights=lights, settings=Settings(exposure_s), ambient_ev=ambient_ev), kit)


def times(*offered: float, read_only: bool = False) -> Reading:
    return Reading({"exposure_s": Setting("exposure_s", offered[0], "", offered, read_only)})


# --- sync -----------------------------------------------------------------------------------------------


@quick
@given(exposure_s=st.floats(1e-4, 0.0024))
def test_a_time_too_short_is_stopped_with_the_share_that_an_instant_flash_leaves_dark(exposure_s: float) -> None:
    (finding,) = light_rules.sync(lit(exposure_s=exposure_s))
    assert (finding.id, finding.level, finding.unit) == (RuleId.SYNC, Level.STOP, "s")
    assert (finding.value, finding.limit) == (exposure_s, 1 / 200)
    assert f"{100 * dark_share(exposure_s, 0.003):.0f} %" in finding.text


def test_between_curtain_travel_and_sync_time_only_an_edge_loses() -> None:
    (finding,) = light_rules.sync(lit(exposure_s=0.0035))
    assert finding.level is Level.STOP and "an edge would lose light" in finding.text


@pytest.mark.parametrize("lights", [(), (PlacedLight("lamp"),)], ids=["none", "a lamp"])
def test_without_a_flash_no_time_is_too_short(lights: tuple[PlacedLight, ...]) -> None:
    situation = lit(exposure_s=1 / 4000)
    assert light_rules.sync(replace(situation, revision=replace(situation.revision, lights=lights))) == ()
    assert light_rules.sync(replace(situation, ambient=True)) == (), "the lights are off"


def test_a_light_that_the_kit_does_not_know_is_taken_for_a_flash() -> None:
    (finding,) = light_rules.sync(lit(PlacedLight("borrowed"), exposure_s=1 / 500))
    assert finding.level is Level.STOP


def test_a_body_that_nobody_knows_has_no_sync_time() -> None:
    assert light_rules.sync(lit(exposure_s=1 / 4000, kit=Kit(light=KIT.light))) == ()


@pytest.mark.parametrize(
    ("offered", "limit_s", "chosen", "kind"),
    [
        ((1 / 500, 1 / 250, 1 / 200, 1 / 125), 1 / 200, 1 / 200, RemedyKind.SET_CAMERA),
        ((1 / 500, 1 / 250, 1 / 125, 1 / 60), 1 / 200, 1 / 125, RemedyKind.SET_CAMERA),
        ((1 / 500, 1 / 250), 1 / 200, 1 / 200, RemedyKind.SET_CAMERA),  # none is slow enough: the limit itself
    ],
)
def test_the_remedy_is_the_shortest_time_on_offer_that_is_in_sync(
    offered: tuple[float, ...], limit_s: float, chosen: float, kind: RemedyKind
) -> None:
    remedy = light_rules.slower_time(replace(lit(), reading=times(*offered)), limit_s)
    assert (remedy.kind, remedy.settings) == (kind, {"exposure_s": chosen})


def test_a_dial_that_only_hands_can_turn_gets_a_remedy_by_hand() -> None:
    remedy = light_rules.slower_time(replace(lit(), reading=times(1 / 500, 1 / 125, read_only=True)), 1 / 200)
    assert (remedy.kind, remedy.text) == (RemedyKind.BY_HAND, "set 1/125 s")


# --- recycling ------------------------------------------------------------------------------------------


@quick
@given(power=st.floats(-5, 0), since_s=st.floats(0, 5))
def test_a_flash_is_waited_for_as_long_as_its_last_pop_takes_and_not_longer(power: float, since_s: float) -> None:
    situation = replace(lit(), pops={"key": Pop(100.0, power)}, now_s=100.0 + since_s)
    needed_s = 4.0 * 2**power
    found = light_rules.recycling(situation)
    assert bool(found) == (situation.pops["key"].at_s + needed_s - situation.now_s > 0)
    for finding in found:
        assert finding.level is Level.NOTE and finding.remedy is not None
        assert finding.remedy.wait_s == pytest.approx(needed_s - since_s, abs=1e-9)


def test_of_several_flashes_the_one_that_takes_longest_is_told() -> None:
    both = lit(PlacedLight("key"), PlacedLight("rim"))
    (finding,) = light_rules.recycling(replace(both, pops={"key": Pop(0, 0), "rim": Pop(0, 0)}, now_s=0.5))
    assert finding.text == "key recycles, 3.5 s to go." and finding.limit == 4.0


def test_a_flash_that_is_not_in_the_set_any_more_is_not_waited_for() -> None:
    assert light_rules.recycling(replace(lit(PlacedLight("rim")), pops={"key": Pop(0, 0)}, now_s=0.1)) == ()


# --- duration -------------------------------------------------------------------------------------------


def test_a_flash_that_burns_longer_than_the_frame_is_open_costs_an_edge_some_light() -> None:
    """At full power the key burns 4 ms; at 1/200 s with 3 ms of travel the whole frame is open for 2 ms."""
    (finding,) = light_rules.flash_duration(lit(PlacedLight("key", 0.0)))
    assert (finding.level, finding.value) == (Level.CAUTION, 0.004)
    assert finding.limit == pytest.approx(0.002)
    assert "an edge loses" in finding.text and finding.remedy is not None
    assert finding.remedy.settings["exposure_s"] == pytest.approx(0.007)
    assert light_rules.flash_duration(lit(PlacedLight("key", 0.0), exposure_s=0.007)) == ()


def test_less_power_burns_shorter_and_passes() -> None:
    assert light_rules.flash_duration(lit(PlacedLight("key", -4.0))) == ()


def test_without_a_known_travel_how_much_is_lost_isnt_told() -> None:
    kit = KIT.model_copy(update={"body": (BODY.model_copy(update={"curtain_travel_s": None}),)})
    (finding,) = light_rules.flash_duration(lit(PlacedLight("key", 0.0), exposure_s=0.003, kit=kit))
    assert "some of its light is cut off" in finding.text


def test_a_frame_that_is_never_wholly_open_is_for_the_rule_about_sync_to_tell() -> None:
    assert light_rules.flash_duration(lit(PlacedLight("key", 0.0), exposure_s=0.002)) == ()


def test_a_flash_of_unknown_duration_is_not_judged() -> None:
    assert light_rules.flash_duration(lit(PlacedLight("rim", 0.0), exposure_s=0.0031)) == ()


def test_a_triggers_delay_shortens_what_the_frame_is_open_for() -> None:
    late = KIT.model_copy(update={"trigger": (Trigger(name="radio", delay_s=0.001),)})
    on_time = lit(PlacedLight("key", -2.0), exposure_s=0.0052)
    assert light_rules.flash_duration(on_time) == ()
    (finding,) = light_rules.flash_duration(replace(on_time, kit=late))
    assert finding.limit == pytest.approx(0.0012)


# --- ambient --------------------------------------------------------------------------------------------


def test_ambient_light_that_nobody_measured_is_noted_with_how_to_measure() -> None:
    (finding,) = light_rules.ambient(lit())
    assert (finding.level, finding.value, finding.limit) == (Level.NOTE, None, 5.0)
    assert finding.remedy is not None and "lights off" in finding.remedy.text


@quick
@given(under_ev=st.floats(-30, 20))
def test_ambient_light_is_cautioned_under_five_stops_and_never_told_brighter_than_twenty(under_ev: float) -> None:
    found = light_rules.ambient(lit(ambient_ev=-under_ev))
    assert bool(found) == (max(under_ev, -20) < 5)
    for finding in found:
        assert finding.level is Level.CAUTION and finding.value is not None and finding.value >= -20


def test_ambient_light_does_not_matter_where_no_flash_fires() -> None:
    assert light_rules.ambient(replace(lit(ambient_ev=0.0), ambient=True)) == ()
