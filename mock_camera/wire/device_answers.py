"""Answers to the operations on the camera itself: session, settings, release, live view, focus."""

from mock_camera.ptp.codes import (
    VENDOR_EXTENSION_ID,
    EventCode,
    ObjectFormat,
    Response,
)
from mock_camera.ptp.datasets import DeviceInfo, pack_device_info, pack_device_prop_desc, pack_value, unpack_value
from mock_camera.wire.host import Host, Parameters, Reply

MANUFACTURER = "Invented Optical Works"
VERSION = "1.0"
NEARER, FARTHER = 1, 2
"""Direction of DriveManualFocus in vendor extension 0x0000000A: towards the camera, or away from it."""


def get_device_info(host: Host, _: Parameters, __: bytes) -> Reply:
    options = host.body.options
    formats = (ObjectFormat.EXIF_JPEG, ObjectFormat.TIFF_EP)
    return Reply(
        data=pack_device_info(
            DeviceInfo(
                vendor_extension_id=0 if options.plain else VENDOR_EXTENSION_ID,
                vendor_extension_description="",
                operations=host.operations,
                events=list(EventCode),
                properties=list(host.body.properties),
                capture_formats=formats,
                image_formats=(*formats, ObjectFormat.Association, ObjectFormat.JFIF),
                manufacturer=MANUFACTURER,
                model=options.model,
                version=VERSION,
                serial=options.serial,
            )
        )
    )


def open_session(host: Host, parameters: Parameters, _: bytes) -> Reply:
    if host.session_open:
        return Reply(Response.SessionAlreadyOpen)
    if not parameters[0]:
        return Reply(Response.InvalidParameter)
    host.session_open = True
    return Reply()


def close_session(host: Host, _: Parameters, __: bytes) -> Reply:
    host.session_open = False
    if host.body.live_view:
        host.viewfinder.switch(False)
    return Reply()


def initiate_capture(host: Host, _: Parameters, __: bytes) -> Reply:
    return Reply(host.capture.release(host.transaction_id))


def get_device_prop_desc(host: Host, parameters: Parameters, _: bytes) -> Reply:
    kind = host.body.property_at(parameters[0])
    if not kind:
        return Reply(Response.DevicePropNotSupported)
    current = kind.to_wire(host.body.setting(kind.setting))
    default = kind.to_wire(kind.default)
    return Reply(data=pack_device_prop_desc(kind.code, kind.data_type, kind.writable, default, current, kind.form()))


def get_device_prop_value(host: Host, parameters: Parameters, _: bytes) -> Reply:
    kind = host.body.property_at(parameters[0])
    if not kind:
        return Reply(Response.DevicePropNotSupported)
    return Reply(data=pack_value(kind.data_type, kind.to_wire(host.body.setting(kind.setting))))


def set_device_prop_value(host: Host, parameters: Parameters, data: bytes) -> Reply:
    kind = host.body.property_at(parameters[0])
    if not kind:
        return Reply(Response.DevicePropNotSupported)
    try:
        wire = unpack_value(kind.data_type, data)
    except ValueError:
        return Reply(Response.InvalidDevicePropFormat)
    return Reply(host.body.write(kind, wire))


def device_ready(host: Host, _: Parameters, __: bytes) -> Reply:
    return Reply(host.viewfinder.ready())


def start_live_view(host: Host, _: Parameters, __: bytes) -> Reply:
    return Reply(host.viewfinder.switch(True))


def end_live_view(host: Host, _: Parameters, __: bytes) -> Reply:
    return Reply(host.viewfinder.switch(False))


def get_live_view_image(host: Host, _: Parameters, __: bytes) -> Reply:
    code, frame = host.viewfinder.frame()
    return Reply(code, data=frame) if code == Response.OK else Reply(code)


def drive_manual_focus(host: Host, parameters: Parameters, _: bytes) -> Reply:
    direction, steps = parameters[:2]
    if direction not in (NEARER, FARTHER):
        return Reply(Response.InvalidParameter)
    return Reply(host.viewfinder.drive_focus(steps if direction == FARTHER else -steps))


def change_focus_area(host: Host, parameters: Parameters, _: bytes) -> Reply:
    return Reply(host.viewfinder.centre_on(parameters[0], parameters[1]))
