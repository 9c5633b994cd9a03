"""The camera's end of the network: accepts a host on loopback and serves its operations.

A host opens two TCP connections to one port: commands, then events. Each command connection has
a thread of its own; events are sent from whichever thread has one. One host at a time, a second
one is refused as busy, as a camera does.
"""

import socket
import threading
import time
import uuid
from collections.abc import Callable

from mock_camera.body.cable import NO_TRANSACTION
from mock_camera.body.camera_body import CameraBody
from mock_camera.ptp import packets
from mock_camera.ptp.codes import EventCode, Operation, struck_as
from mock_camera.ptp.packets import FailReason, Packet, PacketType, WireError
from mock_camera.wire.connection import LOOPBACK, Connection, hang_up, wait_while_connected
from mock_camera.wire.responder import Responder

TRANSFERS = frozenset({Operation.GetObject, Operation.GetPartialObject})
PACE_S = 0.02
"""A slowed wire sends in slices of about this long."""
BUSY_GRACE_S = 1.0
"""How long a new host waits for the last one's connection to be noticed as closed."""


class Wire:
    """PTP/IP server on loopback. `port` is the one bound.

    bytes_per_s      pace of the cable, 0 = as fast as it goes
    from_bytes       size, bytes, from which data go at that pace; smaller ones go as fast as they can
    """

    def __init__(
        self, body: CameraBody, new_responder: Callable[[], Responder], *, port: int = 0, bytes_per_s: float = 0.0
    ) -> None:
        self._body, self._new_responder = body, new_responder
        self.bytes_per_s = bytes_per_s
        self.from_bytes = 0
        self.plugged_in = True
        self._back_at_s = 0.0
        self._connection: Connection | None = None
        self._connections = 0
        self._change = threading.Condition()
        self._guid = uuid.uuid5(uuid.NAMESPACE_OID, body.options.serial).bytes
        self._closing = False
        self._listener = socket.create_server((LOOPBACK, port))
        self.port: int = self._listener.getsockname()[1]
        body.cable = self
        self._acceptor = threading.Thread(target=self._accept, name="wire", daemon=True)
        self._acceptor.start()

    # the body's side

    def send_event(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        connection = self._connection
        if connection:
            connection.send_event(code, transaction_id, parameters)

    def cut(self, reconnect_after_s: float) -> None:
        """Drop the host, and refuse the next host for `reconnect_after_s` seconds."""
        self._back_at_s = time.monotonic() + reconnect_after_s
        self._drop()

    def lose_events(self) -> None:
        if self._connection:
            self._connection.lose_events()

    def plug(self, in_: bool) -> None:
        """Camera on or off: off drops the host and refuses others until on again."""
        self.plugged_in = in_
        if not in_:
            self._drop()

    def is_connected(self) -> bool:
        return self._connection is not None

    def close(self) -> None:
        self._closing = True
        hang_up(self._listener)
        self._drop()
        self._acceptor.join()

    def _drop(self) -> None:
        if connection := self._connection:
            self._end(connection)

    def _end(self, connection: Connection) -> None:
        """Hang up; the next host may come, and finds no session and no live view open."""
        connection.close()
        with self._change:
            if self._connection is connection:
                self._connection = None
                connection.responder.hung_up()
                self._change.notify_all()

    # the network's side

    def _accept(self) -> None:
        while not self._closing:
            try:
                sock, _ = self._listener.accept()
            except OSError:
                return
            if not self.plugged_in or time.monotonic() < self._back_at_s:
                hang_up(sock)
                continue
            sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            threading.Thread(target=self._greet, args=(sock,), name="host", daemon=True).start()

    def _greet(self, sock: socket.socket) -> None:
        try:
            first = packets.receive(sock)
            if first.kind == PacketType.InitCommandRequest:
                self._open_commands(sock)
            elif first.kind == PacketType.InitEventRequest:
                self._open_events(sock, packets.parse_init_event(first.body))
            else:
                raise WireError(f"{first.kind.name} from a stranger")
        except (WireError, OSError):
            hang_up(sock)

    def _open_commands(self, sock: socket.socket) -> None:
        with self._change:
            if not self._change.wait_for(lambda: self._connection is None, BUSY_GRACE_S):
                sock.sendall(packets.init_fail(FailReason.Busy))
                raise WireError(f"a second host beside connection {self._connections}")
            self._connections += 1
            connection = Connection(self._connections, sock, self._new_responder())
            self._connection = connection
        try:
            sock.sendall(packets.init_command_ack(connection.number, self._guid, self._body.options.model))
            while True:
                self._serve(connection, packets.receive(sock))
        finally:
            self._end(connection)

    def _open_events(self, sock: socket.socket, number: int) -> None:
        with self._change:
            connection = self._connection
        if not connection or connection.number != number or connection.events:
            sock.sendall(packets.init_fail(FailReason.RejectedInitiator))
            raise WireError(f"events for nobody: {number}")
        with connection.event_lock:
            sock.sendall(packets.pack(PacketType.InitEventAck))
            connection.events = sock
        while packets.receive(sock).kind == PacketType.ProbeRequest:
            with connection.event_lock:
                sock.sendall(packets.pack(PacketType.ProbeResponse))

    def _serve(self, connection: Connection, packet: Packet) -> None:
        """Answer an operation with its data phase. Raises WireError when the connection is over."""
        if packet.kind == PacketType.ProbeRequest:
            connection.commands.sendall(packets.pack(PacketType.ProbeResponse))
            return
        if packet.kind == PacketType.Cancel:
            return
        if packet.kind != PacketType.OperationRequest:
            raise WireError(f"{packet.kind.name} where an operation should be")
        request = packets.parse_operation(packet.body)
        name = struck_as(request.code, request.parameters)
        data = packets.receive_data(connection.commands) if request.sends_data else b""
        self._suffer(connection, name)

        reply = connection.responder.answer(request.code, request.transaction_id, request.parameters, data)
        if reply.data is not None:
            self._send_data(connection, request.transaction_id, reply.data, file=request.code in TRANSFERS)
        response = packets.operation_response(reply.code, request.transaction_id, reply.parameters)
        connection.commands.sendall(response)

    def _suffer(self, connection: Connection, operation: str) -> None:
        """Faults that strike before an answer."""
        cut = self._body.faults.take("cable_cut", when=operation)
        if cut:
            self.cut(cut.number("reconnect_after_s"))
            raise WireError(f"cable cut at {operation}")
        stall = self._body.faults.take("stall", operation=operation)
        if stall:
            wait_while_connected(connection.commands, stall.number("seconds"))

    def _send_data(self, connection: Connection, transaction_id: int, data: bytes, *, file: bool) -> None:
        """Data phase to the host, at the pace of the wire; a cut counts the bytes of files only."""
        if file and not connection.cut and (cut := self._body.faults.take("cable_cut", when="transfer")):
            connection.cut, connection.bytes_until_cut = cut, int(cut.number("after_bytes"))
        part_bytes = packets.DATA_BYTES
        is_slow = len(data) >= self.from_bytes
        if is_slow and self.bytes_per_s:
            part_bytes = max(512, min(part_bytes, int(self.bytes_per_s * PACE_S)))
        due_s = time.monotonic()
        for packet in packets.data_packets(transaction_id, data, part_bytes):
            if file and connection.cut:
                if len(packet) > connection.bytes_until_cut:
                    connection.commands.sendall(packet[: connection.bytes_until_cut])
                    self.cut(connection.cut.number("reconnect_after_s"))
                    raise WireError(f"cable cut {connection.bytes_until_cut} bytes into a packet")
                connection.bytes_until_cut -= len(packet)
            connection.commands.sendall(packet)
            if is_slow and self.bytes_per_s:
                due_s += len(packet) / self.bytes_per_s
                time.sleep(max(0.0, due_s - time.monotonic()))
