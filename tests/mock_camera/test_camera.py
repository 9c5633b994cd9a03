"""A whole camera: what is in its buffer is written before it goes, and a summary makes another body of it."""

import socket
from pathlib import Path

import pytest

from mock_camera.played.bodies import body_of
from mock_camera.ptp.codes import Response
from tests.support.bare_responder import BODIES
from tests.support.camera_bench import CameraBench


def test_frames_in_the_buffer_are_on_the_card_when_it_is_closed(bench: CameraBench, tmp_path: Path) -> None:
    camera = bench.start(buffer_s=0.05)
    assert camera.capture.release(1) is Response.OK
    camera.close()
    assert [path.suffix for path in sorted(tmp_path.rglob("STIL*"))] == [".JPG"]


def test_a_summary_makes_the_camera_another_body(bench: CameraBench) -> None:
    played = bench.start(played=body_of(BODIES / "extension_0e.txt"))
    hands = bench.hands(played)
    hands.do("set_property", code=0x5007, value=800)
    assert played.body.setting("f_number") == 8.0


def test_both_doors_are_closed_when_it_goes(bench: CameraBench) -> None:
    camera = bench.start()
    camera.close()
    for port in (camera.wire.port, camera.control.port):
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.1", port), timeout=5)
