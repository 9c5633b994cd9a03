"""The player of the tone: without a device or its extra it says one sentence."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from session.system.process import import_path
from tui.bench.sound import Sound
from tui.bench.tone_player import NO_DEVICE, NO_EXTRA


@pytest.fixture
def sound() -> Sound:
    pytest.importorskip("miniaudio")
    return Sound("--no-device")


def test_without_a_device_there_is_one_sentence() -> None:
    pytest.importorskip("miniaudio")
    sound = Sound()
    assert sound.start() in (NO_DEVICE, "")  # some machines have a loudspeaker
    sound.stop()


def test_without_the_extra_there_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "miniaudio.py").write_text("raise ImportError")
    path = f"{tmp_path}{os.pathsep}{import_path('tui')}"
    command = [sys.executable, "-P", "-m", "tui.bench.tone_player"]
    ended = subprocess.run(command, env=os.environ | {"PYTHONPATH": path}, capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stdout.strip(), ended.stderr) == (1, NO_EXTRA, "")
