"""Clocks that are hours off or set anew, and a computer that sleeps: no frame gets another's file, none is lost."""

from __future__ import annotations

import os
import signal
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from session.frame.states import FrameState
from storage.reading.log_reader import LogReader
from tests.support.frame_of_each_file import Case, Quick, quick_shoot

BODY = Path(__file__).parent.parent / "bodies" / "extension_0a.txt"
HOUR_S = 3600.0


def replug(quick: Quick) -> None:
    quick.mock.hands("switch_off")
    quick.until(lambda: quick.shoot.shoot_state.description is None)
    quick.mock.hands("switch_on")
    quick.until(lambda: quick.shoot.shoot_state.description is not None)


def own_files_in_order(case: Case) -> bool:
    """Whether each frame has the file of its own number, and nothing was taken for a release on the camera."""
    told = [(state, names) for _, state, names in case.frames]
    whole = (FrameState.SAVED, FrameState.LOGGED)
    numbered = [(f"STIL{number:04d}.JPG",) for number, _, _ in case.frames]
    return case.by_body == () and [names for _, names in told] == numbered and all(state in whole for state, _ in told)


def test_the_bodys_clock_is_never_believed(tmp_path: Path) -> None:
    """Years off, set forward, set back, in the middle of a shoot, also where a file is looked for on the card.

    A played body, whose files and property of date and time (0x5011) both have its own time.
    """
    body = ("--body", str(BODY), "--date-time", "2001-01-01T00:00:00")
    with quick_shoot(tmp_path, 40, "jpeg", *body) as quick:
        quick.at_rest(quick.release())
        for date_time in ("20990101T000000", "19990601T120000"):
            quick.mock.fault("late_file", seconds=20)
            quick.at_rest(quick.release())
            quick.mock.hands("turn_dial", setting="date_time", value=date_time)
            quick.mock.hands("set_property", code=0x5011, value=date_time)
            quick.at_rest(quick.release())
            quick.mock.fault("not_announced")
            quick.at_rest(quick.release())
            replug(quick)
        quick.all_come()
        assert own_files_in_order(quick.case())
        with closing(LogReader.open(tmp_path / "shoot" / "log.db")) as reader:
            times = [(row.asked_at, row.released_at) for row in reader.records()]
    began = [asked_at for asked_at, _ in times]
    assert began == sorted(began)
    for asked_at, released_at in times:
        assert released_at is not None
        assert asked_at <= released_at < asked_at + timedelta(minutes=1)


def test_the_computers_clock_set_back_an_hour_mixes_nothing_up(tmp_path: Path) -> None:
    with quick_shoot(tmp_path, 40, "jpeg") as quick:
        quick.at_rest(quick.release())
        quick.mock.fault("late_file", seconds=20)
        late = quick.release()
        quick.clock.set_back_s = HOUR_S
        quick.at_rest(late)
        replug(quick)
        quick.at_rest(quick.release())
        quick.all_come()
        assert own_files_in_order(quick.case())


def test_a_computer_that_sleeps_while_a_frame_comes_in_has_it_when_it_is_awake(tmp_path: Path) -> None:
    with quick_shoot(tmp_path, 40, "jpeg", "--wire-bytes-per-s", "60000") as quick:
        frame_id = quick.release()
        quick.until(lambda: quick.shoot.releases.in_camera is not None)
        pid = quick.process_id
        assert pid is not None
        os.kill(pid, signal.SIGSTOP)
        os.waitid(os.P_PID, pid, os.WSTOPPED | os.WNOWAIT)
        quick.clock.set_back_s = -8 * HOUR_S
        os.kill(pid, signal.SIGCONT)
        quick.at_rest(frame_id)
        quick.at_rest(quick.release())
        quick.all_come()
        assert own_files_in_order(quick.case())
