"""Bytes of PTP datasets against the layouts of ISO 15740:2013, each written out here by hand.

Layouts and codes are values from memory of the standard's tables; real libgphoto2 reading the same
datasets (test_real_host.py) is the second check on them.
"""

import math
import struct
from datetime import UTC, datetime

import pytest

from mock_camera.body.properties import EXPOSURE_TIMES, STANDARD_PROPERTIES, VENDOR_PROPERTIES, fraction_word
from mock_camera.ptp.codes import DataType, DevicePropCode, ObjectFormat
from mock_camera.ptp.datasets import (
    FORM_ENUMERATION,
    FORM_NONE,
    FORM_RANGE,
    DeviceInfo,
    Form,
    ObjectInfo,
    pack_array,
    pack_date_time,
    pack_device_info,
    pack_device_prop_desc,
    pack_object_info,
    pack_storage_info,
    pack_string,
    unpack_date_time,
    unpack_string,
    unpack_value,
)

PROPERTIES = {item.code: item for item in (*STANDARD_PROPERTIES, *VENDOR_PROPERTIES)}


def test_string_is_counted_utf16_with_a_closing_zero() -> None:
    assert pack_string("AB") == bytes.fromhex("03 4100 4200 0000")
    assert pack_string("") == b"\0"
    assert unpack_string(bytes.fromhex("03 4100 4200 0000 ffff")) == "AB"


def test_string_of_more_than_254_characters_is_refused() -> None:
    assert len(pack_string("x" * 254)) == 1 + 255 * 2
    with pytest.raises(ValueError, match="longer"):
        pack_string("x" * 255)


def test_array_is_a_count_and_elements() -> None:
    assert pack_array(DataType.UINT16, [0x1001, 0x1002]) == bytes.fromhex("02000000 0110 0210")


def test_date_time_is_the_standards_basic_form() -> None:
    assert pack_date_time(datetime(2026, 3, 2, 9, 5, 7, 430_000, UTC)) == "20260302T090507.4"
    assert unpack_date_time("20260302T090507.4Z") == datetime(2026, 3, 2, 9, 5, 7)
    assert unpack_date_time("20260302T090507") == datetime(2026, 3, 2, 9, 5, 7)


def test_device_info_holds_its_arrays_and_strings_in_order() -> None:
    packed = pack_device_info(
        DeviceInfo(0x0A, "", [0x1001], [0x4002], [0x5007], [0x3801], [0x3801], "M", "N", "1", "S")
    )
    assert packed == bytes.fromhex(
        "6400 0a000000 6400 00 0000"  # StandardVersion, extension, its version, its description, mode
        "01000000 0110 01000000 0240 01000000 0750 01000000 0138 01000000 0138"
        "02 4d00 0000 02 4e00 0000 02 3100 0000 02 5300 0000"
    )


def test_object_info_of_a_jpeg() -> None:
    packed = pack_object_info(
        ObjectInfo(
            storage_id=0x00010001,
            object_format=ObjectFormat.EXIF_JPEG,
            size_bytes=0x123456,
            parent_handle=2,
            name="A",
            taken_at=datetime(2026, 3, 2, 9, 5, 7, tzinfo=UTC),
            thumb_bytes=0x200,
            thumb_size_px=(160, 120),
            image_size_px=(1536, 1024),
            image_bit_depth=24,
        )
    )
    head = struct.pack("<IHHI", 0x00010001, 0x3801, 0, 0x123456)
    thumb = struct.pack("<HIII", 0x3808, 0x200, 160, 120)
    image = struct.pack("<III", 1536, 1024, 24)
    place = struct.pack("<IHII", 2, 0, 0, 0)
    moment = pack_string("20260302T090507.0")
    assert packed == head + thumb + image + place + pack_string("A") + moment + moment + b"\0"


def test_storage_info_says_removable_dcf_and_counts_bytes_in_64_bits() -> None:
    packed = pack_storage_info(8 * 2**30, 5 * 2**30, 400, "")
    assert packed == struct.pack("<HHHQQI", 4, 3, 0, 8 * 2**30, 5 * 2**30, 400) + b"\0\0"


