"""The hands' port: a line in, a line out; what can't be done is answered by a sentence, and the next line is served."""

import json
import socket
from collections.abc import Iterator

import pytest

from mock_camera.wire.control import ControlClient, ControlError
from tests.support.camera_bench import CameraBench


@pytest.fixture
def port(bench: CameraBench) -> int:
    return bench.start().control.port


@pytest.fixture
def hands(port: int) -> Iterator[ControlClient]:
    client = ControlClient(port)
    yield client
    client.close()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (b"not json", "Expecting value"),
        (b"[1, 2]", 'a name under "do", not [1, 2]'),
        (b'{"do": 7}', "not {'do': 7}"),
        (b'{"do": "juggle"}', "Nobody can juggle here."),
        (b"\xc3\x28", "utf-8"),
    ],
)
def test_a_line_that_is_no_command_is_answered_and_the_next_is_done(port: int, line: bytes, said: str) -> None:
    with socket.create_connection(("127.0.0.1", port), timeout=10) as sock, sock.makefile("rwb") as lines:
        for sent in (line, b'{"do": "state"}'):
            lines.write(sent + b"\n")
        lines.flush()
        refused, state = (json.loads(lines.readline()) for _ in range(2))
    assert not refused["ok"] and said in refused["error"]
    assert state["ok"]


def test_a_refusal_is_raised_with_the_cameras_sentence(hands: ControlClient) -> None:
    with pytest.raises(ControlError, match=r"^Nobody can juggle here\.$"):
        hands.do("juggle")


def test_two_pairs_of_hands_work_on_the_same_camera(port: int, hands: ControlClient) -> None:
    other = ControlClient(port)
    hands.do("turn_dial", setting="f_number", value=8)
    assert other.do("state")["settings"]["f_number"] == 8  # type: ignore[index]
    other.close()


def test_a_camera_that_has_gone_says_so(bench: CameraBench) -> None:
    camera = bench.start()
    client = ControlClient(camera.control.port)
    client.do("state")
    client._sock.shutdown(socket.SHUT_RD)
    with pytest.raises(ControlError, match=r"The camera has gone\."):
        client.do("state")
    client.close()
