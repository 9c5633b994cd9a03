"""Rules at their limits: just within, at, and just beyond each."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from session.frame.camera_messages import Reading, Setting
from session.frame.finding import Finding, Level, RemedyKind, RuleId
from session.rules import Situation, findings_before_release
from session.rules.room_rules import MEAN_OVER_FRAMES, mean_frame_bytes
from session.rules.situation import Pop
from session.set.kit import Body, Kit, Lens, Light, Trigger
from session.set.setup import Arrangement, PlacedLight, Revision, Settings

BODY = Body(
    name="body", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000,
    sync_time_s=1 / 200, curtain_travel_s=0.003,
)  # fmt: skip
KIT = Kit(body=(BODY,), light=(Light(name="key", recycling_time_s=2.0),))
BARE = Situation(Revision(), KIT)
LIT = replace(BARE, revision=Revision(lights=(PlacedLight("key"),)))


def told(where: Situation, rule: RuleId) -> Finding | None:
    return next((finding for finding in findings_before_release(where) if finding.id == rule), None)


@pytest.mark.parametrize(
    ("percent", "level"),
    [(13, None), (12.5, None), (12, Level.CAUTION), (4, Level.CAUTION), (3, Level.STOP), (0, Level.STOP)],
)
def test_battery_cautions_at_twelve_percent_and_stops_at_three(percent: float, level: Level | None) -> None:
    reading = Reading({"battery_percent": Setting("battery_percent", percent, "")})
    finding = told(replace(BARE, reading=reading), RuleId.BATTERY)
    assert (finding.level if finding else None) is level


@pytest.mark.parametrize("where", ["card", "disk"])
@pytest.mark.parametrize(
    ("free", "level"),
    [(12_000, None), (11_999, Level.CAUTION), (1_000, Level.CAUTION), (999, Level.STOP), (0, Level.STOP)],
)
def test_room_for_twelve_frames_passes_and_for_none_stops(where: str, free: int, level: Level | None) -> None:
    named = {"card": RuleId.CARD, "disk": RuleId.DISK}
    short = {f"free_{where}_bytes": free}
    situation = replace(BARE, frame_bytes=1_000, **short)  # type: ignore[arg-type]
    finding = told(situation, named[where])
    assert (finding.level if finding else None) is level
    assert finding is None or finding.value == free // 1_000


@pytest.mark.parametrize(("ambient_ev", "level"), [(-5.01, None), (-5.0, None), (-4.99, Level.CAUTION)])
def test_ambient_light_is_cautioned_from_less_than_five_stops_under_on(ambient_ev: float, level: Level | None) -> None:
    finding = told(replace(LIT, revision=replace(LIT.revision, ambient_ev=ambient_ev)), RuleId.AMBIENT)
    assert (finding.level if finding else None) is level


def camera(read_only: bool, **values: float | str) -> Reading:
    return Reading({name: Setting(name, value, "", (), read_only) for name, value in values.items()})


@pytest.mark.parametrize("read_only", [(), ("iso",), ("exposure_s", "iso")])
def test_settings_that_drifted_go_back_by_the_camera_where_it_takes_any_of_them(read_only: tuple[str, ...]) -> None:
    """Two dials were turned: those that the camera sets are its remedy, the hands' only where it sets none."""
    asked = Revision(settings=Settings(1 / 200, None, 100))
    reading = Reading(
        {
            "exposure_s": Setting("exposure_s", 1 / 60, "", (), "exposure_s" in read_only),
            "iso": Setting("iso", 400, "", (), "iso" in read_only),
        }
    )
    finding = told(replace(BARE, revision=asked, reading=reading), RuleId.DRIFTED)
    assert finding is not None and finding.remedy is not None
    assert finding.value == 2
    taken = {name for name in ("exposure_s", "iso") if name not in read_only}
    if taken:
        assert finding.remedy.kind is RemedyKind.SET_CAMERA
        assert set(finding.remedy.settings) == taken
    else:
        assert finding.remedy.kind is RemedyKind.BY_HAND
        assert set(finding.remedy.settings) == {"exposure_s", "iso"}


