"""Files that come only after a cut cable, and second copies, by the command line over the real libgphoto2."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.long_day import LongDay, long_day
from tests.support.stillset_program import sha256

BUFFER_S = 2.0
"""From the exposure to the card: longer than it takes to find the camera again."""


def test_file_that_the_camera_writes_after_it_is_back_belongs_to_the_frame_that_was_asked(tmp_path: Path) -> None:
    with long_day(tmp_path, "--buffer-s", str(BUFFER_S)) as day:
        day.mock.fault("cable_cut", when="exposure")
        ended = day.shoot()
        assert (ended.code, ended.err) == (0, ""), ended
        frames = day.frames()
        assert [(frame["released_by"], frame["state"], len(frame["files"])) for frame in frames] == [
            ("tool", "logged", 2),
            ("tool", "logged", 2),
        ]


@pytest.fixture
def day(tmp_path: Path) -> Iterator[LongDay]:
    with long_day(tmp_path) as day:
        yield day


def test_each_file_is_in_both_places_and_a_disk_unplugged_keeps_the_shutter_shut(day: LongDay, tmp_path: Path) -> None:
    second = tmp_path / "second"
    missing = day.home.run("shoot", "--headless", "--camera", day.mock.address, "--copy-to", str(second))
    assert missing.code == 2
    assert f"There is no folder {second} for second copies; is its disk plugged in?" in missing.err
    second.mkdir()
    with day.start(1, "--copy-to", str(second)) as program:
        ended = program.ended()
    assert (ended.code, ended.err) == (0, ""), ended
    (_, frame) = day.frames()
    copies = sorted(path for path in second.rglob("*") if path.suffix in (".JPG", ".TIF"))
    assert [sha256(path) for path in copies] == [
        file["sha256"] for file in sorted(frame["files"], key=lambda f: f["path"])
    ]
    assert day.home.run("verify").code == 0
    copies[0].unlink()
    told = day.home.run("verify")
    assert (told.code, f"Frame 2: the second copy {copies[0]} is nowhere." in told.out) == (1, True)
    shutil.rmtree(second)
