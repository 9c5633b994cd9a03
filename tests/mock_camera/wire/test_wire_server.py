"""Packets on the wire against CIPA DC-005, sent by a bare socket; layouts are values from memory."""

import socket
import struct
import time
from collections.abc import Iterator
from contextlib import ExitStack

import pytest

from mock_camera.camera import SimulatedCamera
from mock_camera.ptp import packets
from mock_camera.ptp.codes import EventCode, Operation, Response
from mock_camera.ptp.packets import PacketType
from tests.support.camera_bench import CameraBench

GUID = bytes(range(16))


class BareHost:
    """A host that knows nothing but packets."""

    def __init__(self, camera: SimulatedCamera) -> None:
        self.stack = ExitStack()
        self.port = camera.wire.port
        self.commands = self.open_socket()
        self.transaction_id = 0

    def open_socket(self) -> socket.socket:
        return self.stack.enter_context(socket.create_connection(("127.0.0.1", self.port), timeout=10))

    def greet(self) -> bytes:
        """Init command request with GUID, name "A" and version 1.0; the body of the answer."""
        self.commands.sendall(bytes.fromhex("20000000 01000000") + GUID + "A\0".encode("utf-16-le") + b"\0\0\1\0")
        answer = packets.receive(self.commands)
        assert answer.kind == PacketType.InitCommandAck
        return answer.body

    def open_events(self, number: int) -> socket.socket:
        events = self.open_socket()
        events.sendall(struct.pack("<III", 12, 3, number))
        return events

    def ask(self, code: int, *parameters: int, data: bytes | None = None) -> tuple[int, list[int], bytes]:
        """Response code, response parameters and data of one operation."""
        self.transaction_id += 1
        phase = 1 if data is None else 2
        body = struct.pack(f"<IHI{len(parameters)}I", phase, code, self.transaction_id, *parameters)
        self.commands.sendall(struct.pack("<II", 8 + len(body), 6) + body)
        if data is not None:
            for packet in packets.data_packets(self.transaction_id, data):
                self.commands.sendall(packet)
        received = bytearray()
        while True:
            answer = packets.receive(self.commands)
            if answer.kind == PacketType.OperationResponse:
                response, transaction_id = struct.unpack_from("<HI", answer.body)
                assert transaction_id == self.transaction_id
                return response, list(struct.unpack(f"<{len(answer.body[6:]) // 4}I", answer.body[6:])), bytes(received)
            if answer.kind != PacketType.StartData:
                received += answer.body[4:]


@pytest.fixture
def camera(bench: CameraBench) -> SimulatedCamera:
    return bench.start()


@pytest.fixture
def host(camera: SimulatedCamera) -> Iterator[BareHost]:
    bare = BareHost(camera)
    with bare.stack:
        yield bare


def test_init_command_ack_carries_number_guid_name_and_version(host: BareHost) -> None:
    body = host.greet()
    assert struct.unpack_from("<I", body) == (1,)
    assert len(body[4:20]) == 16
    assert body[20:-4].decode("utf-16-le") == "Wendle 16\0"
    assert body[-4:] == bytes.fromhex("00000100")


def test_event_connection_is_taken_for_the_number_of_the_command_connection(host: BareHost) -> None:
    (number,) = struct.unpack_from("<I", host.greet())
    stranger = host.open_events(number + 7)
    assert packets.receive(stranger).kind == PacketType.InitFail
    events = host.open_events(number)
    assert packets.receive(events) == packets.Packet(PacketType.InitEventAck, b"")


def test_probe_is_answered_on_the_event_connection(host: BareHost) -> None:
    (number,) = struct.unpack_from("<I", host.greet())
    events = host.open_events(number)
    packets.receive(events)
    events.sendall(bytes.fromhex("08000000 0d000000"))
    assert packets.receive(events).kind == PacketType.ProbeResponse


def test_second_host_gets_init_fail_with_busy(host: BareHost, camera: SimulatedCamera) -> None:
    host.greet()
    second = host.open_socket()
    second.sendall(bytes.fromhex("20000000 01000000") + GUID + "A\0".encode("utf-16-le") + b"\0\0\1\0")
    failed = packets.receive(second)
    assert (failed.kind, failed.body) == (PacketType.InitFail, struct.pack("<I", 2))


def test_data_comes_as_start_data_and_end_data_with_the_whole_length_first(host: BareHost) -> None:
    host.greet()
    host.commands.sendall(bytes.fromhex("12000000 06000000 01000000 0110 2a000000"))  # GetDeviceInfo, no. 42
    start = packets.receive(host.commands)
    end = packets.receive(host.commands)
    response = packets.receive(host.commands)
    transaction_id, length = struct.unpack("<IQ", start.body)
    assert (start.kind, transaction_id) == (PacketType.StartData, 42)
    assert (end.kind, end.body[:4], len(end.body) - 4) == (PacketType.EndData, b"\x2a\0\0\0", length)
    assert (response.kind, response.body) == (PacketType.OperationResponse, bytes.fromhex("0120 2a000000"))


def test_long_data_is_split_into_data_packets() -> None:
    data = bytes(range(256)) * 1000
    parts = list(packets.data_packets(7, data, 100_000))
    kinds = [struct.unpack_from("<I", part, 4)[0] for part in parts]
    assert kinds == [9, 10, 10, 12]
    assert b"".join(part[12:] for part in parts[1:]) == data


