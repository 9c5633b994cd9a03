"""A body of extension 0x11: every property comes in one answer, and what is to be done is the press of a control.

A released picture waits in memory, one after the other at one handle; how many wait is a property. Where only the card
is asked for, nothing waits and nothing is told.
"""

import struct
from collections.abc import Mapping
from datetime import UTC, datetime
from fractions import Fraction
from typing import ClassVar

from mock_camera.body.cable import NO_TRANSACTION
from mock_camera.body.camera_body import CameraBody
from mock_camera.body.properties import EXPOSURE_TIMES
from mock_camera.played.extension import STANDARD_QUANTITIES, Answer, Extension
from mock_camera.played.played_properties import Quantity, fraction, parts_of, small_word
from mock_camera.ptp.codes import MEMORY_STORE, STORAGE_ID, DataType, EventCode, ObjectFormat, Response
from mock_camera.ptp.datasets import (
    FORM_ENUMERATION,
    FORM_RANGE,
    ObjectInfo,
    Value,
    pack_array,
    pack_object_info,
    pack_value,
)
from mock_camera.ptp.summary import Listed, Summary
from mock_camera.wire.host import Host, Parameters, Reply

CONNECT, DEVICE_INFO, SET_VALUE, CONTROL, ALL_PROPERTIES = 0x9201, 0x9202, 0x9205, 0x9207, 0x9209
F_NUMBER, FORMAT, EXPOSURE, WAITING, TARGET, ISO = 0x5007, 0x5004, 0xD20D, 0xD215, 0xD222, 0xD21E
NEW_FORMAT = 0xD253
HALF_PRESS, FULL_PRESS, FOCUS_STEP = 0xD2C1, 0xD2C2, 0xD2D1
FOCUS_FOUND = 0xD213
FOCUS_MODE = 0x500A
PRESSED = 2
IN_MEMORY_AT, LIVE_AT = 0xFFFFC001, 0xFFFFC002
MEMORY, CARD, BOTH = 0x01, 0x10, 0x11
OLD_VERSION, NEW_VERSION = 200, 300
FILES = {0x10: "raw", 0x13: "raw+jpeg"}
NEW_FILES = {1: "raw", 2: "raw+jpeg"}
WAITING_FLAG = 0x8000
F_NUMBERS = tuple(
    round(100 * number)
    for number in (1.4, 1.8, 2, 2.8, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22, 25, 29, 32)
)


def word_of(time: Fraction) -> int:
    """An exposure time as the body writes it: tenths below where it is a second or longer."""
    tenths = time * 10
    if time >= Fraction(3, 10) and tenths.denominator == 1:
        return (int(tenths) << 16) | 10
    return (1 << 16) | round(1 / time)


TIMES = tuple(word_of(time) for time in sorted(EXPOSURE_TIMES, reverse=True))
"""Longest first: a step up makes the exposure shorter."""


LIVE_INFO = ObjectInfo(MEMORY_STORE, ObjectFormat.EXIF_JPEG, 0, 0, "live.jpg", datetime(2026, 1, 1, tzinfo=UTC))


