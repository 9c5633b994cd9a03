"""The two sockets of a host: commands and events."""

import contextlib
import select
import socket
import threading
import time
from dataclasses import dataclass, field

from mock_camera.body.faults import ScriptedFault
from mock_camera.ptp import packets
from mock_camera.ptp.codes import EventCode
from mock_camera.ptp.packets import WireError
from mock_camera.wire.responder import Responder

LOOPBACK = "127.0.0.1"
LISTEN_POLL_S = 0.05


@dataclass
class Connection:
    """Command socket, and the event socket once the host has opened that too.

    `cut` is a scripted cable cut that has been armed, `bytes_until_cut` what of files still gets through.
    """

    number: int
    commands: socket.socket
    responder: Responder
    events: socket.socket | None = None
    cut: ScriptedFault | None = None
    bytes_until_cut: int = 0
    event_lock: threading.Lock = field(default_factory=threading.Lock)

    def send_event(self, code: EventCode, transaction_id: int, parameters: tuple[int, ...]) -> None:
        with self.event_lock, contextlib.suppress(OSError):
            if self.events:
                self.events.sendall(packets.event(code, transaction_id, parameters))

    def lose_events(self) -> None:
        with self.event_lock:
            if self.events:
                hang_up(self.events)
                self.events = None

    def close(self) -> None:
        hang_up(self.commands)
        self.lose_events()


def hang_up(sock: socket.socket) -> None:
    with contextlib.suppress(OSError):
        sock.shutdown(socket.SHUT_RDWR)
    sock.close()


def wait_while_connected(sock: socket.socket, seconds_s: float) -> None:
    """Wait `seconds_s` seconds (0 = without end) but give up when either side hangs up. Raises WireError then.

    What the host still sends meanwhile stays unread, so only a hang-up on its side is looked for.
    """
    poll = select.poll()
    try:
        poll.register(sock, select.POLLRDHUP)
    except ValueError as error:
        raise WireError(f"hung up: {error}") from error
    ends_s = time.monotonic() + seconds_s if seconds_s else None
    while ends_s is None or time.monotonic() < ends_s:
        if poll.poll(LISTEN_POLL_S * 1000) or sock.fileno() < 0:
            raise WireError("hung up")