def test_nothing_has_drifted_while_the_camera_says_what_the_set_up_says() -> None:
    reading = camera(False, exposure_s=1 / 200, iso=100)
    assert (
        told(replace(BARE, revision=Revision(settings=Settings(1 / 200, None, 100)), reading=reading), RuleId.DRIFTED)
        is None
    )


@pytest.mark.parametrize(("sizes", "mean"), [((), None), ((0,), None), ((0, 1, 3), 2), ((1,), 1)])
def test_room_is_counted_by_files_that_hold_something(sizes: tuple[int, ...], mean: int | None) -> None:
    assert mean_frame_bytes(sizes) == mean


class Counted(tuple[int, ...]):
    """Sizes that count how many of them were looked at."""

    looked_at = 0

    def __getitem__(self, key: Any) -> Any:
        self.looked_at += 1
        return super().__getitem__(key)


def test_room_is_counted_without_going_through_the_whole_day() -> None:
    sizes = Counted([1] * 5000)
    assert mean_frame_bytes(sizes) == 1
    assert 0 < sizes.looked_at <= MEAN_OVER_FRAMES


def test_without_a_trigger_nothing_is_added_to_the_sync_time() -> None:
    assert BARE.trigger_delay_s == 0
    assert told(replace(LIT, reading=camera(False, exposure_s=1 / 200)), RuleId.SYNC) is None


@pytest.mark.parametrize("silent", [0, None, "unknown"])
def test_an_aperture_that_the_camera_does_not_tell_is_the_set_ups(silent: float | str | None) -> None:
    kit = KIT.model_copy(update={"lens": (Lens(name="100", focal_length_mm=100, smallest_f_number=32),)})
    wanted = Revision(settings=Settings(1 / 200, 11.0), arrangement=Arrangement("100", 100, 1.0), depth_needed_mm=10)
    reading = Reading({"f_number": Setting("f_number", silent, "")})
    finding = told(Situation(wanted, kit, reading), RuleId.DEPTH)
    assert finding is not None and "at f/11 (f/22 here)" in finding.text


@pytest.mark.parametrize(
    ("offered", "taken"),
    [(("Tungsten", "Daylight", "Flash"), "Flash"), (("Shade", "Daylight", "Cloudy"), "Daylight"), (("Shade",), None)],
)
def test_a_fixed_white_balance_is_flash_or_else_daylight(offered: tuple[str, ...], taken: str | None) -> None:
    reading = Reading({"white_balance": Setting("white_balance", "Automatic", "", offered)})
    finding = told(replace(BARE, reading=reading), RuleId.WHITE_BALANCE)
    assert finding is not None and finding.remedy is not None
    assert finding.remedy.settings == ({"white_balance": taken} if taken else {})


def test_a_mode_that_reads_manual_is_manual_whoever_wrote_the_word() -> None:
    reading = camera(False, exposure_mode="".join(["man", "ual"]), focus_mode="".join(["man", "ual"]))
    assert told(replace(BARE, reading=reading), RuleId.EXPOSURE_MODE) is None
    assert told(replace(BARE, reading=reading), RuleId.FOCUS_MODE) is None


def test_a_flash_that_outlasts_a_shutter_of_unknown_travel_asks_for_its_time_and_the_triggers() -> None:
    kit = Kit(
        body=(BODY.model_copy(update={"curtain_travel_s": None}),),
        light=(Light(name="key", duration_t01_s=0.02),),
        trigger=(Trigger(name="radio", delay_s=0.004),),
    )
    finding = told(replace(LIT, kit=kit, reading=camera(False, exposure_s=1 / 100)), RuleId.FLASH_DURATION)
    assert finding is not None and finding.remedy is not None
    assert finding.remedy.settings == {"exposure_s": pytest.approx(0.024)}
    assert "some of its light is cut off" in finding.text


@pytest.mark.parametrize(
    ("reading", "kind"),
    [
        (camera(False, exposure_s=1 / 500), RemedyKind.SET_CAMERA),
        (camera(True, exposure_s=1 / 500), RemedyKind.BY_HAND),
        (Reading(), RemedyKind.SET_CAMERA),
    ],
    ids=["set", "read only", "not told"],
)
def test_a_time_within_sync_is_set_by_the_camera_unless_it_can_only_be_turned(
    reading: Reading, kind: RemedyKind
) -> None:
    asked = replace(LIT.revision, settings=Settings(1 / 500))
    finding = told(replace(LIT, revision=asked, reading=reading), RuleId.SYNC)
    assert finding is not None and finding.remedy is not None
    assert finding.remedy.kind is kind


