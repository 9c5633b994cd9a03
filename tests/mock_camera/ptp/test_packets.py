"""Packets of PTP over a network: bytes to values and back, through a pair of sockets, and what is no packet."""

import socket
import struct
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.ptp.packets import (
    MAX_PACKET_BYTES,
    FailReason,
    PacketType,
    WireError,
    data_packets,
    event,
    init_command_ack,
    init_fail,
    operation_response,
    pack,
    parse_init_event,
    parse_operation,
    receive,
    receive_data,
)


@pytest.fixture
def wire() -> Iterator[tuple[socket.socket, socket.socket]]:
    host, camera = socket.socketpair()
    with host, camera:
        yield host, camera


def sent(data: bytes) -> socket.socket:
    """A socket from which these bytes come, and then the end."""
    host, camera = socket.socketpair()
    with host:
        host.sendall(data)
    return camera


@pytest.mark.parametrize("kind", list(PacketType))
@pytest.mark.parametrize("body", [b"", b"x", bytes(range(256))])
def test_a_packet_comes_as_it_was_sent_with_its_whole_length_first(kind: PacketType, body: bytes) -> None:
    """DC-005: UINT32 length of all of it, UINT32 type, body; little-endian."""
    packed = pack(kind, body)
    assert struct.unpack_from("<II", packed) == (8 + len(body), kind)
    with sent(packed) as camera:
        found = receive(camera)
    assert (found.kind, found.body) == (kind, body)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "the other side hung up, 0 of 8 bytes in"),
        (b"\x0c\x00", "the other side hung up, 2 of 8 bytes in"),
        (struct.pack("<II", 12, 8) + b"ab", "the other side hung up, 2 of 4 bytes in"),
        (struct.pack("<II", 7, 8), "packet length 7"),
        (struct.pack("<II", MAX_PACKET_BYTES + 1, 8), f"packet length {MAX_PACKET_BYTES + 1}"),
        (struct.pack("<II", 8, 0), "packet type 0"),
        (struct.pack("<II", 8, 99), "packet type 99"),
    ],
)
def test_what_is_no_packet_is_told(data: bytes, said: str) -> None:
    with sent(data) as camera, pytest.raises(WireError) as refused:
        receive(camera)
    assert str(refused.value) == said


@settings(max_examples=30)
@given(
    st.integers(0, 2**16 - 1),
    st.integers(0, 2**32 - 1),
    st.lists(st.integers(0, 2**32 - 1), max_size=5),
    st.booleans(),
)
def test_an_operation_is_read_as_the_host_wrote_it(code: int, number: int, given_: list[int], sends: bool) -> None:
    body = struct.pack(f"<IHI{len(given_)}I", 2 if sends else 1, code, number, *given_)
    found = parse_operation(body)
    assert (found.code, found.transaction_id, found.parameters) == (code, number, tuple(given_))
    assert found.sends_data is sends


@pytest.mark.parametrize("size", [0, 9, 31, 1000])
def test_an_operation_of_a_wrong_length_is_none(size: int) -> None:
    with pytest.raises(WireError, match=f"operation request of {size} bytes"):
        parse_operation(bytes(size))


def test_an_event_connection_says_whose_it_is() -> None:
    assert parse_init_event(struct.pack("<I", 7) + b"more") == 7
    with pytest.raises(WireError, match="init event request of 3 bytes"):
        parse_init_event(b"abc")


@settings(max_examples=30)
@given(st.binary(max_size=400), st.integers(1, 90))
def test_data_of_any_length_arrives_whole_in_parts_of_any_size(data: bytes, part: int) -> None:
    packets = list(data_packets(5, data, part))
    assert struct.unpack_from("<IQ", packets[0], 8) == (5, len(data)), "the whole length is told first"
    with sent(b"".join(packets)) as camera:
        assert receive_data(camera) == data


@pytest.mark.parametrize(
    ("packets", "said"),
    [
        ([pack(PacketType.Data, bytes(8))], "Data where data should start"),
        ([pack(PacketType.StartData, struct.pack("<IQ", 1, 5)), pack(PacketType.Event, bytes(8))], "Event in the data"),
        ([pack(PacketType.StartData, struct.pack("<IQ", 1, 5))], "the other side hung up"),
    ],
)
def test_a_broken_data_phase_is_told(packets: list[bytes], said: str) -> None:
    with sent(b"".join(packets)) as camera, pytest.raises(WireError, match=said):
        receive_data(camera)


def test_answers_carry_their_code_transaction_and_parameters() -> None:
    assert operation_response(0x2001, 9, (1, 2))[8:] == struct.pack("<HIII", 0x2001, 9, 1, 2)
    assert event(0x4002, 0xFFFFFFFF, (3,))[8:] == struct.pack("<HII", 0x4002, 0xFFFFFFFF, 3)
    assert init_fail(FailReason.Busy)[8:] == struct.pack("<I", 2)


def test_the_camera_introduces_itself_with_its_name_and_version() -> None:
    body = init_command_ack(3, bytes(range(16)), "Wendle 16")[8:]
    assert body[:20] == struct.pack("<I16s", 3, bytes(range(16)))
    assert body[20:-6].decode("utf-16-le") == "Wendle 16" and body[-6:-4] == b"\0\0"
    assert struct.unpack("<I", body[-4:]) == (0x00010000,)


def test_a_socket_that_broke_is_a_hang_up(wire: tuple[socket.socket, socket.socket]) -> None:
    host, camera = wire
    host.close()
    camera.close()
    with pytest.raises(WireError):
        receive(camera)
