"""Device properties: how the body's settings look on the wire.

A setting has a name and a physical value (`exposure_s` 0.005, `f_number` 11.0, `focus_mode`
"manual"); a property is one view of it, with a code, a data type and a form. Exposure time has two
views: the standard's in 0.1 ms, and the vendor extension's as an exact fraction.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from mock_camera.ptp.codes import DataType, DevicePropCode
from mock_camera.ptp.datasets import FORM_ENUMERATION, FORM_NONE, FORM_RANGE, Form

Setting = float | int | str

# Third-stop series as engraved on cameras (ISO 516 and ISO 517 nominal values).
LONG_TIMES_S = "30 25 20 15 13 10 8 6 5 4 3 2.5 2 1.6 1.3 1"
SHORT_TIMES = "1.3 1.6 2 2.5 3 4 5 6 8 10 13 15 20 25 30 40 50 60 80 100 125 160 200 250 320 400 500 640 800"
SHORTEST_TIMES = "1000 1250 1600 2000 2500 3200 4000"
F_NUMBERS = "2.8 3.2 3.5 4 4.5 5 5.6 6.3 7.1 8 9 10 11 13 14 16 18 20 22 25 29 32"
ISO_SPEEDS = "64 80 100 125 160 200 250 320 400 500 640 800 1000 1250 1600 2000 2500 3200 4000 5000 6400"

EXPOSURE_TIMES = tuple(Fraction(text) for text in LONG_TIMES_S.split()) + tuple(
    1 / Fraction(text) for text in f"{SHORT_TIMES} {SHORTEST_TIMES}".split()
)

WHITE_BALANCES = {2: "automatic", 4: "daylight", 5: "fluorescent", 6: "tungsten", 7: "flash"}
FOCUS_MODES = {1: "manual", 2: "automatic"}
FLASH_MODES = {2: "off", 3: "fill", 6: "external sync"}
EXPOSURE_PROGRAMS = {1: "manual", 2: "automatic", 3: "aperture priority", 4: "shutter priority"}
FILE_FORMATS = {2: "jpeg", 4: "raw", 7: "raw+jpeg"}
"""CompressionSetting values as vendor extension 0x0000000A numbers them: fine JPEG, raw, both."""
LIVE_VIEW_ZOOMS = {0: 1.0, 1: 2.0, 2: 3.0, 3: 4.0, 4: 6.0, 5: 8.0}
"""Enlargement of the live picture by step, steps as the vendor extension numbers them."""


class RefusedSettingError(ValueError):
    """A setting that this camera lacks, or a value that no property offers."""


@dataclass(frozen=True)
class Property:
    """One device property: `table` maps wire values to the setting's values, or `limits` bounds them.

    `limits` are minimum, maximum and step on the wire; `per_unit` wire steps make one unit of the setting.
    """

    code: DevicePropCode
    setting: str
    data_type: DataType
    default: Setting
    table: tuple[tuple[int, Setting], ...] = ()
    limits: tuple[int, int, int] | None = None
    per_unit: int = 1
    writable: bool = True

    def form(self) -> Form:
        if self.table:
            return Form(FORM_ENUMERATION, tuple(wire for wire, _ in self.table))
        return Form(FORM_RANGE, self.limits) if self.limits else Form(FORM_NONE)

    def to_wire(self, value: Setting) -> int | str:
        """Wire value of a setting. Raises ValueError when the camera doesn't offer it."""
        for wire, offered in self.table:
            if same_setting(offered, value):
                return wire
        if self.table or (isinstance(value, str) and self.data_type != DataType.STR):
            raise RefusedSettingError(f"{self.setting} can't be {value}; it can be {self.offer_text()}.")
        if isinstance(value, str):
            return value
        wire = round(value * self.per_unit)
        if self.limits and not self.limits[0] <= wire <= self.limits[1]:
            raise RefusedSettingError(f"{self.setting} can't be {value}; it can be {self.offer_text()}.")
        return wire

    def from_wire(self, wire: int | str) -> Setting:
        """Setting of a wire value. Raises ValueError when it is outside the form."""
        for candidate, value in self.table:
            if candidate == wire:
                return value
        if self.table:
            raise RefusedSettingError(f"{self.setting} has no wire value {wire}")
        if isinstance(wire, str):
            return wire
        if self.limits and not self.limits[0] <= wire <= self.limits[1]:
            raise RefusedSettingError(f"{self.setting}: {wire} is outside {self.limits}")
        return wire / self.per_unit if self.per_unit > 1 else wire

    def offer_text(self) -> str:
        """The values offered, in words."""
        if self.table:
            return ", ".join(f"{value:.6g}" if isinstance(value, float) else str(value) for _, value in self.table)
        if self.limits:
            low, high, _ = self.limits
            return f"{low / self.per_unit:g} to {high / self.per_unit:g}"
        return "any text"


