"""The disk fills up at each write of a shoot in turn, log and pictures alike: said in words, and nothing is lost.

A real file system in memory of a few hundred kB, filled so that one page more is left each time; its errors, and
SQLite's, are the real ones. Mounting it needs root.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from session.shoot.recovery import AGAIN_AT_MOST_S
from tests.support.crash_camera import Card
from tests.support.crash_station import FILES, FRAMES, Moment, Station, begin, lay_out, rows, violations

DISK_BYTES = 4 << 20
PAGE_BYTES = 4096


@pytest.fixture
def root(tmp_path: Path) -> Iterator[Path]:
    if os.geteuid():
        pytest.skip("only root may mount a small disk")
    size = f"size={DISK_BYTES},nr_inodes=1000"
    command = ["mount", "-t", "tmpfs", "-o", size, "none", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"no small disk can be mounted here: {done.stderr.strip()}")
    try:
        yield tmp_path / "station"
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


def filled(root: Path, pages_left: int) -> Path:
    """A file that leaves so many pages of the disk free."""
    filler = root.parent / "filler"
    room = shutil.disk_usage(root).free - pages_left * PAGE_BYTES
    with filler.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, room)
    return filler


def told(station: Station) -> str:
    return "\n".join(str(getattr(event, "text", "")) for event in station.events)


def test_disk_full_at_any_write_loses_nothing_and_the_shoot_goes_on_with_room(root: Path) -> None:
    """Two frames of two files and their rows take some dozens of pages; with enough left nothing is amiss."""
    first = Station(root, Card(), begin(root))
    first.run()
    first.end()
    pages_left, full_at_log, full_at_file = 0, 0, 0
    while pages_left < 500:
        station = again(root, first.moments[-1])
        filler = filled(root, pages_left)
        station.frame()
        station.wait(1.0)
        station.frame()
        said = told(station)
        whole_as_logged(station)
        filler.unlink()
        for _ in range(3):
            station.wait(AGAIN_AT_MOST_S)
        station.frame()
        assert violations(station) == [], f"with {pages_left} pages left"
        assert [state for _, _, state, _, _ in rows(station.log_path, FRAMES)][-1] == "logged"
        station.end()
        if "is full" not in said:
            break
        full_at_log += f"can't be written: its disk, {root.parent}, is full" in said
        full_at_file += "not saved: the disk is full:" in said
        pages_left += 1
    else:
        pytest.fail("two frames never fitted")
    print(f"\nfull at each of {pages_left} pages: {full_at_log} times at the log, {full_at_file} times at a file")
    assert full_at_log and full_at_file


def again(root: Path, empty: Moment) -> Station:
    """A station that has just been begun and has found its camera."""
    lay_out(root, empty.log, empty.start)
    station = Station(root, Card(), empty.start)
    station.recording = False
    station.run()
    return station


def whole_as_logged(station: Station) -> None:
    """While the disk is full: what the log calls saved is whole, and every release is still on the card."""
    for _, path, digest in rows(station.log_path, FILES):
        assert hashlib.sha256(Path(path).read_bytes()).hexdigest() == digest
    assert len(station.card.files) == 2 * len(station.card.released)
    logged = [frame for frame in rows(station.log_path, FRAMES) if frame[2] in ("saved", "logged")]
    assert len(rows(station.log_path, FILES)) >= 2 * len(logged)
