"""A heavy day at the tripod: thousands of frames, and everything that happens to camera, card, cable and computer.

Run apart: `python -m pytest tests/benchmarks/test_heavy_day.py -s -q --ignore-glob=`; 5,000 frames take a few
minutes, `STILLSET_FRAMES=500` a part of them. The numbers go over 9999, a folder begins anew, the date changes, the
card is full and changed, the battery is changed, the cable and the hub are gone and back, the computer sleeps, the
clocks of body and computer are set back.
"""

from __future__ import annotations

import hashlib
import os
import select
import signal
import statistics
from collections.abc import Callable
from contextlib import closing
from itertools import pairwise
from pathlib import Path
from time import monotonic

import pytest

from session.frame.states import FrameState
from session.shoot.events import CameraLost
from storage.reading.log_reader import LogReader
from tests.support.frame_of_each_file import Quick, quick_shoot

pytestmark = pytest.mark.timeout(7200)

FRAMES = int(os.environ.get("STILLSET_FRAMES", "5000"))
SPEED = 40
"""Seconds of the camera to a real one."""
SLOWER_AT_MOST = 1.1
MEMORY_GROWS_AT_MOST = 1.1


def battery_changed(quick: Quick) -> None:
    quick.mock.hands("battery", percent=4)
    cable_replugged(quick)
    quick.mock.hands("battery", percent=100)


def cable_replugged(quick: Quick) -> None:
    quick.mock.hands("switch_off")
    quick.until(lambda: quick.shoot.shoot_state.description is None)
    quick.mock.hands("switch_on")
    quick.until(lambda: quick.shoot.shoot_state.description is not None)


def clock_set(date_time: str) -> Callable[[Quick], None]:
    def set_it(quick: Quick) -> None:
        quick.mock.hands("turn_dial", setting="date_time", value=date_time)

    return set_it


def card_formatted(quick: Quick) -> None:
    quick.mock.hands("format_card")


def card_full_and_changed(quick: Quick) -> None:
    quick.mock.hands("fault", name="card_full")
    quick.at_rest(quick.release())
    quick.asked.pop()  # it did not fire
    quick.mock.hands("format_card")


def computer_asleep(quick: Quick) -> None:
    """The camera's process is stopped, as everything is, for less than it takes to be given up."""
    pid = quick.process_id
    assert pid is not None
    os.kill(pid, signal.SIGSTOP)
    select.select([], [], [], 1.0)  # in a soak the computer's own time may pass
    os.kill(pid, signal.SIGCONT)


def computers_clock_set_back(quick: Quick) -> None:
    quick.clock.set_back_s = 3600.0


DAY: tuple[tuple[float, Callable[[Quick], None]], ...] = (
    (0.1, battery_changed),
    (0.2, clock_set("20260504T110000")),
    (0.3, cable_replugged),
    (0.35, battery_changed),  # the simulated one lasts 2,000 frames
    (0.4, card_full_and_changed),
    (0.5, computer_asleep),
    (0.6, cable_replugged),
    (0.61, battery_changed),
    (0.7, clock_set("20260505T000010")),
    (0.75, computers_clock_set_back),
    (0.8, card_formatted),
    (0.86, battery_changed),
)
"""Share of the day → what happens then."""


def memory_kib(pid: int) -> int:
    for line in Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1])
    raise AssertionError(f"process {pid} is gone")


def descriptors(pid: int) -> int:
    return len(list(Path(f"/proc/{pid}/fd").iterdir()))


def processor_s(pid: int) -> float:
    """Processor time of a process so far, s: a loaded machine changes it little."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def test_a_heavy_day_loses_nothing_and_gets_no_slower(tmp_path: Path) -> None:
    still = tmp_path / "card" / "DCIM" / "100STILL"
    still.mkdir(parents=True)
    (still / f"STIL{9999 - FRAMES // 3:04d}.JPG").write_bytes(b"\xff\xd8\xff\xd9")
    with quick_shoot(tmp_path / "day", SPEED, "jpeg", "--card-folder", str(tmp_path / "card")) as quick:
        to_come = list(DAY)
        took_s: list[float] = []
        measured: list[tuple[int, int, int]] = []
        used_s: list[tuple[float, float]] = []
        while len(quick.asked) < FRAMES:
            if to_come and len(quick.asked) >= to_come[0][0] * FRAMES:
                to_come.pop(0)[1](quick)
            quick.events.clear()
            began_s = monotonic()
            quick.at_rest(quick.release())
            took_s.append(monotonic() - began_s)
            assert not any(isinstance(event, CameraLost) for event in quick.events), quick.told()
            pid = quick.process_id
            if pid is not None and len(took_s) % (FRAMES // 10) == 0:
                measured.append((memory_kib(pid), descriptors(pid), memory_kib(os.getpid())))
                used_s.append((processor_s(pid), processor_s(os.getpid())))
        releases = quick.mock.hands("state")["releases"]
    with closing(LogReader.open(tmp_path / "day" / "shoot" / "log.db")) as reader:
        rows = [row for row in reader.records() if FrameState(row.state) is not FrameState.NOT_FIRED]
    assert len(rows) == FRAMES == releases
    for row in rows:
        assert FrameState(row.state) in (FrameState.LOGGED, FrameState.SAVED), row
        (file,) = row.files
        assert hashlib.sha256(Path(file.path).read_bytes()).hexdigest() == file.sha256
    part = FRAMES // 5
    first_s, last_s = statistics.median(took_s[:part]), statistics.median(took_s[-part:])
    print(f"\n{FRAMES} frames: release to saved {first_s * 1000:.1f} ms at first, {last_s * 1000:.1f} ms at last")
    print(f"memory (camera, descriptors, own) KiB: {measured}")
    steps = [(after[0] - before[0], after[1] - before[1]) for before, after in pairwise(used_s)]
    each = [tuple(round(1000 * share / (FRAMES // 10), 2) for share in step) for step in steps]
    print(f"processor (camera, own) ms a frame, from the second tenth on: {each}")
    assert last_s <= SLOWER_AT_MOST * first_s
    camera, opened, own = zip(*measured[2:], strict=True)
    assert max(camera[-3:]) <= MEMORY_GROWS_AT_MOST * camera[0]
    assert max(opened[-3:]) <= opened[0] + 2
    assert max(own[-3:]) <= MEMORY_GROWS_AT_MOST * own[0]
