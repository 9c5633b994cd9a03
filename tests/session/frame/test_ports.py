"""The ports' own values: a clock that runs on and knows its zone, errors that say whether it fired, a judge's work."""

from __future__ import annotations

import pickle

import pytest

from session.frame.camera_messages import Fired
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Assignment, Judgement, LogError, RefusedForGoodError, SystemClock
from session.set.setup import Revision


def test_the_systems_clock_never_goes_back_and_tells_its_zone() -> None:
    clock = SystemClock()
    times_s = [clock.monotonic_s() for _ in range(100)]
    assert times_s == sorted(times_s)
    assert clock.now().utcoffset() is not None


@pytest.mark.parametrize("kind", [LogError, RefusedForGoodError])
def test_an_error_of_the_log_says_whether_the_frame_fired(kind: type[LogError]) -> None:
    assert kind("The disk is full.").fired is Fired.UNKNOWN
    told = kind("The disk is full.", Fired.NO)
    assert (str(told), told.fired) == ("The disk is full.", Fired.NO)


def test_work_for_the_judge_and_the_answer_go_through_a_pipe_whole() -> None:
    work = Assignment("f1", "/pictures/1.jpg", "jpeg", Revision(), {"iso": 100}, True, region_px=(1, 2, 30, 40))
    answer = Judgement("f1", (), FocusJudgement(FocusVerdict.SHARP, 0.4))
    assert (pickle.loads(pickle.dumps(work)), pickle.loads(pickle.dumps(answer))) == (work, answer)