def test_nothing_but_device_info_is_answered_before_a_session(host: BareHost) -> None:
    host.greet()
    assert host.ask(Operation.GetStorageIDs)[0] == Response.SessionNotOpen
    assert host.ask(Operation.GetDeviceInfo)[0] == Response.OK
    assert host.ask(Operation.OpenSession, 1)[0] == Response.OK
    assert host.ask(Operation.OpenSession, 1)[0] == Response.SessionAlreadyOpen
    assert host.ask(Operation.CloseSession)[0] == Response.OK


@pytest.mark.parametrize(
    ("code", "parameters", "data", "response"),
    [
        (0x1FFF, (), None, Response.OperationNotSupported),
        (Operation.GetStorageInfo, (5,), None, Response.InvalidStorageID),
        (Operation.GetObjectHandles, (5,), None, Response.InvalidStorageID),
        (Operation.GetObjectInfo, (999,), None, Response.InvalidObjectHandle),
        (Operation.GetObject, (1,), None, Response.InvalidObjectHandle),  # a folder
        (Operation.GetThumb, (999,), None, Response.InvalidObjectHandle),
        (Operation.DeleteObject, (999,), None, Response.InvalidObjectHandle),
        (Operation.FormatStore, (5,), None, Response.InvalidStorageID),
        (Operation.GetDevicePropDesc, (0x5FFF,), None, Response.DevicePropNotSupported),
        (Operation.GetDevicePropValue, (0x5FFF,), None, Response.DevicePropNotSupported),
        (Operation.SetDevicePropValue, (0x5FFF,), b"\0\0", Response.DevicePropNotSupported),
        (Operation.SetDevicePropValue, (0x5007,), b"\0", Response.InvalidDevicePropFormat),
        (Operation.SetDevicePropValue, (0x5007,), b"\1\0", Response.InvalidDevicePropValue),
        (Operation.SetDevicePropValue, (0x5001,), b"\1", Response.AccessDenied),
        (Operation.GetLiveViewImage, (), None, Response.NotLiveView),
        (Operation.DriveManualFocus, (3, 10), None, Response.InvalidParameter),
        (Operation.ChangeFocusArea, (5000, 10), None, Response.InvalidParameter),
    ],
)
def test_wrong_request_gets_its_response_code(
    host: BareHost, code: int, parameters: tuple[int, ...], data: bytes | None, response: Response
) -> None:
    host.greet()
    host.ask(Operation.OpenSession, 1)
    assert host.ask(code, *parameters, data=data)[0] == response
    assert host.ask(Operation.GetStorageIDs) == (Response.OK, [], struct.pack("<II", 1, 0x00010001))


def test_object_handles_are_listed_by_folder_and_format(host: BareHost, camera: SimulatedCamera) -> None:
    card = camera.body.card
    jpeg, raw = card.save(1, ".JPG", b"j" * 10), card.save(1, ".TIF", b"r" * 20)
    host.greet()
    host.ask(Operation.OpenSession, 1)

    def listed(*parameters: int) -> list[int]:
        data = host.ask(Operation.GetObjectHandles, *parameters)[2]
        return list(struct.unpack(f"<{len(data) // 4}I", data))[1:]

    (dcim,) = listed(0xFFFFFFFF, 0, 0xFFFFFFFF)  # only what stands at the root
    (still,) = listed(0xFFFFFFFF, 0, dcim)
    assert listed(0x00010001, 0, still) == [jpeg.handle, raw.handle]
    assert listed(0x00010001, 0x3801) == [jpeg.handle]
    assert host.ask(Operation.GetNumObjects, 0xFFFFFFFF)[1] == [4]
    assert host.ask(Operation.GetPartialObject, raw.handle, 15, 100)[1:] == ([5], b"rrrrr")


def test_events_of_a_release_name_the_transaction_that_asked_for_it(host: BareHost) -> None:
    (number,) = struct.unpack_from("<I", host.greet())
    events = host.open_events(number)
    packets.receive(events)
    host.ask(Operation.OpenSession, 1)
    host.ask(Operation.InitiateCapture)
    seen: list[tuple[int, int]] = []
    while not seen or seen[-1][0] != EventCode.CaptureComplete:
        packet = packets.receive(events)
        seen.append(struct.unpack_from("<HI", packet.body))
    assert seen == [(EventCode.ObjectAdded, host.transaction_id), (EventCode.CaptureComplete, host.transaction_id)]


@pytest.mark.parametrize(
    "garbage",
    [
        bytes.fromhex("ffffffff 06000000"),  # longer than any packet
        bytes.fromhex("04000000 06000000"),  # shorter than its header
        bytes.fromhex("08000000 63000000"),  # no such type
        bytes.fromhex("0c000000 06000000 00000000"),  # an operation request cut short
        b"GET / HTTP/1.1\r\n\r\n",
    ],
)
def test_garbage_ends_the_connection_and_the_camera_serves_on(
    bench: CameraBench, camera: SimulatedCamera, garbage: bytes
) -> None:
    first = BareHost(camera)
    with first.stack:
        first.greet()
        first.commands.sendall(garbage)
        assert first.commands.recv(1) == b""
    second = BareHost(camera)
    with second.stack:
        second.greet()
        assert second.ask(Operation.OpenSession, 1)[0] == Response.OK


def test_slow_wire_takes_at_least_the_time_of_its_bytes(bench: CameraBench) -> None:
    camera = bench.start(bytes_per_s=100_000.0)
    card_file = camera.body.card.save(1, ".TIF", bytes(50_000))
    bare = BareHost(camera)
    with bare.stack:
        bare.greet()
        bare.ask(Operation.OpenSession, 1)
        started_s = time.monotonic()
        assert len(bare.ask(Operation.GetObject, card_file.handle)[2]) == 50_000
        assert time.monotonic() - started_s >= 0.4  # 50 kB at 100 kB/s; the last slice isn't waited for
