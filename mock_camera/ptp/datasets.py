"""Datasets of the Picture Transfer Protocol, packed to bytes.

Everything is little-endian, as DC-005 asks of PTP over an IP network. Functions here only pack;
they hold no state. Source of every layout: the dataset of that name in ISO 15740:2013.
"""

import struct
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from mock_camera.ptp.codes import DataType, ObjectFormat

STRUCT_CODES = {
    DataType.INT8: "b",
    DataType.UINT8: "B",
    DataType.INT16: "h",
    DataType.UINT16: "H",
    DataType.INT32: "i",
    DataType.UINT32: "I",
    DataType.INT64: "q",
    DataType.UINT64: "Q",
}

FORM_NONE, FORM_RANGE, FORM_ENUMERATION = 0, 1, 2
MAX_STRING_UNITS = 255
"""Length byte of a PTP string: UTF-16 units with the closing zero."""

Value = int | str


class DatasetError(ValueError):
    """A value that a dataset can't hold, or bytes that are no such dataset."""


@dataclass(frozen=True)
class DeviceInfo:
    """DeviceInfo dataset; `capture_formats` and the rest are code numbers."""

    vendor_extension_id: int
    vendor_extension_description: str
    operations: Sequence[int]
    events: Sequence[int]
    properties: Sequence[int]
    capture_formats: Sequence[int]
    image_formats: Sequence[int]
    manufacturer: str
    model: str
    version: str
    serial: str


@dataclass(frozen=True)
class ObjectInfo:
    """ObjectInfo dataset. Sizes in bytes, pictures in px."""

    storage_id: int
    object_format: ObjectFormat
    size_bytes: int
    parent_handle: int
    name: str
    taken_at: datetime
    thumb_bytes: int = 0
    thumb_size_px: tuple[int, int] = (0, 0)
    image_size_px: tuple[int, int] = (0, 0)
    image_bit_depth: int = 0
    sequence_number: int = 0


@dataclass(frozen=True)
class Form:
    """Which values a property takes: an enumeration, or a range (minimum, maximum, step)."""

    kind: int
    values: tuple[Value, ...] = ()


def pack_value(data_type: DataType, value: Value) -> bytes:
    """One value of a simple type or a string. Raises struct.error when a number doesn't fit."""
    if isinstance(value, str):
        return pack_string(value)
    return struct.pack("<" + STRUCT_CODES[data_type], value)


def unpack_value(data_type: DataType, data: bytes) -> Value:
    """Inverse of pack_value. Raises ValueError when the length of `data` isn't that of the type."""
    try:
        if data_type == DataType.STR:
            return unpack_string(data)
        (number,) = struct.unpack("<" + STRUCT_CODES[data_type], data)
    except (struct.error, IndexError, ValueError) as error:
        raise DatasetError(f"{len(data)} bytes are no {data_type.name}") from error
    return int(number)


def pack_string(text: str) -> bytes:
    """PTP string: count of UTF-16 units with the closing zero, then these; "" is one zero byte."""
    if not text:
        return b"\0"
    encoded = text.encode("utf-16-le") + b"\0\0"
    if len(encoded) // 2 > MAX_STRING_UNITS:
        raise DatasetError(f"{text!r} is longer than a PTP string may be")
    return bytes([len(encoded) // 2]) + encoded


def unpack_string(data: bytes) -> str:
    """Inverse of pack_string; bytes after the string are ignored."""
    units = data[0]
    if len(data) < 1 + 2 * units:
        raise DatasetError(f"string of {units} units in {len(data)} bytes")
    return data[1 : 1 + 2 * units].decode("utf-16-le").rstrip("\0")


def pack_array(data_type: DataType, values: Sequence[int]) -> bytes:
    """Array: UINT32 count, then the elements."""
    code = STRUCT_CODES[data_type]
    return struct.pack(f"<I{len(values)}{code}", len(values), *values)


def pack_date_time(moment: datetime) -> str:
    """DateTime string, YYYYMMDDThhmmss and tenths, in the camera's own time."""
    return f"{moment:%Y%m%dT%H%M%S}.{moment.microsecond // 100_000}"


def unpack_date_time(text: str) -> datetime:
    """Naive moment of a DateTime string; tenths and zone are optional and dropped."""
    return datetime.strptime(text[:15], "%Y%m%dT%H%M%S")


def pack_device_info(info: DeviceInfo) -> bytes:
    """DeviceInfo dataset, StandardVersion 100 = 1.00."""
    return b"".join(
        (
            struct.pack("<HIH", 100, info.vendor_extension_id, 100),
            pack_string(info.vendor_extension_description),
            struct.pack("<H", 0),  # FunctionalMode: standard
            pack_array(DataType.UINT16, info.operations),
            pack_array(DataType.UINT16, info.events),
            pack_array(DataType.UINT16, info.properties),
            pack_array(DataType.UINT16, info.capture_formats),
            pack_array(DataType.UINT16, info.image_formats),
            pack_string(info.manufacturer),
            pack_string(info.model),
            pack_string(info.version),
            pack_string(info.serial),
        )
    )


def pack_storage_info(capacity_bytes: int, free_bytes: int, free_images: int, label: str) -> bytes:
    """StorageInfo dataset: removable RAM, DCF file system, read and write; capacity and room in bytes."""
    removable_ram, dcf, read_write = 0x0004, 0x0003, 0x0000
    head = struct.pack("<HHHQQI", removable_ram, dcf, read_write, capacity_bytes, free_bytes, free_images)
    return head + pack_string(label) + pack_string("")


def pack_object_info(info: ObjectInfo) -> bytes:
    """ObjectInfo dataset; an association is a generic folder."""
    folder = info.object_format == ObjectFormat.Association
    moment = pack_date_time(info.taken_at)
    return b"".join(
        (
            struct.pack("<IHHI", info.storage_id, info.object_format, 0, min(info.size_bytes, 0xFFFFFFFF)),
            struct.pack("<HIII", ObjectFormat.JFIF if info.thumb_bytes else 0, info.thumb_bytes, *info.thumb_size_px),
            struct.pack("<III", *info.image_size_px, info.image_bit_depth),
            struct.pack("<IHII", info.parent_handle, 1 if folder else 0, 0, info.sequence_number),
            pack_string(info.name),
            pack_string(moment),
            pack_string(moment),
            pack_string(""),
        )
    )


def pack_device_prop_desc(
    code: int, data_type: DataType, writable: bool, default: Value, current: Value, form: Form
) -> bytes:
    """DevicePropDesc dataset."""
    packed = [pack_value(data_type, value) for value in form.values]
    if form.kind == FORM_ENUMERATION:
        packed.insert(0, struct.pack("<H", len(form.values)))
    return b"".join(
        (
            struct.pack("<HHB", code, data_type, 1 if writable else 0),
            pack_value(data_type, default),
            pack_value(data_type, current),
            struct.pack("<B", form.kind),
            *packed,
        )
    )
