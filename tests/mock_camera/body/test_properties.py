"""Device properties: every value offered goes over the wire and back, and what is not offered is refused in words."""

from fractions import Fraction
from itertools import pairwise

import pytest

from mock_camera.body.properties import (
    EXPOSURE_TIMES,
    STANDARD_PROPERTIES,
    VENDOR_PROPERTIES,
    Property,
    RefusedSettingError,
    Setting,
    fraction_word,
    same_setting,
    tenths_of_ms,
)
from mock_camera.ptp.codes import DataType, DevicePropCode
from mock_camera.ptp.datasets import FORM_ENUMERATION, FORM_NONE, FORM_RANGE, pack_value

ALL = (*STANDARD_PROPERTIES, *VENDOR_PROPERTIES)
BY_CODE = {one.code: one for one in ALL}
by_name = pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.code.name)


@by_name
def test_every_value_offered_fits_its_type_and_comes_back_as_itself(kind: Property) -> None:
    for wire, value in kind.table:
        assert kind.from_wire(wire) == value
        assert kind.from_wire(kind.to_wire(value)) == value
        assert pack_value(kind.data_type, wire)


@by_name
def test_the_default_is_offered(kind: Property) -> None:
    if kind.table:
        assert any(same_setting(value, kind.default) for _, value in kind.table)
    assert kind.from_wire(kind.to_wire(kind.default)) == kind.default


@by_name
def test_the_form_says_what_may_be_set(kind: Property) -> None:
    form = kind.form()
    assert form.kind == (FORM_ENUMERATION if kind.table else FORM_RANGE if kind.limits else FORM_NONE)
    if kind.table:
        assert len(set(form.values)) == len(form.values) == len(kind.table), "no wire value stands for two"


@pytest.mark.parametrize(
    ("code", "value", "said"),
    [
        (DevicePropCode.FNumber, 12.0, "f_number can't be 12.0; it can be 2.8, 3.2, 3.5, 4,"),
        (DevicePropCode.FocusMode, "by eye", "focus_mode can't be by eye; it can be manual, automatic."),
        (DevicePropCode.BatteryLevel, 101, "battery_percent can't be 101; it can be 0 to 100."),
        (DevicePropCode.BatteryLevel, "full", "battery_percent can't be full; it can be 0 to 100."),
        (DevicePropCode.ExposureIndex, 90, "iso can't be 90; it can be 64, 80, 100,"),
    ],
)
def test_what_is_not_offered_is_refused_with_what_is(code: DevicePropCode, value: Setting, said: str) -> None:
    with pytest.raises(RefusedSettingError) as refused:
        BY_CODE[code].to_wire(value)
    assert str(refused.value).startswith(said)


@pytest.mark.parametrize(
    ("code", "wire"),
    [(DevicePropCode.FNumber, 1234), (DevicePropCode.BatteryLevel, 101), (DevicePropCode.FocusMode, 9)],
)
def test_a_wire_value_outside_the_form_is_refused(code: DevicePropCode, wire: int) -> None:
    with pytest.raises(RefusedSettingError):
        BY_CODE[code].from_wire(wire)


def test_text_goes_through_as_it_is() -> None:
    dial = BY_CODE[DevicePropCode.DateTime]
    assert dial.to_wire("20260504T110000") == dial.from_wire("20260504T110000") == "20260504T110000"
    assert dial.offer_text() == "any text"


@pytest.mark.parametrize(
    ("offered", "value", "same"),
    [
        (1 / 3, 0.3333, True),
        (5.6, 5.7, True),
        (5.6, 6.3, False),
        ("manual", "manual", True),
        ("1", 1, False),
        (0, 0, True),
    ],
)
def test_a_number_is_found_by_two_per_cent_and_a_word_by_itself(offered: Setting, value: Setting, same: bool) -> None:
    assert same_setting(offered, value) is same


def test_exposure_times_are_third_stops_on_either_side_of_a_second() -> None:
    times = sorted(EXPOSURE_TIMES)
    assert (times[0], times[-1]) == (Fraction(1, 4000), 30)
    assert len(set(times)) == len(times)
    ratios = [float(b / a) for a, b in pairwise(times)]
    assert max(ratios) < 1.37 and min(ratios) > 1.15, "engraved values, rounded: ISO 516"


@pytest.mark.parametrize(
    ("time_s", "tenths", "word"), [(Fraction(1, 200), 50, 0x000100C8), (Fraction(2), 20_000, 0x00020001)]
)
def test_a_time_has_two_views_on_the_wire(time_s: Fraction, tenths: int, word: int) -> None:
    """ExposureTime counts 0.1 ms (ISO 15740); the vendor's is numerator over denominator."""
    assert (tenths_of_ms(time_s), fraction_word(time_s)) == (tenths, word)


def test_a_property_in_parts_of_a_unit_is_told_in_units() -> None:
    delay = Property(DevicePropCode.CaptureDelay, "delay_s", DataType.UINT32, 0.0, limits=(0, 10_000, 1), per_unit=1000)
    assert delay.to_wire(2.5) == 2500 and delay.from_wire(2500) == 2.5
    assert delay.offer_text() == "0 to 10"
    with pytest.raises(RefusedSettingError, match="it can be 0 to 10"):
        delay.to_wire(10.1)
