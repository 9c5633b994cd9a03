"""From release to saved through the whole product, against the plainest python-gphoto2 script, side by side.

Ours is measured from the act of asking, as the release key does it, to the event that says that every file of the
frame is on the disk and in the log: rules, the intent committed before the release (synchronous=FULL), the camera's
process, SHA-256, fsync and rename of each file, a commit for each step, with the judge at work on the same machine
(the second frame of each round is asked for as soon as the first is saved). The script triggers, waits for the events,
gets, writes and fsyncs. Each drives a simulated camera like the other's, in turn, two frames each, so that neither has
the quieter machine; medians of 20 frames are compared.

    pytest tests/benchmarks/test_release_to_saved.py -s
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
from contextlib import ExitStack, closing
from pathlib import Path
from time import monotonic

import pytest

from session.frame.states import FrameState
from session.shoot.events import Event, FrameMoved
from session.system.process import import_path
from tests.support.mock_process import MockCamera
from tui.headless.headless_shoot import Headless, headless
from tui.shell.choices import Choices

ROUNDS, FRAMES_A_ROUND = 10, 2
MOST = 1.15
"""What the acceptance of the product allows."""

CAMERAS = {"one JPEG": (), "raw and JPEG": ("--format", "raw+jpeg")}
AS_BY_DEFAULT = ("--shutter-lag-s", "0.05", "--buffer-s", "0.05", "--pixels", "1536x1024")
"""The simulated camera's own values, which `MockCamera` makes quick and small otherwise."""


class Bare:
    """The script, connected all the time, that takes a frame when it is told to."""

    def __init__(self, mock: MockCamera, folder: Path, files: int) -> None:
        folder.mkdir()
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-m", "tests.support.bare_release", str(mock.port), str(folder), "-", str(files)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=os.environ | {"PYTHONPATH": import_path("tests"), "XDG_CONFIG_HOME": str(folder)},
        )

    def take(self) -> float:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(b"\n")
        self._process.stdin.flush()
        return float(self._process.stdout.readline())

    def close(self) -> None:
        self._process.communicate()


class Ours:
    """The product with nobody at the screen."""

    def __init__(self, run: Headless) -> None:
        self._run = run
        self._saved_at_s = 0.0
        run.open_shoot.listen(self._hear)

    def _hear(self, event: Event) -> None:
        if isinstance(event, FrameMoved) and event.state is FrameState.SAVED:
            self._saved_at_s = monotonic()

    def take(self) -> float:
        began_s = monotonic()
        moved = self._run.release()
        assert moved.state in (FrameState.SAVED, FrameState.LOGGED)
        return self._saved_at_s - began_s


@pytest.mark.parametrize("name", CAMERAS)
def test_release_to_saved_and_logged_takes_little_longer_than_the_plainest_script(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    options = (*AS_BY_DEFAULT, *CAMERAS[name])
    files = 2 if "raw" in name else 1
    with ExitStack() as stack:
        one, other = (stack.enter_context(MockCamera(*options)) for _ in range(2))
        bare = stack.enter_context(closing(Bare(one, tmp_path / "bare", files)))
        choices = Choices(log=str(tmp_path / "shoot.db"), folder=tmp_path / "pictures", camera=other.address)
        run = stack.enter_context(headless(choices, lambda text: None, telling=False))
        ours = Ours(run)
        run.connect()
        run.accept(run.release().frame_id)
        bare_s: list[float] = []
        ours_s: list[float] = []
        for _ in range(1 + ROUNDS):
            bare_s += [bare.take() for _ in range(FRAMES_A_ROUND)]
            ours_s += [ours.take() for _ in range(FRAMES_A_ROUND)]
            assert run.all_done()
    bare_ms, ours_ms = (statistics.median(took[FRAMES_A_ROUND:]) * 1e3 for took in (bare_s, ours_s))  # first to warm up
    more_ms = ours_ms - bare_ms
    print(
        f"\n{name}: ours {ours_ms:.1f} ms, bare {bare_ms:.1f} ms, {more_ms:.1f} ms more, ratio {ours_ms / bare_ms:.3f}"
    )
    assert len(ours_s) == len(bare_s) == (1 + ROUNDS) * FRAMES_A_ROUND
    assert ours_ms / bare_ms <= MOST
