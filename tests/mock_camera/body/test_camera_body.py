"""The body: settings through one door, who is told of a change, what the host may write, and the battery."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from mock_camera.body.camera_body import CRITICAL_BATTERY_PERCENT, BodyOptions, CameraBody
from mock_camera.body.properties import RefusedSettingError, Setting
from mock_camera.ptp.codes import DevicePropCode, EventCode, Response
from tests.support.bare_body import Ears, bare_body


@pytest.fixture
def body(tmp_path: Path) -> CameraBody:
    return bare_body(tmp_path)


def ears_of(body: CameraBody) -> Ears:
    assert isinstance(body.cable, Ears)
    return body.cable


def told(body: CameraBody) -> list[int]:
    """Codes of the properties whose change the cable heard of."""
    return [event[1] for event in ears_of(body).events if event[0] == EventCode.DevicePropChanged]


def test_a_change_is_told_in_every_view_of_the_setting(body: CameraBody) -> None:
    body.change("exposure_s", 1 / 60)
    assert body.setting("exposure_s") == pytest.approx(1 / 60)
    assert told(body) == [DevicePropCode.ExposureTime, DevicePropCode.ExposureTimeFraction]


def test_the_host_is_not_told_of_what_it_wrote_itself_but_of_the_other_view(body: CameraBody) -> None:
    kind = body.property_at(DevicePropCode.ExposureTime)
    assert kind is not None
    assert body.write(kind, kind.to_wire(1 / 60)) is Response.OK
    assert told(body) == [DevicePropCode.ExposureTimeFraction]


def test_a_dial_that_is_turned_to_where_it_stood_tells_nothing(body: CameraBody) -> None:
    body.change("f_number", 11.05)
    assert body.setting("f_number") == 11.0 and told(body) == []


@pytest.mark.parametrize(("setting", "value"), [("f_number", 12.0), ("focus_mode", "by eye"), ("iso", 90)])
def test_what_the_body_does_not_offer_changes_nothing(body: CameraBody, setting: str, value: Setting) -> None:
    before = body.settings()
    with pytest.raises(RefusedSettingError):
        body.change(setting, value)
    assert body.settings() == before and told(body) == []


def test_a_setting_that_the_body_has_not_is_refused_with_those_that_it_has(body: CameraBody) -> None:
    with pytest.raises(RefusedSettingError) as refused:
        body.property_of("drive")
    assert str(refused.value).startswith("This camera has no setting 'drive'; it has capture_delay_s, date_time,")
    assert "battery_percent" not in str(refused.value), "that no dial turns"


def test_the_host_writes_only_what_may_be_written_and_what_fits(body: CameraBody) -> None:
    battery, aperture = (body.property_at(code) for code in (DevicePropCode.BatteryLevel, DevicePropCode.FNumber))
    assert battery is not None and aperture is not None
    assert body.write(battery, 50) is Response.AccessDenied
    assert body.write(aperture, 1234) is Response.InvalidDevicePropValue
    body.shutter_open = lambda: True
    assert body.write(aperture, 800) is Response.DeviceBusy
    assert body.setting("f_number") == 11.0


@pytest.mark.parametrize(("silently", "answer"), [(0, Response.AccessDenied), (1, Response.OK)])
def test_a_setting_that_is_to_be_refused_keeps_its_value(body: CameraBody, silently: int, answer: Response) -> None:
    aperture = body.property_at(DevicePropCode.FNumber)
    assert aperture is not None
    body.faults.add("setting_refused", setting="f_number", silently=silently)
    assert body.write(aperture, 800) is answer and body.setting("f_number") == 11.0
    assert body.write(aperture, 800) is Response.OK and body.setting("f_number") == 8.0, "once only"


def test_the_clock_is_set_in_the_cameras_own_time(body: CameraBody) -> None:
    zone = timezone(timedelta(hours=2))
    body.clock.set_date_time(datetime(2026, 5, 4, 11, 0, tzinfo=zone))
    body.change("date_time", "20270101T000000")
    assert body.clock.date_time() == datetime(2027, 1, 1, tzinfo=zone)
    assert body.setting("date_time") == "20270101T000000.0"
    assert told(body) == [DevicePropCode.DateTime]


@pytest.mark.parametrize(
    ("percent", "kept", "critical"),
    [
        (150, 100, False),
        (-5, 0, True),
        (CRITICAL_BATTERY_PERCENT, 3, True),
        (CRITICAL_BATTERY_PERCENT + 0.1, 3.1, False),
    ],
)
def test_the_battery_lies_between_empty_and_full_and_is_critical_from_three_per_cent_down(
    body: CameraBody, percent: float, kept: float, critical: bool
) -> None:
    body.set_battery(percent)
    assert body.setting("battery_percent") == pytest.approx(kept)
    assert body.battery_critical() is critical


def test_the_host_hears_of_whole_per_cents_only(body: CameraBody) -> None:
    for _ in range(12):
        body.use_battery(0.05)
    assert told(body) == [DevicePropCode.BatteryLevel], "80 to 79.4 is one whole per cent"


def test_a_shot_is_what_the_settings_say_now(body: CameraBody) -> None:
    body.change("iso", 400)
    body.change("f_number", 8)
    shot = body.shot(7)
    assert (shot.exposure_s, shot.f_number, shot.iso, shot.number) == (1 / 200, 8.0, 400, 7)
    assert shot.taken_at == body.clock.date_time()


def test_a_plain_body_shows_nothing_of_the_vendors(tmp_path: Path) -> None:
    plain = bare_body(tmp_path, BodyOptions(plain=True))
    assert plain.property_at(DevicePropCode.ExposureTimeFraction) is None
    assert plain.property_at(DevicePropCode.ExposureTime) is not None
    assert "live_view" not in plain.settings()


def test_what_a_played_body_adopts_is_told_to_nobody(body: CameraBody) -> None:
    body.adopt("f_number", 12.0)
    assert body.setting("f_number") == 12.0 and told(body) == []


def test_live_view_and_the_time_are_read_where_they_are(body: CameraBody) -> None:
    assert body.setting("live_view") == 0
    body.live_view = True
    assert body.setting("live_view") == 1
    assert body.clock.date_time().tzinfo is UTC
