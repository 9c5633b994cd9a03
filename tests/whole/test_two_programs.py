"""Two stillsets: one log has one writer, one camera has one owner, and looking back goes on beside a shoot."""

from __future__ import annotations

from pathlib import Path

from tests.support.mock_process import MockCamera
from tests.support.slow_kit import slow_kit
from tests.support.stillset_program import CAMERA, StillsetHome


def test_beside_a_shoot_a_second_one_is_told_who_has_log_and_camera_and_looking_back_works(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    with MockCamera() as mock:
        shoot = ("shoot", "--headless", "--camera", mock.address)
        waiting = ("--frames", "2", "--light", "key", "--kit", str(slow_kit(tmp_path)))
        with home.start(*shoot, *waiting) as program:
            program.until("Frame 2 waits")
            camera = program.process_of(CAMERA)
            releases = mock.hands("state")["releases"]

            same_log = home.run(*shoot)
            assert same_log.code == 1
            assert same_log.sentence() == f"Another stillset has this log open (process {program.pid}): {home.log}."
            changed = home.run("setup", "set", "--iso", "200")
            assert (changed.code, changed.sentence()) == (1, same_log.sentence())

            same_camera = home.run(*shoot, "--log", str(tmp_path / "other.db"))
            assert same_camera.code == 1
            told = f"The camera at {mock.address} is in use by another stillset (process {camera})."
            assert same_camera.sentence() == told

            looked = home.run("log", "frames", "--json")
            assert (looked.code, looked.err) == (0, "")
            assert [frame["state"] for frame in looked.json_lines()] == ["logged"]
            assert mock.hands("state")["releases"] == releases
            program.interrupt()
            program.ended()
        assert home.run(*shoot, "--no-light", "key").code == 0
    assert [frame["state"] for frame in home.frames()] == ["logged", "logged"]
