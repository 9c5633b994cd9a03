"""A played body without an extension of its own: ISO 15740 only. The extensions build on it.

The extension stands between body and wire: what the body announces goes to the host as this kind of body tells it.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import ClassVar

from mock_camera.body.cable import NO_TRANSACTION, Cable
from mock_camera.body.camera_body import CameraBody
from mock_camera.body.capture import Capture
from mock_camera.body.memory_card import StoredObject
from mock_camera.played.played_properties import Properties, Quantity, parts_of
from mock_camera.ptp.codes import MEMORY_STORE, STORAGE_ID, EventCode, ObjectFormat, Operation, Response
from mock_camera.ptp.datasets import (
    DeviceInfo,
    Value,
    pack_device_info,
    pack_object_info,
    pack_value,
    unpack_value,
)
from mock_camera.ptp.summary import Listed, Summary
from mock_camera.wire.device_answers import MANUFACTURER, VERSION
from mock_camera.wire.host import Host, Parameters, Reply

Answer = Callable[[Host, Parameters, bytes], Reply]

STANDARD_QUANTITIES: dict[int, Quantity] = {
    0x5007: ("f_number", parts_of(100)),
    0x500D: ("exposure_s", parts_of(10_000)),
    0x500F: ("iso", parts_of(1)),
}


class Extension:
    """One kind of body. `makes`: the files of a release, `raw+jpeg` and such; "": as the body's format says."""

    quantities: ClassVar[Mapping[int, Quantity]] = STANDARD_QUANTITIES
    in_memory_at = 0
    """The handle by which the host asks for the oldest picture in the body's memory; 0: each has its own."""

    def __init__(self, summary: Summary, body: CameraBody, makes: str = "") -> None:
        self.number = summary.extension
        self.body = body
        self.makes = makes
        self.cable: Cable = body.cable
        self.properties = Properties(self.listed_of(summary), body, self.quantities)
        self.in_memory: list[int] = []

    # what an extension says otherwise ---------------------------------------------------------------

    @staticmethod
    def listed_of(summary: Summary) -> list[Listed]:
        """The properties that the body has."""
        return list(summary.properties)

    def answers(self) -> dict[int, Answer]:
        """Operations that this kind of body answers in its own way, or has beside the standard's."""
        return {}

    def files_of_format(self) -> str:
        """The files of a release by the format that is set: `jpeg`, `raw` or `raw+jpeg`."""
        return "jpeg"

    def saves_in_memory(self) -> bool:
        """Whether the next picture goes to the body's memory, not to the card."""
        return False

    def tell(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        """Tell the host of an event, in this body's way."""
        self.cable.send_event(code, *parameters, transaction_id=transaction_id)

    def release(self, host: Host) -> Reply:
        """Let the shutter go, unless a fault has the body say that it is busy."""
        if self.body.faults.take("busy", operation=Operation.InitiateCapture.name):
            return Reply(Response.DeviceBusy)
        return Reply(host.capture.release(host.transaction_id))

    # the cable, as the body sees it -----------------------------------------------------------------

    def send_event(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        """An event of the body; a picture in memory is also kept for the host to ask for."""
        if code == EventCode.ObjectAdded:
            item = self.body.card.find(parameters[0])
            if item is not None and item.info.storage_id == MEMORY_STORE:
                self.in_memory.append(item.handle)
        self.tell(code, *parameters, transaction_id=transaction_id)

    def cut(self, reconnect_after_s: float) -> None:
        """Drop the host, and refuse the next host for `reconnect_after_s` seconds."""
        self.cable.cut(reconnect_after_s)

    def lose_events(self) -> None:
        self.cable.lose_events()

    def join(self, body: CameraBody, capture: Capture) -> None:
        """Stand between the body and its cable, and say what releases make and where it goes."""
        self.cable, body.cable = body.cable, self
        capture.kinds_of_release = lambda: tuple((self.makes or self.files_of_format()).split("+"))
        capture.store_of_release = lambda: MEMORY_STORE if self.saves_in_memory() else STORAGE_ID

    # the standard's operations on properties and objects ---------------------------------------------

    def all_answers(self, standard: Mapping[int, Answer]) -> dict[int, Answer]:
        """Every operation of the body."""
        return {
            **standard,
            Operation.GetDeviceInfo: self.get_device_info,
            Operation.GetDevicePropDesc: self.get_property_description,
            Operation.GetDevicePropValue: self.get_property,
            Operation.SetDevicePropValue: self.set_property,
            Operation.GetObjectInfo: partial(self.object_info_in_memory, answer=standard[Operation.GetObjectInfo]),
            Operation.GetObject: partial(self.object_in_memory, answer=standard[Operation.GetObject]),
            **self.answers(),
        }

    def property_codes(self) -> list[int]:
        """The codes that DeviceInfo names."""
        return [one.code for one in self.properties.all()]

    def get_device_info(self, host: Host, _: Parameters, __: bytes) -> Reply:
        formats = (ObjectFormat.EXIF_JPEG, ObjectFormat.TIFF_EP)
        info = DeviceInfo(
            vendor_extension_id=self.number,
            vendor_extension_description="",
            operations=host.operations,
            events=list(EventCode),
            properties=self.property_codes(),
            capture_formats=formats,
            image_formats=(*formats, ObjectFormat.Association, ObjectFormat.JFIF),
            manufacturer=MANUFACTURER,
            model=self.body.options.model,
            version=VERSION,
            serial=self.body.options.serial,
        )
        return Reply(data=pack_device_info(info))

    def get_property_description(self, _: Host, parameters: Parameters, __: bytes) -> Reply:
        described = self.properties.description(parameters[0])
        return Reply(Response.DevicePropNotSupported) if described is None else Reply(data=described)

    def get_property(self, _: Host, parameters: Parameters, __: bytes) -> Reply:
        one = self.properties.find(parameters[0])
        if one is None:
            return Reply(Response.DevicePropNotSupported)
        return Reply(data=pack_value(one.data_type, one.value))

    def set_property(self, _: Host, parameters: Parameters, data: bytes) -> Reply:
        return Reply(self.write(parameters[0], data))

    def write(self, code: int, data: bytes) -> Response:
        """Set a property by the bytes that the host sent."""
        one = self.properties.find(code)
        if one is None:
            return Response.DevicePropNotSupported
        try:
            value: Value = unpack_value(one.data_type, data)
        except ValueError:
            return Response.InvalidDevicePropFormat
        return self.properties.write(code, value)

    def object_info_in_memory(self, host: Host, parameters: Parameters, data: bytes, *, answer: Answer) -> Reply:
        """GetObjectInfo, also of the oldest picture in memory: it lies in no folder."""
        item = self._asked_in_memory(parameters)
        if parameters[0] != self.in_memory_at:
            return answer(host, parameters, data)
        return Reply(data=pack_object_info(replace(item.info, parent_handle=0))) if item else GONE

    def object_in_memory(self, host: Host, parameters: Parameters, data: bytes, *, answer: Answer) -> Reply:
        """GetObject, also of the oldest picture in memory, which is gone there once the host has it."""
        item = self._asked_in_memory(parameters)
        if parameters[0] != self.in_memory_at:
            return answer(host, parameters, data)
        if item is None:
            return GONE
        reply = Reply(data=host.read(item, 0, item.info.size_bytes))
        self.forget_in_memory(item.handle)
        return reply

    def _asked_in_memory(self, parameters: Parameters) -> StoredObject | None:
        asked = self.in_memory_at and parameters[0] == self.in_memory_at
        return self.body.card.find(self.in_memory[0]) if asked and self.in_memory else None

    def forget_in_memory(self, handle: int) -> None:
        """The host has this picture: it is gone in the body's memory."""
        if handle in self.in_memory:
            self.in_memory.remove(handle)
            self.body.card.delete(handle)


GONE = Reply(Response.InvalidObjectHandle)