@pytest.mark.parametrize(("since_s", "left_s"), [(0.0, 2.0), (0.5, 1.5), (1.75, 0.25), (1.99, 0.01), (2.0, None)])
def test_a_flash_that_recycles_tells_the_time_it_had_and_the_time_it_needs(
    since_s: float, left_s: float | None
) -> None:
    finding = told(replace(LIT, pops={"key": Pop(100.0, 0.0)}, now_s=100.0 + since_s), RuleId.RECYCLING)
    if left_s is None:
        assert finding is None
        return
    assert finding is not None and finding.remedy is not None
    assert (finding.value, finding.limit) == pytest.approx((since_s, 2.0))
    assert finding.remedy.wait_s == pytest.approx(left_s)


def test_a_flash_that_did_not_fire_hides_no_other_that_recycles() -> None:
    kit = KIT.model_copy(update={"light": (Light(name="key", recycling_time_s=2.0), Light(name="fill"))})
    both = Revision(lights=(PlacedLight("key"), PlacedLight("fill")))
    where = replace(BARE, revision=both, kit=kit, pops={"fill": Pop(100.0, 0.0)}, now_s=100.1)
    finding = told(where, RuleId.RECYCLING)
    assert finding is not None and finding.text.startswith("fill recycles")


@pytest.mark.parametrize(("ambient_ev", "words"), [(19.9, "-19.9 EV under"), (20.0, "-20.0 EV"), (90.0, "-20.0 EV")])
def test_ambient_light_far_above_the_flash_is_said_as_twenty_stops(ambient_ev: float, words: str) -> None:
    where = replace(LIT, revision=replace(LIT.revision, ambient_ev=ambient_ev))
    finding = told(where, RuleId.AMBIENT)
    assert finding is not None and words in finding.text


@pytest.mark.parametrize("order", [("long", "short"), ("short", "long")])
def test_of_several_flashes_the_longest_is_told(order: tuple[str, str]) -> None:
    lights = (Light(name="long", duration_t01_s=0.004), Light(name="short", duration_t01_s=0.003), Light(name="odd"))
    kit = KIT.model_copy(update={"light": lights})
    placed = (PlacedLight("odd"), *(PlacedLight(name) for name in order))
    finding = told(replace(BARE, kit=kit, revision=Revision(lights=placed)), RuleId.FLASH_DURATION)
    assert finding is not None and finding.text.startswith("long burns")
    assert finding.value == pytest.approx(0.004)


def test_a_frame_that_is_never_wholly_open_is_for_the_rule_about_sync_alone() -> None:
    body = BODY.model_copy(update={"curtain_travel_s": 0.003})
    kit = Kit(body=(body,), light=(Light(name="key", duration_t01_s=0.004),))
    settings = Settings(exposure_s=0.003)
    where = replace(BARE, kit=kit, revision=Revision(lights=(PlacedLight("key"),), settings=settings))
    assert told(where, RuleId.FLASH_DURATION) is None
    assert told(where, RuleId.SYNC) is not None


@pytest.mark.parametrize(
    ("free", "frame", "level", "words"),
    [
        (30_600_000, 2_600_000, Level.CAUTION, "The card has 31 MB free, a frame takes 3 MB."),
        (10**12, 10**12, Level.CAUTION, "The card has 1000000 MB free, a frame takes 1000000 MB."),
        (10**12 - 1, 10**12, Level.STOP, "The card has 1000000 MB free, a frame takes 1000000 MB."),
    ],
)
def test_room_is_told_in_whole_megabytes_beside_what_a_frame_takes(
    free: int, frame: int, level: Level, words: str
) -> None:
    finding = told(replace(BARE, free_card_bytes=free, frame_bytes=frame), RuleId.CARD)
    assert finding is not None
    assert (finding.level, finding.text, finding.limit) == (level, words, 1)
    assert finding.value == free // frame
