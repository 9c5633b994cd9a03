"""A transfer that takes its time: how far it is is told truly, and leaving meanwhile loses nothing."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame import camera_messages as say
from tests.support.camera_user import CameraUser
from tests.support.long_day import LongDay
from tests.support.mock_process import MockCamera
from tests.support.terminal_program import Terminal, in_terminal

SENTENCE = "y again"
"""As much of the sentence as stands on one line, however long the numbers before it are."""


@pytest.fixture(autouse=True)
def hanging_up_is_heard() -> Iterator[None]:
    """A program that is begun with SIGHUP ignored, as `nohup` does, rightly goes on: so the tests aren't begun so."""
    before = signal.signal(signal.SIGHUP, signal.SIG_DFL)
    yield
    signal.signal(signal.SIGHUP, before)


def test_what_is_told_of_a_transfer_is_what_has_come(tmp_path: Path) -> None:
    with (
        MockCamera("--pixels", "384x256", "--format", "raw+jpeg") as mock,
        CameraUser(tmp_path) as user,
    ):
        user.connect(mock.address)
        mock.hands("wire", bytes_per_s=200_000)
        user.camera.post(say.Release("f", str(tmp_path / "frames"), "0001", 2))
        user.until(say.FrameComplete)
        told = [message for message in user.heard if isinstance(message, say.FileComing)]
        whole = sum(message.file.bytes for message in user.heard if isinstance(message, say.FileSaved))
    assert len(told) >= 3
    assert [message.bytes for message in told] == sorted(message.bytes for message in told)
    assert all(0 < message.bytes <= message.of_bytes == whole for message in told[1:])
    # no machine makes the wire quicker than it is; a tenth is left for the slices that it is paced in
    assert all(message.left_s >= 0.9 * (whole - message.bytes) / 200_000 for message in told[1:])


def saving(at: Terminal, day: LongDay) -> None:
    """Release at the bench, and go on as soon as the JPEG is here and the raw file is coming."""
    day.mock.slow_raws()
    at.press(" ")
    at.until("1 already here")


def at_the_bench(day: LongDay):
    return in_terminal(day.home, "shoot", "--camera", day.mock.address, columns=100)


def assert_fetched_at_the_next_start(day: LongDay) -> None:
    day.as_at_start()
    ended = day.shoot()
    assert ended.code == 0, ended
    assert {frame["state"] for frame in day.frames()} == {"logged"}
    assert len(day.frames()) == day.mock.hands("state")["releases"]


def test_leaving_keeps_a_line_on_the_screen_until_the_frame_is_saved(day: LongDay) -> None:
    with at_the_bench(day) as at:
        at.until(" %  card")
        saving(at, day)
        at.press("Qy")
        at.until(SENTENCE)
        assert at.process.poll() is None, "it is still saving"
        day.mock.quick_wire()
        assert at.ended() == 0
    last = day.home.frames()[-1]
    assert last["state"] in ("saved", "logged") and len(last["files"]) == 2


def test_leaving_twice_leaves_the_frame_on_the_card_and_the_next_start_fetches_it(day: LongDay) -> None:
    with at_the_bench(day) as at:
        at.until(" %  card")
        saving(at, day)
        at.press("Qy")
        at.until(SENTENCE)
        at.press("y")
        assert at.ended() == 0
        assert "fired, not saved: it is on the card, and is fetched at the next start." in at.text
    assert day.home.frames()[-1]["state"] == "missing"
    assert_fetched_at_the_next_start(day)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP], ids=["SIGTERM", "SIGHUP"])
def test_the_system_ends_the_bench_in_a_transfer(day: LongDay, number: signal.Signals) -> None:
    with at_the_bench(day) as at:
        at.until(" %  card")
        saving(at, day)
        os.kill(at.process.pid, number)
        assert at.ended() == 1
        assert "Ended by the system. Frame" in at.text and "fetched at the next start." in at.text
    assert day.home.frames()[-1]["state"] == "missing"
    assert_fetched_at_the_next_start(day)


def test_the_terminal_is_closed_in_a_transfer(day: LongDay) -> None:
    with at_the_bench(day) as at:
        at.until(" %  card")
        saving(at, day)
        at.hang_up()
        assert at.process.wait(60) == 1
    assert day.home.frames()[-1]["state"] == "missing"
    assert_fetched_at_the_next_start(day)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP], ids=["SIGTERM", "SIGHUP"])
def test_the_system_ends_a_shoot_without_a_screen_in_a_transfer(day: LongDay, number: signal.Signals) -> None:
    day.mock.slow_raws()
    with day.start() as program:
        day.until_files(1)
        os.kill(program.pid, number)
        ended = program.ended()
    assert ended.code == 1, ended
    assert ended.sentence() == "Stopped. What was saved until now is safe."
    last = day.home.frames()[-1]
    assert last["state"] == "missing"
    assert f"Frame {last['number']} fired, not saved" in ended.out
    assert_fetched_at_the_next_start(day)


def test_the_system_ends_a_bench_at_rest(day: LongDay) -> None:
    with at_the_bench(day) as at:
        at.until(" %  card")
        os.kill(at.process.pid, signal.SIGTERM)
        assert at.ended() == 1
        assert "Ended by the system. What was saved until now is safe." in at.text
