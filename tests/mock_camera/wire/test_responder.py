"""Operations to answers: what holds for every operation, and each answer's code for a wrong question."""

import struct
from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.body.camera_body import BodyOptions
from mock_camera.body.capture import Capture
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.ptp.codes import (
    ALL_STORES,
    ROOT_HANDLE,
    STORAGE_ID,
    VENDOR_OPERATIONS,
    DevicePropCode,
    ObjectFormat,
    Operation,
    Response,
)
from mock_camera.wire.host import Parameters, Reply
from mock_camera.wire.responder import ANSWERED_WHILE_BUSY, ANSWERS, Responder
from tests.support.bare_body import bare_body
from tests.support.tiny_table import ENCODERS


class Desk:
    """A responder over a bare body with one picture on its card."""

    def __init__(self, folder: Path, options: BodyOptions) -> None:
        self.body = bare_body(folder, options)
        self.capture, self.viewfinder = Capture(self.body, ENCODERS), Viewfinder(self.body)
        self.responder = Responder(self.body, self.capture, self.viewfinder)
        self.picture = self.body.card.save(1, ".JPG", b"\xff\xd8 picture \xff\xd9", thumb=b"small")
        self.number = 0

    def ask(self, operation: int, *parameters: int, data: bytes = b"") -> Reply:
        self.number += 1
        return self.responder.answer(operation, self.number, parameters, data)

    def close(self) -> None:
        self.capture.close()
        self.viewfinder.close()


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    desk = Desk(tmp_path, BodyOptions(pixels=(192, 128)))
    desk.ask(Operation.OpenSession, 1)
    yield desk
    desk.close()


def handles(reply: Reply) -> tuple[int, ...]:
    assert reply.data is not None
    count = struct.unpack_from("<I", reply.data)[0]
    return struct.unpack_from(f"<{count}I", reply.data, 4)


def test_every_operation_has_an_answer_and_before_a_session_only_two_are_given(tmp_path: Path) -> None:
    assert set(ANSWERS) == set(Operation)
    desk = Desk(tmp_path, BodyOptions())
    for operation in Operation:
        code = desk.ask(operation, 1).code
        if operation is Operation.OpenSession:
            desk.ask(Operation.CloseSession)
        elif operation is not Operation.GetDeviceInfo:
            assert code is Response.SessionNotOpen, operation.name
    desk.close()


def test_an_operation_that_nobody_knows_is_not_supported(desk: Desk) -> None:
    assert desk.ask(0x1234).code is Response.OperationNotSupported


def test_a_plain_body_answers_nothing_of_the_vendors(tmp_path: Path) -> None:
    desk = Desk(tmp_path, BodyOptions(plain=True))
    desk.ask(Operation.OpenSession, 1)
    assert {desk.ask(operation).code for operation in VENDOR_OPERATIONS} == {Response.OperationNotSupported}
    desk.close()


def test_while_it_writes_a_body_answers_only_what_can_be_answered(desk: Desk) -> None:
    desk.body.busy_writing = True
    for operation in Operation:
        if operation not in ANSWERED_WHILE_BUSY:
            assert desk.ask(operation).code is Response.DeviceBusy, operation.name
    assert desk.ask(Operation.GetDeviceInfo).code is Response.OK


def test_a_scripted_busy_strikes_its_operation_alone(desk: Desk) -> None:
    desk.body.faults.add("busy", operation="GetStorageIDs")
    assert desk.ask(Operation.GetObjectHandles, ALL_STORES).code is Response.OK
    assert desk.ask(Operation.GetStorageIDs).code is Response.DeviceBusy
    assert desk.ask(Operation.GetStorageIDs).code is Response.OK


def test_a_host_that_hangs_up_ends_its_session_and_its_live_view(desk: Desk) -> None:
    desk.ask(Operation.StartLiveView)
    assert desk.body.live_view
    desk.responder.hung_up()
    assert not desk.body.live_view and desk.ask(Operation.GetStorageIDs).code is Response.SessionNotOpen


@pytest.mark.parametrize(
    ("operation", "parameters", "code"),
    [
        (Operation.OpenSession, (2,), Response.SessionAlreadyOpen),
        (Operation.GetStorageInfo, (7,), Response.InvalidStorageID),
        (Operation.GetNumObjects, (7,), Response.InvalidStorageID),
        (Operation.GetObjectHandles, (7,), Response.InvalidStorageID),
        (Operation.GetObjectInfo, (999,), Response.InvalidObjectHandle),
        (Operation.GetObject, (999,), Response.InvalidObjectHandle),
        (Operation.GetObject, (1,), Response.InvalidObjectHandle),  # a folder
        (Operation.GetPartialObject, (1, 0, 10), Response.InvalidObjectHandle),
        (Operation.GetThumb, (1,), Response.InvalidObjectHandle),
        (Operation.DeleteObject, (999,), Response.InvalidObjectHandle),
        (Operation.FormatStore, (7,), Response.InvalidStorageID),
        (Operation.GetDevicePropDesc, (0x5FFF,), Response.DevicePropNotSupported),
        (Operation.GetDevicePropValue, (0x5FFF,), Response.DevicePropNotSupported),
        (Operation.SetDevicePropValue, (0x5FFF,), Response.DevicePropNotSupported),
        (Operation.SetDevicePropValue, (DevicePropCode.FNumber,), Response.InvalidDevicePropFormat),
        (Operation.GetLiveViewImage, (), Response.NotLiveView),
        (Operation.DriveManualFocus, (3, 10), Response.InvalidParameter),
        (Operation.DriveManualFocus, (1, 10), Response.NotLiveView),
        (Operation.ChangeFocusArea, (5000, 0), Response.InvalidParameter),
    ],
    ids=lambda value: getattr(value, "name", str(value)),
)
def test_a_wrong_question_gets_its_code(desk: Desk, operation: int, parameters: Parameters, code: Response) -> None:
    assert desk.ask(operation, *parameters).code is code


