"""Operations to answers: what holds for every operation, and each answer's code for a wrong question."""

from pathlib import Path

import pytest

from mock_camera.body.camera_body import BodyOptions
from mock_camera.ptp.codes import (
    ALL_STORES,
    VENDOR_OPERATIONS,
    DevicePropCode,
    Operation,
    Response,
)
from mock_camera.wire.host import Parameters
from mock_camera.wire.responder import ANSWERED_WHILE_BUSY, ANSWERS
from tests.support.bare_responder import BareResponder


def test_every_operation_has_an_answer_and_before_a_session_only_two_are_given(tmp_path: Path) -> None:
    assert set(ANSWERS) == set(Operation)
    desk = BareResponder(tmp_path, BodyOptions())
    for operation in Operation:
        code = desk.ask(operation, 1).code
        if operation is Operation.OpenSession:
            desk.ask(Operation.CloseSession)
        elif operation is not Operation.GetDeviceInfo:
            assert code is Response.SessionNotOpen, operation.name
    desk.close()


def test_an_operation_that_nobody_knows_is_not_supported(desk: BareResponder) -> None:
    assert desk.ask(0x1234).code is Response.OperationNotSupported


def test_a_plain_body_answers_nothing_of_the_vendors(tmp_path: Path) -> None:
    desk = BareResponder(tmp_path, BodyOptions(plain=True))
    desk.ask(Operation.OpenSession, 1)
    assert {desk.ask(operation).code for operation in VENDOR_OPERATIONS} == {Response.OperationNotSupported}
    desk.close()


def test_while_it_writes_a_body_answers_only_what_can_be_answered(desk: BareResponder) -> None:
    desk.body.busy_writing = True
    for operation in Operation:
        if operation not in ANSWERED_WHILE_BUSY:
            assert desk.ask(operation).code is Response.DeviceBusy, operation.name
    assert desk.ask(Operation.GetDeviceInfo).code is Response.OK


def test_a_scripted_busy_strikes_its_operation_alone(desk: BareResponder) -> None:
    desk.body.faults.add("busy", operation="GetStorageIDs")
    assert desk.ask(Operation.GetObjectHandles, ALL_STORES).code is Response.OK
    assert desk.ask(Operation.GetStorageIDs).code is Response.DeviceBusy
    assert desk.ask(Operation.GetStorageIDs).code is Response.OK


def test_a_host_that_hangs_up_ends_its_session_and_its_live_view(desk: BareResponder) -> None:
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
def test_a_wrong_question_gets_its_code(
    desk: BareResponder, operation: int, parameters: Parameters, code: Response
) -> None:
    assert desk.ask(operation, *parameters).code is code
