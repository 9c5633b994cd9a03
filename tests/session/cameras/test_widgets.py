"""Cameras' own texts read as quantities and set again as the camera offers them.

The texts are those that libgphoto2's PTP driver writes (its config.c), seen on the virtual USB camera, on the
simulated one, or in that source; quantities are worked out beside them. Rounding: ISO 15740 ExposureTime is in
0.1 ms, so that 1/160 s reads 0.0062 s, and nominal against exact stops differ by less than 0.1 EV.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.cameras.widgets import (
    SETTINGS,
    NotOfferedError,
    Widget,
    batteries,
    choice,
    mapping,
    setting,
)
from session.frame import camera_messages
from session.frame.camera_messages import Value
from session.units.numbers import SETTING_SLACK_EV

ROUNDED = Widget(
    "shutterspeed", "0.0062s", ("1.0000s", "0.0125s", "0.0100s", "0.0062s", "0.0050s", "0.0002s", "0.0001s")
)
EXACT = Widget("shutterspeed2", "1/160", ("30", "5/2", "1", "1/80", "1/160", "1/200", "1/250", "1/4000"))
APERTURES = Widget("f-number", "f/11", ("f/2.8", "f/5.6", "f/8", "f/11", "f/16"))
SPEEDS = Widget("iso", "100", ("Auto", "64", "100", "200", "Lo 1"))


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("exposure_s", "0.0050s", 1 / 200),
        ("exposure_s", "1/200", 1 / 200),
        ("exposure_s", "1/200s", 1 / 200),
        ("exposure_s", "5/2", 2.5),
        ("exposure_s", "30", 30.0),
        ("exposure_s", '2"', 2.0),
        ("exposure_s", "1,3 s", 1.3),
        ("exposure_s", "Bulb", None),
        ("exposure_s", "Auto", None),
        ("exposure_s", "1/0", None),
        ("exposure_s", "0", None),
        ("exposure_s", "", None),
        ("f_number", "f/11", 11.0),
        ("f_number", "11", 11.0),
        ("f_number", "F5.6", 5.6),
        ("f_number", "f/5,6", 5.6),
        ("f_number", "Auto", None),
        ("f_number", "0", None),
        ("f_number", "--", None),
        ("iso", "100", 100),
        ("iso", "ISO 200", 200),
        ("iso", "Auto", 0),
        ("iso", "Auto ISO", 0),
        ("iso", "65535", 0),
        ("iso", "Lo 0.3", None),
        ("white_balance", "Flash", "Flash"),
        ("exposure_mode", "M", "manual"),
        ("exposure_mode", "Manual", "manual"),
        ("exposure_mode", "Av", "aperture priority"),
        ("exposure_mode", "Night Scene", "night scene"),
        ("focus_mode", "Manual", "manual"),
        ("focus_mode", "MF", "manual"),
        ("focus_mode", "One Shot", "one shot"),
        ("file_format", "JPEG Fine", "jpeg"),
        ("file_format", "Large Fine JPEG", "jpeg"),
        ("file_format", "RAW", "raw"),
        ("file_format", "XYZ (Raw)", "raw"),
        ("file_format", "XYZ+Basic", "raw+jpeg"),
        ("file_format", "RAW + Large Fine JPEG", "raw+jpeg"),
        ("file_format", "TIFF (RGB)", None),
        ("file_format", "RAW + HEIF", None),
        ("stabiliser", "On", "on"),
        ("stabiliser", "0", "off"),
        ("battery_percent", "81%", 81),
        ("battery_percent", "Low", 10),
        ("battery_percent", "100,40,0", 40),
        ("battery_percent", "80,-1,-1", 80),
        ("battery_percent", "0,0,0", None),
        ("capture_target", "Memory card", "card"),
        ("capture_target", "Internal RAM", "memory"),
    ],
)
def test_a_cameras_text_is_read_as(name: str, text: str, value: Value | None) -> None:
    read = SETTINGS[name].read(text)
    assert read == (pytest.approx(value) if isinstance(value, float) else value)
    assert type(read) is type(value)


@pytest.mark.parametrize("name", SETTINGS)
def test_every_canonical_setting_is_told_where_they_are_explained(name: str) -> None:
    assert f"`{name}`" in (camera_messages.__doc__ or "")
    assert SETTINGS[name].widgets


def test_of_two_widgets_for_one_setting_the_one_that_writes_fractions_is_used() -> None:
    assert mapping({w.name: w for w in (ROUNDED, EXACT)})["exposure_s"] == "shutterspeed2"
    assert mapping({"shutterspeed": ROUNDED})["exposure_s"] == "shutterspeed"
    swapped = {"shutterspeed2": Widget("shutterspeed2", "0.0062s"), "shutterspeed": Widget("shutterspeed", "1/160")}
    assert mapping(swapped)["exposure_s"] == "shutterspeed"


def test_a_setting_that_the_camera_does_not_offer_is_not_made_up() -> None:
    assert mapping({"iso": SPEEDS, "thumbsize": Widget("thumbsize", "large")}) == {"iso": "iso"}


def test_what_a_camera_would_take_is_listed_as_quantities() -> None:
    speeds = setting("iso", SPEEDS)
    assert (speeds.value, speeds.shown, speeds.allowed) == (100, "100", (0, 64, 100, 200))
    assert setting("exposure_s", EXACT).allowed[:3] == (30.0, 2.5, 1.0)


def test_a_switch_beside_the_iso_speed_makes_it_automatic() -> None:
    assert setting("iso", SPEEDS, automatic=True).value == 0
    assert setting("f_number", APERTURES, automatic=True).value == 11.0


@pytest.mark.parametrize(
    ("name", "wanted", "widget", "text"),
    [
        ("exposure_s", 1 / 160, ROUNDED, "0.0062s"),  # 0.0062 s is -0.012 EV off 1/160 s
        ("exposure_s", 1 / 160, EXACT, "1/160"),
        ("exposure_s", 1 / 4000, ROUNDED, None),  # 0.0002 s is -0.32 EV off, 0.0003 s would be +0.26 EV
        ("exposure_s", 1 / 128, EXACT, None),
        ("exposure_s", 1 / 256, EXACT, "1/250"),  # exact against nominal stop: 0.034 EV
        ("f_number", 8 * math.sqrt(2), APERTURES, "f/11"),  # 11.314: 0.081 EV
        ("f_number", 5.6, APERTURES, "f/5.6"),
        ("f_number", 6.3, APERTURES, None),
        ("iso", 200, SPEEDS, "200"),
        ("iso", 0, SPEEDS, "Auto"),
        ("iso", 125, SPEEDS, None),
        ("white_balance", "flash", Widget("whitebalance", "Daylight", ("Daylight", "Flash")), "Flash"),
        ("white_balance", "Moonlight", Widget("whitebalance", "Daylight", ("Daylight", "Flash")), None),
        ("focus_mode", "manual", Widget("focusmode", "AF", ("AF", "MF")), "MF"),
        ("exposure_mode", "manual", Widget("expprogram", "P", ("M", "P", "A", "S")), "M"),
        ("file_format", "jpeg", Widget("imagequality", "XYZ", ("JPEG Basic", "JPEG Fine", "XYZ+Fine")), "JPEG Fine"),
        ("file_format", "jpeg", Widget("imagequality", "JPEG Basic", ("JPEG Basic", "JPEG Fine")), "JPEG Basic"),
        ("stabiliser", "off", Widget("imagestabilization", "On", ("On", "Off")), "Off"),
        ("exposure_s", 1 / 200, Widget("shutterspeed", "1/60"), "1/200"),
        ("exposure_s", 2.5, Widget("shutterspeed", "1/60"), "2.5"),
        ("f_number", 11.0, Widget("f-number", "8", span=(2.8, 22.0, 0.1)), "11"),
        ("f_number", 45.0, Widget("f-number", "8", span=(2.8, 22.0, 0.1)), None),
        ("iso", 200, Widget("iso", "100", ("100", "200"), read_only=True), None),
        ("exposure_s", -1.0, EXACT, None),
        ("exposure_s", "soon", EXACT, None),
    ],
)
def test_the_text_to_set_is_the_nearest_or_none(name: str, wanted: Value, widget: Widget, text: str | None) -> None:
    if text is not None:
        assert choice(name, wanted, widget) == text
        return
    with pytest.raises(NotOfferedError) as caught:
        choice(name, wanted, widget)
    assert str(caught.value).endswith(".")


def test_a_refused_value_is_told_with_the_nearest_that_is_offered() -> None:
    with pytest.raises(NotOfferedError, match=r"^This camera has no exposure time 1/500 s; the nearest is 1/250 s\.$"):
        choice("exposure_s", 1 / 500, EXACT)


@given(st.integers(1, 60_000).map(lambda tenths: tenths / 10_000))
def test_what_is_set_is_never_further_off_than_the_slack(wanted: float) -> None:
    try:
        text = choice("exposure_s", wanted, EXACT)
    except NotOfferedError:
        nearest = min(
            abs(math.log2(value / wanted)) for value in (30, 2.5, 1, 1 / 80, 1 / 160, 1 / 200, 1 / 250, 1 / 4000)
        )
        assert nearest >= SETTING_SLACK_EV
    else:
        read = SETTINGS["exposure_s"].read(text)
        assert isinstance(read, float)
        assert abs(math.log2(read / wanted)) < SETTING_SLACK_EV


@given(st.text(max_size=30), st.sampled_from(sorted(SETTINGS)))
def test_no_text_whatever_raises(text: str, name: str) -> None:
    setting(name, Widget("any", text, (text, text + "1/2")))


@pytest.mark.parametrize(
    ("texts", "percent", "shown"),
    [
        (("81%",), 81, "81 %"),
        (("12,0",), 12, "12 %"),
        (("Unknown", "75 %"), 75, "75 %"),
        (("100,40,0",), 40, "100 %, 40 %"),
        (("Low",), 10, "Low"),
        (("Unknown",), None, "Unknown"),
    ],
)
def test_the_level_of_each_battery_is_shown(texts: tuple[str, ...], percent: int | None, shown: str) -> None:
    read = batteries([Widget("batterylevel", text) for text in texts])
    assert (read.value, read.shown) == (percent, shown)
