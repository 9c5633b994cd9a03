"""The protocol's numbers: within the standard's ranges, told apart from the vendor's, and how a script names them."""

from enum import IntEnum

import pytest

from mock_camera.ptp.codes import (
    VENDOR_OPERATIONS,
    DataType,
    DevicePropCode,
    EventCode,
    ObjectFormat,
    Operation,
    Response,
    struck_as,
)

# Ranges of ISO 15740:2013, clause on data codes: the second hexadecimal digit's high bit marks a vendor's.
RANGES: list[tuple[type[IntEnum], int, int]] = [
    (Operation, 0x1000, 0x9000),
    (Response, 0x2000, 0xA000),
    (EventCode, 0x4000, 0xC000),
    (DevicePropCode, 0x5000, 0xD000),
]


@pytest.mark.parametrize(("codes", "standard", "vendor"), RANGES, ids=lambda value: getattr(value, "__name__", ""))
def test_every_code_lies_in_the_standards_or_the_vendors_range(
    codes: type[IntEnum], standard: int, vendor: int
) -> None:
    for code in codes:
        assert standard <= code < standard + 0x1000 or vendor <= code < vendor + 0x1000, code.name
    assert len({int(code) for code in codes}) == len(codes)


def test_the_vendors_operations_are_those_beyond_the_standards() -> None:
    assert {Operation.StartLiveView, Operation.DriveManualFocus, Operation.DeviceReady} <= VENDOR_OPERATIONS
    assert Operation.InitiateCapture not in VENDOR_OPERATIONS


def test_formats_and_types_are_the_standards() -> None:
    assert ObjectFormat.EXIF_JPEG == 0x3801 and DataType.STR == 0xFFFF
    assert [int(kind) for kind in list(DataType)[:-1]] == list(range(1, 9))


@pytest.mark.parametrize(
    ("code", "parameters", "name"),
    [
        (Operation.GetObject, (1,), "GetObject"),
        (Operation.GetPartialObject, (1, 0, 1024), "GetObject"),  # the first part counts as the whole
        (Operation.GetPartialObject, (1,), "GetObject"),
        (Operation.GetPartialObject, (1, 1024, 1024), "GetPartialObject"),
        (Operation.InitiateCapture, (), "InitiateCapture"),
        (0x1234, (), ""),
    ],
)
def test_a_script_of_faults_names_operations_as_a_person_sees_them(
    code: int, parameters: tuple[int, ...], name: str
) -> None:
    assert struck_as(code, parameters) == name
