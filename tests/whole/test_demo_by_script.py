"""The demo without a terminal: every mishap caught and no frame lost, or exit code 1."""

from __future__ import annotations

import json
import os
import re
import signal
from pathlib import Path

from tests.support.stillset_program import StillsetHome, sha256, until_ended


def test_the_demo_catches_every_mishap_loses_nothing_and_says_so_for_machines(tmp_path: Path) -> None:
    """No option says that there is no screen: that there is no terminal is enough."""
    home = StillsetHome(tmp_path)
    ended = home.run("demo", "--json", "--keep", str(tmp_path / "kept"))
    assert ended.code == 0, ended
    told = json.loads(ended.out)
    assert told["frames"] >= 12
    assert told["lost"] == []
    assert told["mishaps"] == told["caught"] >= 5
    assert all(scene["said"] for scene in told["scenes"])
    for scene in told["scenes"]:
        sentences = re.split(r"(?<=[.;]) ", scene["said"])
        assert len(set(sentences)) == len(sentences), "nothing is said twice"
    home.log = tmp_path / "kept" / "demo.db"
    frames = home.frames()
    assert len(frames) == told["frames"]
    assert len({frame["piece"] for frame in frames}) == 2
    assert {frame["state"] for frame in frames} == {"logged"}
    on_card = sorted(sha256(path) for path in (tmp_path / "kept" / "card").rglob("STIL*"))
    assert sorted(file["sha256"] for frame in frames for file in frame["files"]) == on_card
    assert all(sha256(Path(file["path"])) == file["sha256"] for frame in frames for file in frame["files"])


def test_a_demo_that_does_not_go_as_it_should_ends_with_exit_code_1(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    with home.start("demo", "--headless") as program:
        camera = program.process_of("mock_camera")
        program.until("caught")
        os.kill(camera, signal.SIGKILL)
        ended = program.ended()
        until_ended(camera)
    assert ended.code == 1
    assert "no camera" in ended.sentence()
