"""Operations to answers: the table, and what holds for every operation.

Nothing here knows packets; `wire_server.py` carries requests in and replies out.
"""

from collections.abc import Callable, Mapping

from mock_camera.body.camera_body import CameraBody
from mock_camera.body.capture import Capture
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.ptp.codes import VENDOR_OPERATIONS, Operation, Response, struck_as
from mock_camera.wire import device_answers, object_answers
from mock_camera.wire.host import Host, Parameters, Reply

Answer = Callable[[Host, Parameters, bytes], Reply]

ANSWERS: dict[int, Answer] = {
    Operation.GetDeviceInfo: device_answers.get_device_info,
    Operation.OpenSession: device_answers.open_session,
    Operation.CloseSession: device_answers.close_session,
    Operation.GetStorageIDs: object_answers.get_storage_ids,
    Operation.GetStorageInfo: object_answers.get_storage_info,
    Operation.GetNumObjects: object_answers.get_num_objects,
    Operation.GetObjectHandles: object_answers.get_object_handles,
    Operation.GetObjectInfo: object_answers.get_object_info,
    Operation.GetObject: object_answers.get_object,
    Operation.GetThumb: object_answers.get_thumb,
    Operation.DeleteObject: object_answers.delete_object,
    Operation.InitiateCapture: device_answers.initiate_capture,
    Operation.FormatStore: object_answers.format_store,
    Operation.GetDevicePropDesc: device_answers.get_device_prop_desc,
    Operation.GetDevicePropValue: device_answers.get_device_prop_value,
    Operation.SetDevicePropValue: device_answers.set_device_prop_value,
    Operation.GetPartialObject: object_answers.get_partial_object,
    Operation.DeviceReady: device_answers.device_ready,
    Operation.StartLiveView: device_answers.start_live_view,
    Operation.EndLiveView: device_answers.end_live_view,
    Operation.GetLiveViewImage: device_answers.get_live_view_image,
    Operation.DriveManualFocus: device_answers.drive_manual_focus,
    Operation.ChangeFocusArea: device_answers.change_focus_area,
}

ANSWERED_WHILE_BUSY = frozenset({Operation.GetDeviceInfo, Operation.OpenSession, Operation.CloseSession})
"""All else is answered DeviceBusy while a body writes and says so."""


class Responder:
    """Runs operations on the body, one at a time, for one host."""

    def __init__(
        self, body: CameraBody, capture: Capture, viewfinder: Viewfinder, answers: Mapping[int, Answer] | None = None
    ) -> None:
        """answers   of a played body, instead of this camera's own"""
        plain = body.options.plain
        own = {code: answer for code, answer in ANSWERS.items() if not (plain and code in VENDOR_OPERATIONS)}
        self._answers: Mapping[int, Answer] = own if answers is None else answers
        self._host = Host(body, capture, viewfinder, list(self._answers))

    def answer(self, code: int, transaction_id: int, parameters: Parameters, data: bytes) -> Reply:
        """Run one operation; `parameters` may be shorter than the operation has, the rest are 0."""
        host = self._host
        if code not in host.operations:
            return Reply(Response.OperationNotSupported)
        if not host.session_open and code not in (Operation.GetDeviceInfo, Operation.OpenSession):
            return Reply(Response.SessionNotOpen)
        if host.body.busy_writing and code not in ANSWERED_WHILE_BUSY:
            return Reply(Response.DeviceBusy)
        if host.body.faults.take("busy", operation=struck_as(code, parameters)):
            return Reply(Response.DeviceBusy)
        host.transaction_id = transaction_id
        return self._answers[code](host, (*parameters, 0, 0, 0, 0, 0)[:5], data)

    def hung_up(self) -> None:
        """The host has gone without a word: as after CloseSession."""
        device_answers.close_session(self._host, (), b"")