def test_a_session_needs_a_number(tmp_path: Path) -> None:
    desk = Desk(tmp_path, BodyOptions())
    assert desk.ask(Operation.OpenSession, 0).code is Response.InvalidParameter
    assert desk.ask(Operation.OpenSession).code is Response.InvalidParameter
    desk.close()


# --- objects --------------------------------------------------------------------------------------------


def test_objects_are_listed_by_store_format_and_folder(desk: Desk) -> None:
    every = handles(desk.ask(Operation.GetObjectHandles, ALL_STORES))
    assert desk.picture.handle in every and desk.ask(Operation.GetNumObjects, ALL_STORES).parameters == (len(every),)
    assert handles(desk.ask(Operation.GetObjectHandles, STORAGE_ID, ObjectFormat.EXIF_JPEG)) == (desk.picture.handle,)
    at_root = handles(desk.ask(Operation.GetObjectHandles, ALL_STORES, 0, ROOT_HANDLE))
    assert desk.picture.handle not in at_root and len(at_root) == 1
    assert handles(desk.ask(Operation.GetObjectHandles, ALL_STORES, 0, desk.picture.parent)) == (desk.picture.handle,)


def test_a_file_comes_whole_or_in_parts(desk: Desk) -> None:
    whole = desk.ask(Operation.GetObject, desk.picture.handle).data
    assert whole == desk.picture.path.read_bytes()
    parts = b""
    while len(parts) < len(whole):
        reply = desk.ask(Operation.GetPartialObject, desk.picture.handle, len(parts), 5)
        assert reply.data is not None and reply.parameters == (len(reply.data),)
        parts += reply.data
    assert parts == whole
    assert desk.ask(Operation.GetPartialObject, desk.picture.handle, len(whole), 5).data == b""
    assert desk.ask(Operation.GetThumb, desk.picture.handle).data == b"small"


def test_a_file_that_is_cut_in_transfer_stays_cut_until_it_is_asked_for_again(desk: Desk) -> None:
    whole = desk.ask(Operation.GetObject, desk.picture.handle).data
    assert whole is not None
    desk.body.faults.add("truncated_file", share=0.5)
    first = desk.ask(Operation.GetPartialObject, desk.picture.handle, 0, 3).data
    rest = desk.ask(Operation.GetPartialObject, desk.picture.handle, 3, 100).data
    assert first is not None and rest is not None and len(first + rest) == round(len(whole) / 2)
    assert desk.ask(Operation.GetObject, desk.picture.handle).data == whole


def test_an_object_without_a_thumbnail_says_so(desk: Desk) -> None:
    bare = desk.body.card.save(2, ".JPG", b"\xff\xd8\xff\xd9")
    assert desk.ask(Operation.GetThumb, bare.handle).code is Response.NoThumbnailPresent


def test_deleting_takes_the_file_and_formatting_takes_them_all(desk: Desk) -> None:
    assert desk.ask(Operation.DeleteObject, desk.picture.handle).code is Response.OK
    assert not desk.picture.path.exists()
    desk.body.card.save(2, ".JPG", b"x")
    assert desk.ask(Operation.FormatStore, STORAGE_ID).code is Response.OK
    assert [item for item in desk.body.card if item.path.is_file()] == []


def test_without_a_card_no_store_is_listed(desk: Desk) -> None:
    desk.body.faults.add("no_card")
    assert handles(desk.ask(Operation.GetStorageIDs)) == ()
    assert handles(desk.ask(Operation.GetStorageIDs)) == (STORAGE_ID,)


# --- the camera itself ----------------------------------------------------------------------------------


def test_a_property_is_described_read_and_set(desk: Desk) -> None:
    described = desk.ask(Operation.GetDevicePropDesc, DevicePropCode.FNumber).data
    assert described is not None and struct.unpack_from("<HHBHH", described) == (0x5007, 4, 1, 1100, 1100)
    assert (
        desk.ask(Operation.SetDevicePropValue, DevicePropCode.FNumber, data=struct.pack("<H", 800)).code is Response.OK
    )
    assert desk.ask(Operation.GetDevicePropValue, DevicePropCode.FNumber).data == struct.pack("<H", 800)


def test_live_view_and_the_motor_are_switched_and_turned(desk: Desk) -> None:
    assert desk.ask(Operation.StartLiveView).code is Response.OK
    assert desk.ask(Operation.DriveManualFocus, 2, 30).code is Response.OK
    assert desk.ask(Operation.DriveManualFocus, 1, 10).code is Response.OK
    assert desk.body.source.state() == {"focus_steps": 20}
    assert desk.ask(Operation.DeviceReady).code is Response.OK
    assert desk.ask(Operation.ChangeFocusArea, 10, 10).code is Response.OK
    assert desk.ask(Operation.EndLiveView).code is Response.OK and not desk.body.live_view


def test_a_release_is_asked_for_and_its_card_counts_on(desk: Desk) -> None:
    assert desk.ask(Operation.InitiateCapture).code is Response.OK
    assert desk.capture._exposure is not None
    desk.capture._exposure.join()
    assert desk.capture.wait_until_written()
    assert desk.ask(Operation.GetNumObjects, ALL_STORES, ObjectFormat.EXIF_JPEG).parameters == (2,)