class Extension11(Extension):
    """Values that are set by steps walk along what is offered, else along the third stops."""

    quantities: ClassVar[Mapping[int, Quantity]] = {
        **STANDARD_QUANTITIES,
        EXPOSURE: ("exposure_s", fraction),
        ISO: ("iso", parts_of(1)),
    }
    in_memory_at = IN_MEMORY_AT

    def __init__(self, summary: Summary, body: CameraBody, makes: str = "") -> None:
        super().__init__(summary, body, makes)

    @staticmethod
    def listed_of(summary: Summary) -> list[Listed]:
        there = {one.code: one for one in summary.properties}
        there.pop(WAITING, None)
        own = (
            small_word(TARGET, DataType.UINT16, BOTH, (MEMORY, BOTH, CARD)),
            small_word(FOCUS_MODE, DataType.UINT16, 1, (1, 2)),
            small_word(FOCUS_FOUND, DataType.UINT8, 2),
            small_word(WAITING, DataType.UINT16, 0),
        )
        for one in own:
            there.setdefault(one.code, one)
        return list(there.values())

    def files_of_format(self) -> str:
        new, value = self.properties.value(NEW_FORMAT), self.properties.value(FORMAT)
        if isinstance(new, int):
            return NEW_FILES.get(new, "jpeg")
        return FILES.get(value, "jpeg") if isinstance(value, int) else "jpeg"

    def saves_in_memory(self) -> bool:
        ignores = self.body.faults.take("target_ignored")
        return bool(ignores) or self.properties.value(TARGET) == MEMORY

    def tell(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        if code == EventCode.ObjectAdded and self.properties.value(TARGET) != CARD:
            self._wait_in_memory(parameters[0])
        elif code == EventCode.StoreFull:
            self.cable.send_event(code, *parameters, transaction_id=transaction_id)

    def answers(self) -> dict[int, Answer]:
        return {
            CONNECT: self._connect,
            DEVICE_INFO: self._get_codes,
            SET_VALUE: self._set_value,
            CONTROL: self._control,
            ALL_PROPERTIES: self._get_all,
        }

    def object_info_in_memory(self, host: Host, parameters: Parameters, data: bytes, *, answer: Answer) -> Reply:
        if parameters[0] == LIVE_AT:
            return Reply(data=pack_object_info(LIVE_INFO))
        return super().object_info_in_memory(host, parameters, data, answer=answer)

    def object_in_memory(self, host: Host, parameters: Parameters, data: bytes, *, answer: Answer) -> Reply:
        if parameters[0] != LIVE_AT:
            return super().object_in_memory(host, parameters, data, answer=answer)
        if not self.body.live_view:
            host.viewfinder.switch(True)
        code, picture = host.viewfinder.frame()
        if code != Response.OK:
            return Reply(Response.AccessDenied)
        return Reply(data=struct.pack("<I", 8) + bytes(4) + picture)

    def _wait_in_memory(self, handle: int) -> None:
        """A copy of a picture on the card waits in memory, else the picture itself."""
        item = self.body.card.find(handle)
        if item is not None and item.info.storage_id == STORAGE_ID:
            number = int("".join(filter(str.isdigit, item.path.stem)))
            copy = self.body.card.save(
                number,
                item.path.suffix,
                item.path.read_bytes(),
                thumb=item.thumb,
                taken_at=item.info.taken_at,
                store=MEMORY_STORE,
            )
            self.in_memory.append(copy.handle)

    def _connect(self, _: Host, __: Parameters, ___: bytes) -> Reply:
        return Reply(data=bytes(8))

    def _get_codes(self, _: Host, __: Parameters, ___: bytes) -> Reply:
        is_new = self.properties.find(NEW_FORMAT) is not None
        own = [one.code for one in self.properties.all()]
        controls = [HALF_PRESS, FULL_PRESS, FOCUS_STEP]
        head = struct.pack("<H", NEW_VERSION if is_new else OLD_VERSION)
        return Reply(data=head + pack_array(DataType.UINT16, own) + pack_array(DataType.UINT16, controls))

    def property_codes(self) -> list[int]:
        """No codes: the host asks for them by another operation."""
        return []

    def _set_value(self, _: Host, parameters: Parameters, data: bytes) -> Reply:
        one = self.properties.find(parameters[0])
        if one is None:
            return Reply()  # who asks for priority over the body's dials, gets it
        return Reply(self.write(parameters[0], data[: len(pack_value(one.data_type, one.value))]))

    def _control(self, host: Host, parameters: Parameters, data: bytes) -> Reply:
        code = parameters[0]
        if code == FULL_PRESS:
            pressed = struct.unpack_from("<H", data)[0] == PRESSED
            return self.release(host) if pressed else Reply()
        if code == HALF_PRESS:
            return Reply()
        if code == FOCUS_STEP:
            return Reply(host.viewfinder.drive_focus(struct.unpack_from("<h", data)[0]))
        one = self.properties.find(code)
        if one is None:
            return Reply()
        steps = struct.unpack_from("<b", data)[0]
        return Reply(self._step(one, steps))

    def _step(self, one: Listed, steps: int) -> Response:
        values = _walk(one)
        if not values or not isinstance(one.value, int):
            return Response.InvalidDevicePropValue
        here = min(
            range(len(values)), key=lambda place: abs(_size(one.code, values[place]) - _size(one.code, one.value))
        )
        place = min(len(values) - 1, max(0, here + steps))
        return self.properties.write(one.code, values[place])

    def _get_all(self, _: Host, __: Parameters, ___: bytes) -> Reply:
        self.properties.put(WAITING, WAITING_FLAG + len(self.in_memory) if self.in_memory else 0)
        self.properties.take_changed()
        listed = self.properties.all()
        return Reply(data=struct.pack("<Q", len(listed)) + b"".join(_pack(one) for one in listed))


def _walk(one: Listed) -> tuple[int, ...]:
    offered = [value for value in one.form.values if isinstance(value, int)]
    if one.form.kind == FORM_ENUMERATION and offered:
        return tuple(offered)
    if one.code == EXPOSURE:
        return TIMES
    if one.code == F_NUMBER:
        return F_NUMBERS
    return ()


def _size(code: int, value: Value) -> float:
    if code == EXPOSURE and isinstance(value, int):
        return fraction(value) or 0.0
    return float(value)


def _pack(one: Listed) -> bytes:
    """The description of a property as this extension writes it: a byte more, and no default that differs."""
    value = pack_value(one.data_type, one.value)
    head = struct.pack("<HHBB", one.code, one.data_type, int(one.writable), 1 if one.writable else 2)
    values = b"".join(pack_value(one.data_type, each) for each in one.form.values)
    if one.form.kind == FORM_ENUMERATION:
        values = struct.pack("<H", len(one.form.values)) + values
    elif one.form.kind != FORM_RANGE:
        values = b""
    return head + value + value + struct.pack("<B", one.form.kind) + values
