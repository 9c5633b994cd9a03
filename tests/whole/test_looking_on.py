"""A second terminal looks on while the first shoots: real programs, one log, one simulated camera."""

from __future__ import annotations

import asyncio
import socket
from pathlib import Path

import pytest
from mock_camera_program import MockCameraProgram
from stillset_program import StillsetHome, sha256

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


async def test_a_browser_gets_the_page_and_the_followers_screen_from_this_machine_alone(tmp_path: Path) -> None:
    aiohttp = pytest.importorskip("aiohttp")  # what textual-serve is built on
    pytest.importorskip("textual_serve")
    with socket.create_server(("127.0.0.1", 0)) as free:
        where = f"127.0.0.1:{free.getsockname()[1]}"
    with StillsetHome(tmp_path).start("follow", "--serve", where) as server:
        server.until("can look on now")
        async with aiohttp.ClientSession() as browser, asyncio.timeout(60):
            while True:
                try:
                    page = await (await browser.get(f"http://{where}/")).text()
                    break
                except aiohttp.ClientConnectorError:  # it opens its port a moment later
                    await asyncio.sleep(0)
            assert "<title>stillset follow</title>" in page
            assert (await browser.get(f"http://{where}/static/js/textual.js")).status == 200
            shown = b""
            async with browser.ws_connect(f"http://{where}/ws?width=80&height=24") as wire:
                while b"There is no log at" not in shown:
                    shown += await wire.receive_bytes()
        server.interrupt()
        ended = server.ended()
    assert "Traceback" not in ended.out + ended.err, ended


def test_a_port_that_is_taken_or_none_is_one_sentence(tmp_path: Path) -> None:
    pytest.importorskip("textual_serve")
    home = StillsetHome(tmp_path)
    ended = home.run("follow", "--serve", "no-port")
    assert ended.code == 2
    assert "--serve takes a port like 8080" in ended.sentence()
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        ended = home.run("follow", "--serve", f"127.0.0.1:{port}")
    assert ended.code == 1
    assert f"Port {port} can't be served" in ended.sentence()