def same_setting(offered: Setting, value: Setting) -> bool:
    """Equal text, or numbers within 2 % (1/3 stop is 26 %), so 0.3333 finds 1/3 s and 5.6 finds f/5.6."""
    if isinstance(offered, str) or isinstance(value, str):
        return offered == value
    return abs(offered - value) <= 0.02 * abs(offered)


def words(code: DevicePropCode, setting: str, values: dict[int, str], default: str, data_type: DataType) -> Property:
    return Property(code, setting, data_type, default, tuple(values.items()))


def tenths_of_ms(time_s: Fraction) -> int:
    """A time in s as whole tenths of a ms, as ExposureTime counts (ISO 15740)."""
    return round(time_s * 10_000)


def fraction_word(time_s: Fraction) -> int:
    """Numerator in the high and denominator in the low half, 1/200 s = 0x000100C8."""
    return time_s.numerator << 16 | time_s.denominator


def exposure_table(encode: Callable[[Fraction], int]) -> tuple[tuple[int, Setting], ...]:
    return tuple((encode(time_s), float(time_s)) for time_s in EXPOSURE_TIMES)


def numbers(text: str, factor: int) -> tuple[tuple[int, Setting], ...]:
    return tuple((round(float(word) * factor), float(word) if factor > 1 else int(word)) for word in text.split())


STANDARD_PROPERTIES = (
    Property(DevicePropCode.BatteryLevel, "battery_percent", DataType.UINT8, 80, limits=(0, 100, 1), writable=False),
    words(DevicePropCode.CompressionSetting, "file_format", FILE_FORMATS, "jpeg", DataType.UINT8),
    words(DevicePropCode.WhiteBalance, "white_balance", WHITE_BALANCES, "flash", DataType.UINT16),
    Property(DevicePropCode.FNumber, "f_number", DataType.UINT16, 11.0, numbers(F_NUMBERS, 100)),
    words(DevicePropCode.FocusMode, "focus_mode", FOCUS_MODES, "manual", DataType.UINT16),
    words(DevicePropCode.FlashMode, "flash_mode", FLASH_MODES, "external sync", DataType.UINT16),
    Property(DevicePropCode.ExposureTime, "exposure_s", DataType.UINT32, 1 / 200, exposure_table(tenths_of_ms)),
    words(DevicePropCode.ExposureProgramMode, "exposure_program", EXPOSURE_PROGRAMS, "manual", DataType.UINT16),
    Property(DevicePropCode.ExposureIndex, "iso", DataType.UINT16, 100, numbers(ISO_SPEEDS, 1)),
    Property(
        DevicePropCode.ExposureBiasCompensation,
        "exposure_compensation_ev",
        DataType.INT16,
        0.0,
        tuple((round(third * 1000 / 3), third / 3) for third in range(-9, 10)),
    ),
    Property(DevicePropCode.DateTime, "date_time", DataType.STR, ""),
    Property(
        DevicePropCode.CaptureDelay,
        "capture_delay_s",
        DataType.UINT32,
        0.0,
        ((0, 0.0), (1000, 1.0), (2000, 2.0), (5000, 5.0), (10_000, 10.0)),
    ),
)

VENDOR_PROPERTIES = (
    Property(
        DevicePropCode.ExposureTimeFraction, "exposure_s", DataType.UINT32, 1 / 200, exposure_table(fraction_word)
    ),
    Property(DevicePropCode.LiveViewStatus, "live_view", DataType.UINT8, 0, limits=(0, 1, 1), writable=False),
    Property(DevicePropCode.LiveViewZoom, "live_view_zoom", DataType.UINT8, 1.0, tuple(LIVE_VIEW_ZOOMS.items())),
)
