"""Answers to PTP operations: one function for each, in one table.

A Reply is a response code with parameters and, for operations that send data to the initiator, the
data. Nothing here knows packets; `wire.py` carries requests in and replies out.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from mock_camera.body import Body
from mock_camera.card import CardObject
from mock_camera.codes import (
    ALL_STORES,
    ROOT_HANDLE,
    STORAGE_ID,
    VENDOR_EXTENSION_ID,
    VENDOR_OPERATIONS,
    DataType,
    Event,
    ObjectFormat,
    Operation,
    Response,
)
from mock_camera.ptp import (
    DeviceInfo,
    pack_array,
    pack_device_info,
    pack_device_prop_desc,
    pack_object_info,
    pack_storage_info,
    pack_value,
    unpack_value,
)
from mock_camera.shutter import Shutter

MANUFACTURER = "Invented Optical Works"
VERSION = "1.0"
NEARER, FARTHER = 1, 2
"""Direction of DriveManualFocus in vendor extension 0x0000000A: towards the camera, or away from it."""


@dataclass(frozen=True)
class Reply:
    """What goes back. `data` None: no data phase."""

    code: Response = Response.OK
    parameters: tuple[int, ...] = ()
    data: bytes | None = None


@dataclass
class Responder:
    """Runs operations on the body, one at a time, for one connection."""

    body: Body
    shutter: Shutter
    session_open: bool = False
    _cut_files: dict[int, int] = field(default_factory=dict)

    def operations(self) -> list[Operation]:
        return [code for code in ANSWERS if not (self.body.options.plain and code in VENDOR_OPERATIONS)]

    def answer(self, code: int, parameters: tuple[int, ...], data: bytes) -> Reply:
        """Run one operation; `parameters` may be shorter than the operation has, the rest are 0."""
        if code not in self.operations():
            return Reply(Response.OperationNotSupported)
        operation = Operation(code)
        if not self.session_open and operation not in (Operation.GetDeviceInfo, Operation.OpenSession):
            return Reply(Response.SessionNotOpen)
        if self.body.faults.take("busy", operation=operation.name):
            return Reply(Response.DeviceBusy)
        return ANSWERS[operation](self, (*parameters, 0, 0, 0, 0, 0)[:5], data)

    def shown_file(self, item: CardObject, offset: int) -> bytes:
        """Bytes of a file as the wire will carry them: whole, unless a fault shortens this transfer."""
        if offset == 0:
            self._cut_files.pop(item.handle, None)
            short = self.body.faults.take("truncated_file", where="transfer")
            if short:
                self._cut_files[item.handle] = round(item.info.size_bytes * short.number("share"))
            if self.body.faults.take("empty_file", where="transfer"):
                self._cut_files[item.handle] = 0
        return item.path.read_bytes()[: self._cut_files.get(item.handle)]


Parameters = tuple[int, ...]


def get_device_info(responder: Responder, _: Parameters, __: bytes) -> Reply:
    options = responder.body.options
    formats = (ObjectFormat.EXIF_JPEG, ObjectFormat.TIFF_EP)
    return Reply(
        data=pack_device_info(
            DeviceInfo(
                vendor_extension_id=0 if options.plain else VENDOR_EXTENSION_ID,
                vendor_extension_description="",
                operations=responder.operations(),
                events=list(Event),
                properties=list(responder.body.properties),
                capture_formats=formats,
                image_formats=(*formats, ObjectFormat.Association, ObjectFormat.JFIF),
                manufacturer=MANUFACTURER,
                model=options.model,
                version=VERSION,
                serial=options.serial,
            )
        )
    )


def open_session(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    if responder.session_open:
        return Reply(Response.SessionAlreadyOpen)
    if not parameters[0]:
        return Reply(Response.InvalidParameter)
    responder.session_open = True
    return Reply()


def close_session(responder: Responder, _: Parameters, __: bytes) -> Reply:
    responder.session_open = False
    if responder.body.live_view:
        responder.body.set_live_view(False)
    return Reply()


def get_storage_ids(_: Responder, __: Parameters, ___: bytes) -> Reply:
    return Reply(data=pack_array(DataType.UINT32, [STORAGE_ID]))


def get_storage_info(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    if parameters[0] != STORAGE_ID:
        return Reply(Response.InvalidStorageID)
    card = responder.body.card
    return Reply(
        data=pack_storage_info(card.capacity_bytes, card.free_bytes(), responder.shutter.room_frames(), "card")
    )


def listed(responder: Responder, parameters: Parameters) -> list[int] | Response:
    """Handles asked for by (store, format, parent) as GetNumObjects and GetObjectHandles take them."""
    store, object_format, parent = parameters[:3]
    if store not in (STORAGE_ID, ALL_STORES):
        return Response.InvalidStorageID
    wanted = 0 if parent == ROOT_HANDLE else parent
    return [
        item.handle
        for item in responder.body.card
        if object_format in (0, item.info.object_format) and (not parent or item.parent == wanted)
    ]


def get_num_objects(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    handles = listed(responder, parameters)
    return Reply(handles) if isinstance(handles, Response) else Reply(parameters=(len(handles),))


def get_object_handles(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    handles = listed(responder, parameters)
    return Reply(handles) if isinstance(handles, Response) else Reply(data=pack_array(DataType.UINT32, handles))


def get_object_info(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    item = responder.body.card.find(parameters[0])
    return Reply(data=pack_object_info(item.info)) if item else Reply(Response.InvalidObjectHandle)


def file_at(responder: Responder, handle: int) -> CardObject | None:
    item = responder.body.card.find(handle)
    return item if item and item.info.object_format != ObjectFormat.Association else None


def get_object(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    item = file_at(responder, parameters[0])
    return Reply(data=responder.shown_file(item, 0)) if item else Reply(Response.InvalidObjectHandle)


def get_partial_object(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    handle, offset, count = parameters[:3]
    item = file_at(responder, handle)
    if not item:
        return Reply(Response.InvalidObjectHandle)
    part = responder.shown_file(item, offset)[offset : offset + count]
    return Reply(parameters=(len(part),), data=part)


def get_thumb(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    item = file_at(responder, parameters[0])
    if not item:
        return Reply(Response.InvalidObjectHandle)
    return Reply(data=item.thumb) if item.thumb else Reply(Response.NoThumbnailPresent)


def delete_object(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    card = responder.body.card
    if parameters[0] == ROOT_HANDLE:
        card.format()
    elif card.find(parameters[0]):
        card.delete(parameters[0])
    else:
        return Reply(Response.InvalidObjectHandle)
    return Reply()


def format_store(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    if parameters[0] != STORAGE_ID:
        return Reply(Response.InvalidStorageID)
    responder.body.card.format()
    return Reply()


def initiate_capture(responder: Responder, _: Parameters, __: bytes) -> Reply:
    return Reply(responder.shutter.release())


def get_device_prop_desc(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    kind = responder.body.property_at(parameters[0])
    if not kind:
        return Reply(Response.DevicePropNotSupported)
    current = kind.to_wire(responder.body.setting(kind.setting))
    default = kind.to_wire(kind.default)
    return Reply(
        data=pack_device_prop_desc(kind.code, kind.data_type, kind.writable, default, current, kind.form())
    )


def get_device_prop_value(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    kind = responder.body.property_at(parameters[0])
    if not kind:
        return Reply(Response.DevicePropNotSupported)
    return Reply(data=pack_value(kind.data_type, kind.to_wire(responder.body.setting(kind.setting))))


def set_device_prop_value(responder: Responder, parameters: Parameters, data: bytes) -> Reply:
    kind = responder.body.property_at(parameters[0])
    if not kind:
        return Reply(Response.DevicePropNotSupported)
    try:
        wire = unpack_value(kind.data_type, data)
    except ValueError:
        return Reply(Response.InvalidDevicePropFormat)
    return Reply(responder.body.write(kind, wire))


def device_ready(responder: Responder, _: Parameters, __: bytes) -> Reply:
    return Reply(Response.DeviceBusy if responder.shutter.is_open() else Response.OK)


def start_live_view(responder: Responder, _: Parameters, __: bytes) -> Reply:
    return Reply(responder.body.set_live_view(True))


def end_live_view(responder: Responder, _: Parameters, __: bytes) -> Reply:
    return Reply(responder.body.set_live_view(False))


def get_live_view_image(responder: Responder, _: Parameters, __: bytes) -> Reply:
    code, frame = responder.body.live_frame()
    return Reply(code, data=frame) if code == Response.OK else Reply(code)


def drive_manual_focus(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    direction, steps = parameters[:2]
    if direction not in (NEARER, FARTHER):
        return Reply(Response.InvalidParameter)
    return Reply(responder.body.drive_focus(steps if direction == FARTHER else -steps))


def change_focus_area(responder: Responder, parameters: Parameters, _: bytes) -> Reply:
    return Reply(responder.body.centre_live_view(parameters[0], parameters[1]))


ANSWERS: dict[Operation, Callable[[Responder, Parameters, bytes], Reply]] = {
    Operation.GetDeviceInfo: get_device_info,
    Operation.OpenSession: open_session,
    Operation.CloseSession: close_session,
    Operation.GetStorageIDs: get_storage_ids,
    Operation.GetStorageInfo: get_storage_info,
    Operation.GetNumObjects: get_num_objects,
    Operation.GetObjectHandles: get_object_handles,
    Operation.GetObjectInfo: get_object_info,
    Operation.GetObject: get_object,
    Operation.GetThumb: get_thumb,
    Operation.DeleteObject: delete_object,
    Operation.InitiateCapture: initiate_capture,
    Operation.FormatStore: format_store,
    Operation.GetDevicePropDesc: get_device_prop_desc,
    Operation.GetDevicePropValue: get_device_prop_value,
    Operation.SetDevicePropValue: set_device_prop_value,
    Operation.GetPartialObject: get_partial_object,
    Operation.DeviceReady: device_ready,
    Operation.StartLiveView: start_live_view,
    Operation.EndLiveView: end_live_view,
    Operation.GetLiveViewImage: get_live_view_image,
    Operation.DriveManualFocus: drive_manual_focus,
    Operation.ChangeFocusArea: change_focus_area,
}
