"""From the space key to libgphoto2: which functions of ours stand on the way, read from the real stacks."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from session.cameras import remote_camera
from session.frame import camera_messages as say
from session.shoot.acts import AskRelease
from session.shoot.events import CameraFound, FrameMoved
from tests.support.ears import Ears
from tests.support.mock_process import MockCamera
from tests.support.running_screen import SMALL, running
from tests.support.stacks import Handovers
from tui.app.stillset_app import StillsetApp
from tui.shell.build import OpenShoot
from tui.shell.choices import Choices

MOST_FUNCTIONS = 12
LOOPS = {
    "session/shoot/runner.py Runner._run",
    "session/cameras/remote_camera.py RemoteCamera._run",
    "session/cameras/camera_process.py main",
    "session/cameras/camera_process.py CameraProcess.serve",
}
"""Where a thread or a process waits for whatever comes next: they stand below every way."""

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


async def way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The functions on the stacks when the wish, the request and the call were handed on, in their order."""
    traced = tmp_path / "stack.txt"
    monkeypatch.setenv("STILLSET_TRACED", str(traced))
    monkeypatch.setattr(remote_camera, "HOST", "tests.support.traced_host")
    with MockCamera() as mock, Handovers(AskRelease, say.Release).watched() as handovers:
        table = OpenShoot(
            Choices(
                log=str(tmp_path / "log.db"),
                folder=tmp_path / "pictures",
                camera=mock.address,
                job="Invented movements",
                piece="bridge",
                view="flat",
                settings=(("exposure_s", 1 / 200), ("f_number", 11.0), ("iso", 100)),
                lights=(("key", {"power_ev": -2.0, "distance_mm": 600.0}),),
            )
        )
        try:
            ears = Ears(table)
            app = StillsetApp(table)
            table.start()
            async with running(app, SMALL) as at:
                await ears.until(CameraFound)
                while table.ask(lambda shoot: shoot.shoot_state.settings_asked):
                    await at.settle()
                await at.press("space")
                await ears.until(FrameMoved, lambda event: event.number == 1 and event.state == "receiving")
        finally:
            table.close()
    assert len(handovers.stacks) == 3, "key → controller → camera's thread → camera's process"
    assert any(name.endswith("Releases.ask") for name in handovers.stacks[1]), "nothing had to be waited for"
    stacks = [*handovers.stacks, traced.read_text(encoding="utf-8").splitlines()]
    return [name for stack in stacks for name in stack if name not in LOOPS]


async def test_way_from_the_space_key_to_libgphoto2_is_short_and_as_developers_md_shows_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = await way(tmp_path, monkeypatch)
    print("\n".join(found))
    assert len(found) <= MOST_FUNCTIONS
    block = re.search(r"<!-- way -->\n(.*?)<!-- /way -->", DEVELOPERS.read_text(encoding="utf-8"), re.DOTALL)
    assert block
    assert re.findall(r"`([^`]+\.py) ([\w.]+)`", block[1]) == [tuple(name.split()) for name in found]
