"""A second terminal, and tablets, look on while the first shoots: real programs, one log, one simulated camera."""

from __future__ import annotations

import os
import re
import signal
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.support.mock_camera_program import MockCameraProgram
from tests.support.served_page import LOOPBACK, Asking
from tests.support.stillset_program import Running, StillsetHome, sha256

SET = ("--seed", "3", "--pixels", "1536x1024", "--format", "jpeg")


def test_a_follower_prints_each_frame_while_it_is_shot_and_leaves_the_log_as_it_was(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    with MockCameraProgram(*SET) as mock, home.start("follow") as follower:
        follower.until("There is no log at")
        shoot = home.run(
            *("shoot", "--headless", "--frames", "2", "--camera", f"ptpip:127.0.0.1:{mock.port}"),
            *("--piece", "ring 4", "--view", "front", "--exposure-s", "1/200"),
        )
        assert shoot.code == 0, shoot
        follower.until("    1  ring 4, front")
        follower.until("    2  ring 4, front")
        before = sha256(home.log)
        follower.interrupt()
        ended = follower.ended()
    assert ended.code == 1 and "Traceback" not in ended.out + ended.err, ended
    assert [line.split()[0] for line in ended.out.splitlines()][-1] == "2"
    assert sha256(home.log) == before


@contextmanager
def serving(home: StillsetHome) -> Iterator[tuple[Running, Asking]]:
    """`stillset follow --serve` on a free port of loopback, and somebody who read its address."""
    with socket.create_server((LOOPBACK, 0)) as free:
        port = free.getsockname()[1]
    with home.start("follow", "--serve", str(port)) as server:
        server.until("Ctrl-C ends it.")
        found = re.search(rf"http://{LOOPBACK}:{port}/([a-z0-9-]+)/", server.said)
        assert found, server.said
        yield server, Asking(port, found[1])


def test_twenty_tablets_see_each_frame_while_it_is_shot_and_leave_the_log_as_it_was(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    with MockCameraProgram(*SET) as mock, serving(home) as (server, page):
        viewers = [page.looking_on() for _ in range(20)]
        shoot = home.run(
            *("shoot", "--headless", "--frames", "2", "--camera", f"ptpip:127.0.0.1:{mock.port}"),
            *("--piece", "ring 4", "--view", "front", "--exposure-s", "1/200"),
        )
        assert shoot.code == 0, shoot
        before = sha256(home.log)
        for viewer in viewers:
            state = viewer.until("progress", "frame 2 · ring 4 · front")
            while not state["frame"]:
                state = viewer.until("progress", "frame 2 · ring 4 · front")
            assert page.get(f"picture/{state['frame']}").status == 200
        assert page.get(f"region/{state['frame']}").body.startswith(b"\xff\xd8")
        assert page.get("", "POST").status == 405
        server.terminate()
        ended = server.ended()
        for viewer in viewers:
            viewer.close()
    assert ended.code == 0 and ended.err == "" and ended.out.endswith("Nobody looks on any more.\n"), ended
    assert sha256(home.log) == before


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_each_of_the_signals_ends_it_in_order(tmp_path: Path, number: signal.Signals) -> None:
    with serving(StillsetHome(tmp_path)) as (server, page):
        with page.looking_on() as viewer:
            assert viewer.status == 200
            os.kill(server.pid, number)
            ended = server.ended()
        assert (ended.code, ended.err) == (0, "")


def test_a_port_that_is_taken_or_none_is_one_sentence(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    ended = home.run("follow", "--serve", "no-port")
    assert ended.code == 2
    assert "--serve takes a port like 8080" in ended.sentence()
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        ended = home.run("follow", "--serve", f"127.0.0.1:{port}")
    assert ended.code == 1
    assert f"Port {port} of 127.0.0.1 can't be served" in ended.sentence()
    ended = home.run("follow", "--serve", "192.0.2.7:8080")
    assert ended.code == 1 and "Port 8080 of 192.0.2.7 can't be served" in ended.sentence()
