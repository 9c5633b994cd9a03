"""Packets of PTP over an IP network: bytes to values and back.

Source: CIPA DC-005 (2005), "Picture Transfer Protocol over TCP/IP networks". Each packet is a UINT32
length (of the whole packet), a UINT32 type, and a body; all little-endian.
"""

import socket
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

HEADER = struct.Struct("<II")
PROTOCOL_VERSION = 0x00010000
"""1.0: major in the high half."""
MAX_PACKET_BYTES = 16 * 1024 * 1024
"""More than this in one packet from an initiator is taken for garbage; ours to choose."""
DATA_OUT_PHASE = 2
"""Data phase info of a request after which the initiator sends data (DC-005)."""
DATA_BYTES = 64 * 1024
"""Data in one data packet; ours to choose."""


class PacketType(IntEnum):
    """Packet types of DC-005."""

    InitCommandRequest = 1
    InitCommandAck = 2
    InitEventRequest = 3
    InitEventAck = 4
    InitFail = 5
    OperationRequest = 6
    OperationResponse = 7
    Event = 8
    StartData = 9
    Data = 10
    Cancel = 11
    EndData = 12
    ProbeRequest = 13
    ProbeResponse = 14


class FailReason(IntEnum):
    """Why a connection is refused."""

    RejectedInitiator = 1
    Busy = 2
    Unspecified = 3


class WireError(Exception):
    """The other side hung up, or sent what is no packet."""


@dataclass(frozen=True)
class Packet:
    kind: PacketType
    body: bytes


@dataclass(frozen=True)
class OperationRequest:
    """sends_data: the host sends data after it."""

    code: int
    transaction_id: int
    parameters: tuple[int, ...]
    sends_data: bool = False


def pack(kind: PacketType, body: bytes = b"") -> bytes:
    return HEADER.pack(HEADER.size + len(body), kind) + body


def receive_exactly(sock: socket.socket, count: int) -> bytes:
    """`count` bytes from the socket. Raises WireError when it ends before."""
    parts = bytearray()
    while len(parts) < count:
        try:
            part = sock.recv(count - len(parts))
        except OSError as error:
            raise WireError(str(error)) from error
        if not part:
            raise WireError(f"the other side hung up, {len(parts)} of {count} bytes in")
        parts += part
    return bytes(parts)


def receive(sock: socket.socket) -> Packet:
    """Next packet. Raises WireError."""
    length, kind = HEADER.unpack(receive_exactly(sock, HEADER.size))
    if not HEADER.size <= length <= MAX_PACKET_BYTES:
        raise WireError(f"packet length {length}")
    body = receive_exactly(sock, length - HEADER.size)
    try:
        return Packet(PacketType(kind), body)
    except ValueError as error:
        raise WireError(f"packet type {kind}") from error


def init_command_ack(connection_number: int, guid: bytes, name: str) -> bytes:
    friendly = name.encode("utf-16-le") + b"\0\0"
    body = struct.pack("<I16s", connection_number, guid) + friendly + struct.pack("<I", PROTOCOL_VERSION)
    return pack(PacketType.InitCommandAck, body)


def init_fail(reason: FailReason) -> bytes:
    return pack(PacketType.InitFail, struct.pack("<I", reason))


def parse_init_event(body: bytes) -> int:
    """Connection number an event connection belongs to. Raises WireError."""
    if len(body) < 4:
        raise WireError(f"init event request of {len(body)} bytes")
    (number,) = struct.unpack_from("<I", body)
    return int(number)


def parse_operation(body: bytes) -> OperationRequest:
    """Operation request: data phase, code, transaction, up to five parameters. Raises WireError."""
    if len(body) < 10 or len(body) > 30:
        raise WireError(f"operation request of {len(body)} bytes")
    phase, code, transaction_id = struct.unpack_from("<IHI", body)
    rest = body[10:]
    parameters = struct.unpack(f"<{len(rest) // 4}I", rest[: len(rest) // 4 * 4])
    return OperationRequest(code, transaction_id, parameters, phase == DATA_OUT_PHASE)


def operation_response(code: int, transaction_id: int, parameters: tuple[int, ...]) -> bytes:
    body = struct.pack(f"<HI{len(parameters)}I", code, transaction_id, *parameters)
    return pack(PacketType.OperationResponse, body)


def event(code: int, transaction_id: int, parameters: tuple[int, ...]) -> bytes:
    return pack(PacketType.Event, struct.pack(f"<HI{len(parameters)}I", code, transaction_id, *parameters))


def data_packets(transaction_id: int, data: bytes, part_bytes: int = DATA_BYTES) -> Iterator[bytes]:
    """Start data with the whole length (UINT64), data packets of `part_bytes` bytes, end data with the last part."""
    yield pack(PacketType.StartData, struct.pack("<IQ", transaction_id, len(data)))
    last = max(0, (len(data) - 1) // part_bytes * part_bytes)
    for offset in range(0, last, part_bytes):
        part = data[offset : offset + part_bytes]
        yield pack(PacketType.Data, struct.pack("<I", transaction_id) + part)
    yield pack(PacketType.EndData, struct.pack("<I", transaction_id) + data[last:])


def receive_data(sock: socket.socket) -> bytes:
    """Data phase from the initiator, after its operation request. Raises WireError."""
    start = receive(sock)
    if start.kind != PacketType.StartData:
        raise WireError(f"{start.kind.name} where data should start")
    if start.body[4:12] == bytes(8):  # no data at all, as libgphoto2 sends a value without a type
        return b""
    parts = bytearray()
    while True:
        packet = receive(sock)
        if packet.kind not in (PacketType.Data, PacketType.EndData):
            raise WireError(f"{packet.kind.name} in the data")
        parts += packet.body[4:]
        if packet.kind == PacketType.EndData:
            return bytes(parts)
        if len(parts) > MAX_PACKET_BYTES:
            raise WireError(f"too much data, {len(parts)} bytes")
