"""A second terminal looks on while the first shoots: real programs, one log, one simulated camera."""

from __future__ import annotations

from pathlib import Path

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


def test_a_port_that_is_taken_or_none_is_one_sentence(tmp_path: Path) -> None:
    ended = StillsetHome(tmp_path).run("follow", "--serve", "no-port")
    assert ended.code == 2
    assert "--serve takes a port like 8080" in ended.sentence()