@pytest.mark.parametrize(
    ("form", "tail"),
    [
        (Form(FORM_NONE), "00"),
        (Form(FORM_RANGE, (0, 100, 5)), "01 0000 6400 0500"),
        (Form(FORM_ENUMERATION, (1, 2)), "02 0200 0100 0200"),
    ],
)
def test_property_description_ends_in_its_form(form: Form, tail: str) -> None:
    packed = pack_device_prop_desc(0x500F, DataType.UINT16, True, 100, 200, form)
    assert packed == bytes.fromhex("0f50 0400 01 6400 c800" + tail)


@pytest.mark.parametrize(
    ("code", "value", "wire"),
    [  # worked examples of ISO 15740's units: f-number x 100, seconds x 10 000, stops x 1000, ms
        (DevicePropCode.FNumber, 11.0, 1100),
        (DevicePropCode.FNumber, 16.0, 0x0640),
        (DevicePropCode.FNumber, 5.6, 0x0230),
        (DevicePropCode.ExposureTime, 1 / 200, 50),
        (DevicePropCode.ExposureTime, 1 / 125, 80),
        (DevicePropCode.ExposureTime, 1 / 160, 62),
        (DevicePropCode.ExposureTime, 1 / 320, 31),
        (DevicePropCode.ExposureTime, 30.0, 300_000),
        (DevicePropCode.ExposureBiasCompensation, -1 / 3, -333),
        (DevicePropCode.CaptureDelay, 2.0, 0x07D0),
        (DevicePropCode.CaptureDelay, 10.0, 0x2710),
        (DevicePropCode.WhiteBalance, "flash", 7),
        (DevicePropCode.FocusMode, "manual", 1),
        (DevicePropCode.FlashMode, "external sync", 6),
        (DevicePropCode.ExposureProgramMode, "manual", 1),
        (DevicePropCode.ExposureIndex, 100, 100),
        (DevicePropCode.ExposureTimeFraction, 1 / 200, 1 << 16 | 200),
        (DevicePropCode.ExposureTimeFraction, 1.3, 13 << 16 | 10),
    ],
)
def test_setting_has_the_wire_value_of_the_standard(code: DevicePropCode, value: float | str, wire: int) -> None:
    assert PROPERTIES[code].to_wire(value) == wire
    assert PROPERTIES[code].from_wire(wire) == value


@pytest.mark.parametrize("kind", PROPERTIES.values(), ids=lambda kind: kind.code.name)
def test_every_offered_value_goes_over_the_wire_and_back(kind: object) -> None:
    item = next(candidate for candidate in PROPERTIES.values() if candidate is kind)
    wires = [wire for wire, _ in item.table]
    assert len(set(wires)) == len(wires)
    for wire, value in item.table:
        assert item.to_wire(value) == wire
        assert item.from_wire(wire) == value
    if item.data_type != DataType.STR:
        assert item.from_wire(item.to_wire(item.default)) == item.default


def test_exposure_times_are_third_stops_within_a_tenth_of_a_stop() -> None:
    # Nominal times stand for 2 to the power of whole thirds (common practice, no source).
    thirds = [-3 * math.log2(time_s) for time_s in EXPOSURE_TIMES]
    assert all(abs(third - round(third)) < 0.3 for third in thirds)
    assert [round(third) for third in thirds] == list(range(-15, 37))


def test_fractional_exposure_time_is_exact_for_every_offered_time() -> None:
    for time_s in EXPOSURE_TIMES:
        word = fraction_word(time_s)
        assert (word >> 16) / (word & 0xFFFF) == float(time_s)


def test_value_of_a_wrong_length_is_refused() -> None:
    for data_type, data in ((DataType.UINT16, b"\1"), (DataType.UINT32, b"\1\0\0"), (DataType.STR, b"\5a")):
        with pytest.raises(ValueError, match="bytes are no"):
            unpack_value(data_type, data)
