"""Every text that libgphoto2's PTP driver can write for our settings is read as what it means, or stays unread.

The texts are those of the tables and format strings in its config.c (2.5.34), taken as facts; makers' own words for raw
files are left out, since any word beside a JPEG's counts as raw. What each means is the trade's usage.
"""

from __future__ import annotations

from typing import Any

import pytest

from session.cameras.widgets import SETTINGS, is_timed_by_hand

TIMES = {
    **{
        text: None
        for text in ("bulb", "Bulb", "auto", "time", "65535/65535", "1/65534", "1/65533", "429496.7295s", "x 200")
    },
    **{f"{minutes}m": 60.0 * minutes for minutes in (2, 4, 8, 15, 30, 60)},
    **{f"{seconds}s": seconds for seconds in (60.0, 30.0, 2.5, 1.3, 1.0, 0.8, 0.4)},
    **{f"1/{below}": 1 / below for below in (2, 3, 60, 125, 200, 250, 8000, 32000)},
    **{"1/1.3s": 1 / 1.3, "25/10": 2.5, "10/13": 10 / 13, "20.3": 20.3, "0.3": 0.3, "0.0050s": 0.005, "13/10": 1.3},
}
F_NUMBERS = {
    **{text: None for text in ("implicit auto", "auto", "f/655.34", "f/655.35", "f/0", "Unknown value 00ff")},
    **{"1.1": 1.1, "1.2": 1.2, "6.7": 6.7, "91": 91.0, "f/2.8": 2.8, "f/11": 11.0},
}
ISOS = {
    **{
        text: 0
        for text in ("Auto", "Auto ISO", "ISO Auto 6400", "A3200 (160-3200)", "-1", "-2", "-3", "65535", "16777215")
    },
    **{text: 0 for text in ("Auto ISO Multi Frame Noise Reduction",)},
    **{text: int(text) for text in ("6", "12", "25", "100", "125", "25600", "819200")},
    **{text: None for text in ("Factory Default", "0", "Hi 0.3", "Lo 1", "100 Multi Frame Noise Reduction")},
}
JPEGS = (
    "JPEG Basic", "JPEG Normal*", "JPEG Fine", "Light", "Standard", "Fine", "Extra Fine", "X.Fine", "Std", "economy",
    "normal", "fine", "superfine", "JPEG", "L", "M", "S", "cL", "cM", "cS", "S1", "S2", "S3", "cS1", "cS3", "M1", "M2",
    "cM1", "L + S1", "M + cS2", "Large Fine JPEG", "Medium Normal JPEG", "JPEG Only",
)  # fmt: skip
RAWS = ("RAW", "mRAW", "sRAW", "cRAW", "CRW", "RAW Only")
BOTH = (
    "RAW + L", "cRAW + cS1", "mRAW + S2", "RAW + JPEG Fine", "RAW+JPEG (Light)", "RAW+JPEG (X.Fine)", "RAW & JPEG",
    "Large Fine JPEG+RAW", "RAW+JPEG", "XYZ+Fine*",
)  # fmt: skip
NEITHER = ("Undefined", "undefined", "n/a", "Disabled", "TIFF (RGB)", "HEIF (Fine)", "RAW & HEIF", "Unknown value 000d")
FORMATS = {
    **dict.fromkeys(JPEGS, "jpeg"),
    **dict.fromkeys(RAWS, "raw"),
    **dict.fromkeys(BOTH, "raw+jpeg"),
    **dict.fromkeys(NEITHER),
}
FOCUS = {
    **{text: "manual" for text in ("Manual", "MF (fixed)", "MF (selection)", "Preset MF", "Manual Reverse", "MF")},
    **{text: text.casefold() for text in ("AF-S", "AF-C", "AF-A", "DMF", "One Shot", "S-AF+MF", "Preset Focus")},
    "Automatic": "automatic",
}
MODES = {
    **{"M": "manual", "Manual": "manual", "P": "programme", "AV": "aperture priority", "TV": "exposure-time priority"},
    **{"A": "aperture priority", "S": "exposure-time priority", "Auto": "automatic", "Bulb": "bulb", "Fv": "fv"},
}
BATTERIES = {
    **{"Low": 10, "100%": 100, "25%": 25, "0%": 0, "80%, 60%": 60},
    **{text: None for text in ("253%", "broken", "Unknown value 0009", "")},
}
TARGETS = {"sdram": "memory", "card": "card", "card+sdram": "card", "Internal RAM": "memory", "Memory card": "card"}
SWITCHES = {"On": "on", "Off": "off"}
TEXTS: dict[str, dict[str, Any]] = {
    "exposure_s": TIMES,
    "f_number": F_NUMBERS,
    "iso": ISOS,
    "file_format": FORMATS,
    "focus_mode": FOCUS,
    "exposure_mode": MODES,
    "battery_percent": BATTERIES,
    "capture_target": TARGETS,
    "stabiliser": SWITCHES,
}


@pytest.mark.parametrize("name", TEXTS)
def test_every_text_of_the_library_means_what_it_says(name: str) -> None:
    for text, meaning in TEXTS[name].items():
        value = SETTINGS[name].read(text)
        assert value == (pytest.approx(meaning) if isinstance(meaning, float) else meaning), text


@pytest.mark.parametrize(
    "text", ["Auto", "Automatic", "AWB White", "Natural light auto", "One-push Automatic", "Underwater: Auto"]
)
def test_automatic_white_balances_begin_with_the_word(text: str) -> None:
    assert str(SETTINGS["white_balance"].read(text)).startswith("Auto")


@pytest.mark.parametrize("text", ["Daylight", "Flash", "Preset Custom 1", "Manual", "Color Temperature"])
def test_fixed_white_balances_keep_their_words(text: str) -> None:
    assert SETTINGS["white_balance"].read(text) == text


def test_bulb_and_time_are_told_from_exposures() -> None:
    assert all(map(is_timed_by_hand, ("bulb", "Bulb", "Time", "65535/65535", "1/65533")))
    assert not any(map(is_timed_by_hand, ("1/200", "30", "auto", "2m", "")))
