"""A body of extension 0x0E: buttons are a property, states are asked for, and new pictures are found by listing them.

Exposure times are in microseconds. Nothing tells that a release is done.
"""

import struct
from collections.abc import Mapping
from typing import ClassVar

from mock_camera.body.cable import NO_TRANSACTION
from mock_camera.body.camera_body import CameraBody
from mock_camera.played.extension import STANDARD_QUANTITIES, Answer, Extension
from mock_camera.played.played_properties import Quantity, parts_of, small_word
from mock_camera.ptp.codes import ALL_STORES, DataType, EventCode, ObjectFormat, Operation
from mock_camera.ptp.datasets import pack_array
from mock_camera.ptp.summary import Listed, Summary
from mock_camera.wire import object_answers
from mock_camera.wire.host import Host, Parameters, Reply

FORMAT, PRIORITY, BUTTON, FOCUS_STATE, CHANGES = 0xD018, 0xD207, 0xD208, 0xD209, 0xD212
BATTERY_STATE = 0xD20E
FULL_PRESS = 0x0304
IN_FOCUS = 2
FILES = {1: "raw", 4: "raw+jpeg", 5: "raw+jpeg"}


MINUTES_FROM, MINUTES_STEP = 64_000_000, 30
"""Times of two minutes and longer: thirty for each doubling, beginning with one minute."""


def exposure_s(number: int) -> float | None:
    """Seconds (s) of microseconds; above a minute, of doublings; None for bulb."""
    doublings, rest = divmod(number - MINUTES_FROM, MINUTES_STEP)
    if 0 < doublings < 10 and not rest:
        return 60.0 * (1 << doublings)
    return parts_of(1_000_000)(number)


class Extension0E(Extension):
    """A body that lists the files released since the host connected to a host that lists all stores."""

    quantities: ClassVar[Mapping[int, Quantity]] = {**STANDARD_QUANTITIES, 0x500D: ("exposure_s", exposure_s)}

    def __init__(self, summary: Summary, body: CameraBody, makes: str = "") -> None:
        super().__init__(summary, body, makes)
        self._made: list[int] = []

    @staticmethod
    def listed_of(summary: Summary) -> list[Listed]:
        own = (
            small_word(PRIORITY, DataType.UINT16, 1),
            small_word(BUTTON, DataType.UINT16, 0),
            small_word(FOCUS_STATE, DataType.UINT16, IN_FOCUS),
            small_word(CHANGES, DataType.UINT16, 1),
        )
        codes = {one.code for one in own}
        return [*(one for one in summary.properties if one.code not in codes), *own]

    def files_of_format(self) -> str:
        value = self.properties.value(FORMAT)
        return FILES.get(value, "jpeg") if isinstance(value, int) else "jpeg"

    def tell(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        if code == EventCode.ObjectAdded:
            self._made.append(parameters[0])
        elif code == EventCode.StoreFull:
            self.cable.send_event(code, *parameters, transaction_id=transaction_id)

    def answers(self) -> dict[int, Answer]:
        return {
            Operation.InitiateCapture: self._press,
            Operation.GetObjectHandles: self._get_handles,
            Operation.GetDevicePropValue: self._get_value,
        }

    def _press(self, host: Host, _: Parameters, __: bytes) -> Reply:
        if self.properties.value(BUTTON) != FULL_PRESS:
            return Reply()
        return self.release(host)

    def _get_handles(self, host: Host, parameters: Parameters, data: bytes) -> Reply:
        if parameters[0] != ALL_STORES or parameters[2]:
            return object_answers.get_object_handles(host, parameters, data)
        there = {item.handle for item in host.body.card if item.info.object_format != ObjectFormat.Association}
        return Reply(data=pack_array(DataType.UINT32, [handle for handle in self._made if handle in there]))

    def _get_value(self, host: Host, parameters: Parameters, data: bytes) -> Reply:
        if parameters[0] != CHANGES:
            return self.get_property(host, parameters, data)
        codes = [BATTERY_STATE, *self.properties.take_changed()]
        packed = b"".join(struct.pack("<HI", code, 0) for code in codes)
        return Reply(data=struct.pack("<H", len(codes)) + packed)
