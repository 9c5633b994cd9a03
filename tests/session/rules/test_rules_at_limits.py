"""Rules at their limits: just within, at, and just beyond each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.camera_messages import Reading, Setting
from session.frame.finding import Finding, Level, RemedyKind, RuleId
from session.rules import Situation, findings_before_release
from session.set.kit import Body, Kit, Light
from session.set.setup import PlacedLight, Revision, Settings

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
