"""The judge's process: answers in order, and answers even when a picture hangs or kills it."""

from __future__ import annotations

import os
import queue
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from session.checks.judge.judge_process import RememberedReference
from session.checks.judge.remote_judge import JudgeProcess
from session.frame.finding import FocusVerdict
from session.frame.ports import Assignment, Judgement
from session.picture.stored_preview import whole_preview
from session.set.setup import Region, Revision
from tests.support.made_pictures import coded, photograph

DEADLINE_S = 60.0
Answers = queue.Queue[Judgement]


@pytest.fixture
def answers() -> Answers:
    return queue.Queue()


@pytest.fixture
def judge(answers: Answers) -> Iterator[JudgeProcess]:
    process = JudgeProcess(answers.put)
    yield process
    process.close()


@pytest.fixture
def picture(saved: Callable[..., Path]) -> Path:
    return saved(coded(photograph("coffee.png", (720, 480))))


def assignment(frame_id: str, path: Path, reference: Path | None = None) -> Assignment:
    revision = Revision(region=Region(0.3, 0.3, 0.4, 0.4))
    return Assignment(
        frame_id, str(path), "jpeg", revision, {}, True, reference_path=str(reference) if reference else None
    )


def test_frames_are_answered_in_the_order_they_came(judge: JudgeProcess, answers: Answers, picture: Path) -> None:
    for number in range(5):
        judge.post(assignment(f"frame {number}", picture, picture))
    found = [answers.get(timeout=DEADLINE_S) for _ in range(5)]
    assert [judgement.frame_id for judgement in found] == [f"frame {number}" for number in range(5)]
    assert {judgement.focus.verdict for judgement in found} == {FocusVerdict.SHARP}


def test_previews_are_stored_after_the_answer_of_frames_that_could_be_opened(
    answers: Answers, picture: Path, tmp_path: Path
) -> None:
    """The process answers in order, so that with the third answer the first two previews are there."""
    folder, told = tmp_path / "log.previews", list[str]()
    process = JudgeProcess(answers.put, previews=folder, tell=told.append)
    try:
        for frame_id, path in (("f-1", picture), ("f-2", tmp_path / "gone.jpg"), ("f-3", picture)):
            process.post(assignment(frame_id, path))
        verdicts = [answers.get(timeout=DEADLINE_S).frame_id for _ in range(3)]
    finally:
        process.close()
    assert verdicts == ["f-1", "f-2", "f-3"] and told == [""], "no trouble, which is told once"
    assert [whole_preview(folder, name) is not None for name in ("f-1", "f-2", "f-3")] == [True, False, True]


def test_judge_computes_on_one_core(judge: JudgeProcess, answers: Answers, picture: Path) -> None:
    """NumPy's matrix library starts a thread for each further core that it means to use."""
    judge.post(assignment("first", picture, picture))
    answers.get(timeout=DEADLINE_S)
    assert len(list(Path(f"/proc/{judge.pid}/task").iterdir())) == 1


def test_judge_that_is_killed_answers_unjudged_and_goes_on(
    judge: JudgeProcess, answers: Answers, picture: Path
) -> None:
    assert judge.pid is not None
    os.kill(judge.pid, signal.SIGSTOP)  # so that it surely dies over the frame
    judge.post(assignment("lost", picture))
    judge.post(assignment("next", picture, picture))
    os.kill(judge.pid, signal.SIGKILL)
    lost, following = answers.get(timeout=DEADLINE_S), answers.get(timeout=DEADLINE_S)
    assert (lost.frame_id, lost.focus.verdict) == ("lost", FocusVerdict.UNJUDGED)
    assert "ended over it" in lost.focus.reason
    assert (following.frame_id, following.focus.verdict) == ("next", FocusVerdict.SHARP)


def test_judge_that_hangs_is_ended_at_the_time_limit(answers: Answers, picture: Path) -> None:
    judge = JudgeProcess(answers.put, time_limit_s=0.2)
    try:
        assert judge.pid is not None
        os.kill(judge.pid, signal.SIGSTOP)
        judge.post(assignment("hangs", picture))
        found = answers.get(timeout=DEADLINE_S)
    finally:
        judge.close()
    assert (found.frame_id, found.focus.verdict) == ("hangs", FocusVerdict.UNJUDGED)
    assert found.focus.reason == "the checks took longer than 0.2 s"


def test_idle_judge_that_dies_is_started_again(judge: JudgeProcess, answers: Answers, picture: Path) -> None:
    judge.post(assignment("first", picture))
    answers.get(timeout=DEADLINE_S)
    assert judge.pid is not None
    os.kill(judge.pid, signal.SIGKILL)
    judge.post(assignment("second", picture, picture))
    found = answers.get(timeout=DEADLINE_S)
    assert found.frame_id == "second"
    # it may have been handed over just before the death was known: then it says so; else a new process judged it
    assert found.focus.verdict is FocusVerdict.SHARP or "ended over it" in found.focus.reason


def test_broken_file_is_a_finding_not_a_death(judge: JudgeProcess, answers: Answers, tmp_path: Path) -> None:
    judge.post(assignment("gone", tmp_path / "none.jpg"))
    found = answers.get(timeout=DEADLINE_S)
    assert [finding.id for finding in found.findings] == ["file"]
    assert "can't be read" in found.focus.reason


def test_closed_judge_answers_no_more(answers: Answers, picture: Path) -> None:
    judge = JudgeProcess(answers.put)
    judge.close()
    judge.post(assignment("late", picture))
    assert answers.empty()


def test_reference_is_opened_once_and_again_when_its_file_changes(saved: Callable[..., Path]) -> None:
    light = photograph("coffee.png", (720, 480))
    path = saved(coded(light))
    remembered = RememberedReference()
    first = remembered(str(path))
    assert remembered(str(path)) is first
    saved(coded(0.5 * light))
    os.utime(path, ns=(1, 1))
    again = remembered(str(path))
    assert again is not first
    assert float(np.mean(again.light)) < 0.6 * float(np.mean(first.light))
