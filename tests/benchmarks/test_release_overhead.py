"""From release to saved: our camera process against the plainest python-gphoto2 script, side by side.

Both drive the same simulated camera in turn, a few frames each, so that neither has the quieter machine; medians of
20 frames each are compared. Ours is measured from the request posted in the program to the message that the last file
is safe, through process, pipe, checks, SHA-256, two fsyncs and rename. With raw and JPEG both fetch the JPEG first; a
script that fetches a raw file while the camera still writes its JPEG is done sooner and can be judged later.

    pytest tests/benchmarks/test_release_overhead.py -s
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
from pathlib import Path
from time import monotonic

import pytest

from session.frame import camera_messages as say
from session.system.process import import_path
from tests.support.camera_user import CameraUser
from tests.support.mock_process import MockCamera

ROUNDS = 10
FRAMES_A_ROUND = 2
MOST = 1.15
"""What the acceptance of the camera path allows."""

DEFAULT_CAMERA = ("--shutter-lag-s", "0.05", "--buffer-s", "0.05", "--pixels", "1536x1024")


def bare(mock: MockCamera, folder: Path, files: int) -> list[float]:
    words = (mock.port, folder, FRAMES_A_ROUND + 1, files)
    told = subprocess.run(
        [sys.executable, "-P", "-m", "tests.support.bare_release", *map(str, words)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        check=True,
        env=os.environ | {"PYTHONPATH": import_path("tests"), "XDG_CONFIG_HOME": str(folder)},
    )
    took: list[float] = json.loads(told.stdout)
    return took[1:]


def ours(mock: MockCamera, folder: Path, files: int) -> list[float]:
    took = []
    with CameraUser(folder) as user:
        user.connect(mock.address)
        for _ in range(FRAMES_A_ROUND + 1):
            began = monotonic()
            user.release(files)
            for _ in range(files):
                user.until(say.FileSaved)
            took.append(monotonic() - began)
            user.until(say.FrameComplete)
    return took[1:]


@pytest.mark.parametrize(
    ("name", "options", "files"),
    [
        ("one JPEG, camera as by default", DEFAULT_CAMERA, 1),
        ("one JPEG, camera without lag or buffer", ("--pixels", "1536x1024"), 1),
        ("raw and JPEG, camera as by default", (*DEFAULT_CAMERA, "--format", "raw+jpeg"), 2),
    ],
)
def test_release_to_saved_takes_little_longer_than_the_plainest_script(
    tmp_path: Path, name: str, options: tuple[str, ...], files: int
) -> None:
    bare_s: list[float] = []
    ours_s: list[float] = []
    with MockCamera(*options) as mock:
        for number in range(ROUNDS):
            folder = tmp_path / str(number)
            folder.mkdir()
            bare_s += bare(mock, folder, files)
            ours_s += ours(mock, folder, files)
    ratio = statistics.median(ours_s) / statistics.median(bare_s)
    print(
        f"\n{name}: ours {statistics.median(ours_s) * 1e3:.1f} ms, "
        f"bare script {statistics.median(bare_s) * 1e3:.1f} ms, ratio {ratio:.3f}"
    )
    assert len(ours_s) == len(bare_s) == ROUNDS * FRAMES_A_ROUND
    assert ratio <= MOST
