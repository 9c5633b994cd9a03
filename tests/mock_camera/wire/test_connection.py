"""A host's two sockets: events go where one listens, and whoever waits learns of a hang-up at either end."""

import socket
import threading
from collections.abc import Iterator
from typing import cast

import pytest

from mock_camera.ptp.codes import EventCode
from mock_camera.ptp.packets import WireError
from mock_camera.wire.connection import Connection, hang_up, wait_while_connected
from mock_camera.wire.responder import Responder

Pair = tuple[socket.socket, socket.socket]


@pytest.fixture
def commands() -> Iterator[Pair]:
    ours, theirs = socket.socketpair()
    yield ours, theirs
    ours.close()
    theirs.close()


@pytest.fixture
def events() -> Iterator[Pair]:
    ours, theirs = socket.socketpair()
    yield ours, theirs
    ours.close()
    theirs.close()


def connection(commands: Pair, events: Pair | None = None) -> Connection:
    return Connection(1, commands[0], cast(Responder, None), events[0] if events else None)


def test_an_event_arrives_with_its_code_transaction_and_parameters(commands: Pair, events: Pair) -> None:
    connection(commands, events).send_event(EventCode.ObjectAdded, 7, (0x10001,))
    packet = events[1].recv(100)
    assert int.from_bytes(packet[:4], "little") == len(packet)
    for value, size in ((int(EventCode.ObjectAdded), 2), (7, 4), (0x10001, 4)):
        assert value.to_bytes(size, "little") in packet


def test_before_the_host_has_opened_the_event_socket_an_event_is_lost_quietly(commands: Pair) -> None:
    connection(commands).send_event(EventCode.ObjectAdded, 7, (1,))


def test_to_a_host_that_hung_up_an_event_is_lost_quietly(commands: Pair, events: Pair) -> None:
    events[1].close()
    one = connection(commands, events)
    for _ in range(3):
        one.send_event(EventCode.ObjectAdded, 7, (1,))


def test_events_lost_leave_the_commands(commands: Pair, events: Pair) -> None:
    one = connection(commands, events)
    one.lose_events()
    assert events[1].recv(1) == b""
    one.send_event(EventCode.ObjectAdded, 7, (1,))
    one.commands.sendall(b"still here")
    assert commands[1].recv(100) == b"still here"


def test_closed_both_ends_hear_of_it_and_closing_again_is_nothing(commands: Pair, events: Pair) -> None:
    one = connection(commands, events)
    for _ in range(2):
        one.close()
        hang_up(one.commands)
    assert commands[1].recv(1) == b""
    assert events[1].recv(1) == b""


def test_a_wait_ends_by_itself_while_both_are_there(commands: Pair) -> None:
    commands[1].sendall(b"a command that comes meanwhile stays unread")
    wait_while_connected(commands[0], 0.001)
    assert commands[0].recv(9) == b"a command"


@pytest.mark.parametrize("seconds_s", [0.0, 3600.0])
def test_a_wait_is_given_up_when_the_host_hangs_up(commands: Pair, seconds_s: float) -> None:
    commands[1].close()
    with pytest.raises(WireError, match=r"hung up"):
        wait_while_connected(commands[0], seconds_s)


def test_a_wait_without_end_is_given_up_when_the_camera_hangs_up(commands: Pair) -> None:
    gave_up: list[str] = []
    began = threading.Event()

    def wait() -> None:
        began.set()
        try:
            wait_while_connected(commands[0], 0.0)
        except WireError as error:
            gave_up.append(str(error))

    thread = threading.Thread(target=wait)
    thread.start()
    began.wait()
    hang_up(commands[0])
    thread.join(60)
    assert len(gave_up) == 1
    assert gave_up[0].startswith("hung up")


def test_a_wait_on_a_socket_that_was_closed_before_is_given_up_at_once(commands: Pair) -> None:
    commands[0].close()
    with pytest.raises(WireError, match=r"hung up: "):
        wait_while_connected(commands[0], 3600.0)
