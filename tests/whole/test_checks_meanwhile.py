"""The checks are never in the way: of raw and JPEG the verdict is there first, and the next release need not wait.

An open table as the screen has it: controller, log, libgphoto2, the simulated camera and the judge, no screen.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame.finding import FocusVerdict
from session.frame.states import FrameState
from session.shoot.acts import AskRelease
from session.shoot.events import FileArrived, FrameJudged, FrameMoved
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import DEADLINE_S, JUDGE, children, until
from tui.headless.headless_shoot import Headless, headless
from tui.shell.choices import Choices


@pytest.fixture(scope="module")
def mock() -> Iterator[MockCamera]:
    with MockCamera("--pixels", "384x256", "--format", "raw+jpeg") as mock:
        yield mock


@pytest.fixture
def run(tmp_path: Path, mock: MockCamera, monkeypatch: pytest.MonkeyPatch) -> Iterator[Headless]:
    choices = Choices(log=str(tmp_path / "shoot.db"), folder=tmp_path / "pictures", camera=mock.address)
    with headless(choices, lambda text: None, telling=False) as run:
        run.connect()
        yield run


def test_on_a_slowed_wire_the_verdict_is_there_before_the_raw_file(run: Headless, mock: MockCamera) -> None:
    first = run.release()
    assert run.wait_for_log(first.frame_id)
    run.accept(first.frame_id)
    mark = run.tape.mark()
    mock.slow_raws()
    try:
        run.open_shoot.post(AskRelease())
        judged = run.wait(FrameJudged, mark, DEADLINE_S)
        arrived = [event.file.kind for event in run.tape.since(mark) if isinstance(event, FileArrived)]
        assert run.ask(lambda shoot: shoot.releases.in_camera is not None)
    finally:
        mock.quick_wire()
    assert judged is not None
    assert judged.focus.verdict is not FocusVerdict.MISSED
    assert arrived == ["jpeg"]
    assert run.wait_for_log(judged.frame_id)
    kinds = [event.file.kind for event in run.tape.since(mark) if isinstance(event, FileArrived)]
    assert kinds == ["jpeg", "raw"]


def test_the_next_frames_are_released_and_saved_while_the_first_is_with_the_judge(run: Headless) -> None:
    judge = until(lambda: next(iter(children(os.getpid(), JUDGE)), None), "no judge")
    assert isinstance(judge, int)
    os.kill(judge, signal.SIGSTOP)
    try:
        frames = [run.release().frame_id for _ in range(3)]
        states = {event.frame_id: event.state for event in run.tape.since(0) if isinstance(event, FrameMoved)}
        judged = [event for event in run.tape.since(0) if isinstance(event, FrameJudged)]
    finally:
        os.kill(judge, signal.SIGCONT)
    assert [states[frame_id] for frame_id in frames] == [FrameState.SAVED] * 3
    assert judged == []
    assert all(run.wait_for_log(frame_id) for frame_id in frames)
