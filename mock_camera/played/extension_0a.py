"""A body of extension 0x0A: events are asked for, a release names where the picture goes, focus is driven in steps."""

import struct
from collections.abc import Mapping
from dataclasses import replace
from typing import ClassVar

from mock_camera.body.cable import NO_TRANSACTION
from mock_camera.body.camera_body import CameraBody
from mock_camera.played.extension import STANDARD_QUANTITIES, Answer, Extension
from mock_camera.played.played_properties import Quantity, fraction, small_word
from mock_camera.ptp.codes import DataType, EventCode
from mock_camera.ptp.summary import Listed, Summary
from mock_camera.wire import device_answers
from mock_camera.wire.host import Host, Parameters, Reply

RELEASE_INTO_MEMORY, GET_EVENTS, DEVICE_READY = 0x90C0, 0x90C7, 0x90C8
START_LIVE_VIEW, END_LIVE_VIEW, GET_LIVE_PICTURE, DRIVE_FOCUS, RELEASE = 0x9201, 0x9202, 0x9203, 0x9204, 0x9207
EXPOSURE_TIME, LIVE_VIEW_STATUS, FORMAT = 0xD100, 0xD1A2, 0x5004
IN_MEMORY_AT = 0xFFFF0001
ADDED_IN_MEMORY, COMPLETE_IN_MEMORY = 0xC101, 0xC102
FILES = {4: "raw", 5: "raw+jpeg", 6: "raw+jpeg", 7: "raw+jpeg"}


class Extension0A(Extension):
    """Pictures released into memory are told of as such, and are at one handle."""

    quantities: ClassVar[Mapping[int, Quantity]] = {**STANDARD_QUANTITIES, EXPOSURE_TIME: ("exposure_s", fraction)}
    in_memory_at = IN_MEMORY_AT

    def __init__(self, summary: Summary, body: CameraBody, makes: str = "") -> None:
        super().__init__(summary, body, makes)
        self._events: list[tuple[int, int]] = []
        self._into_memory = False

    @staticmethod
    def listed_of(summary: Summary) -> list[Listed]:
        there = [one for one in summary.properties if one.code != LIVE_VIEW_STATUS]
        return [*there, replace(small_word(LIVE_VIEW_STATUS, DataType.UINT8, 0), writable=False)]

    def files_of_format(self) -> str:
        value = self.properties.value(FORMAT)
        return FILES.get(value, "jpeg") if isinstance(value, int) else "jpeg"

    def saves_in_memory(self) -> bool:
        return self._into_memory or bool(self.body.faults.take("target_ignored"))

    def tell(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        parameter = parameters[0] if parameters else 0
        if code == EventCode.ObjectAdded and parameter in self.in_memory:
            self._events.append((ADDED_IN_MEMORY, IN_MEMORY_AT))
        elif code == EventCode.CaptureComplete and self._into_memory:
            self._events.append((COMPLETE_IN_MEMORY, parameter))
        else:
            self._events.append((code, parameter))

    def answers(self) -> dict[int, Answer]:
        return {
            GET_EVENTS: self._get_events,
            DEVICE_READY: device_answers.device_ready,
            START_LIVE_VIEW: self._switch_live_view,
            END_LIVE_VIEW: self._end_live_view,
            GET_LIVE_PICTURE: device_answers.get_live_view_image,
            DRIVE_FOCUS: device_answers.drive_manual_focus,
            RELEASE: self._release,
            RELEASE_INTO_MEMORY: self._release_into_memory,
        }

    def _get_events(self, _: Host, __: Parameters, ___: bytes) -> Reply:
        self._events += [(EventCode.DevicePropChanged, code) for code in self.properties.take_changed()]
        events, self._events = self._events, []
        packed = b"".join(struct.pack("<HI", code, parameter) for code, parameter in events)
        return Reply(data=struct.pack("<H", len(events)) + packed)

    def _switch_live_view(self, host: Host, _: Parameters, __: bytes) -> Reply:
        response = host.viewfinder.switch(True)
        self.properties.put(LIVE_VIEW_STATUS, int(self.body.live_view))
        return Reply(response)

    def _end_live_view(self, host: Host, _: Parameters, __: bytes) -> Reply:
        response = host.viewfinder.switch(False)
        self.properties.put(LIVE_VIEW_STATUS, int(self.body.live_view))
        return Reply(response)

    def _release(self, host: Host, parameters: Parameters, _: bytes) -> Reply:
        """Parameters: automatic focus, and 1 for the memory, 0 for the card."""
        self._into_memory = parameters[1] == 1
        return self.release(host)

    def _release_into_memory(self, host: Host, _: Parameters, __: bytes) -> Reply:
        self._into_memory = True
        return self.release(host)
