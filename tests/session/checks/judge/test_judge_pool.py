"""Many pictures over several judges: each is answered once, and no judge waits while pictures do."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from session.checks.judge.all_checks import without_verdict
from session.checks.judge.judge_pool import cores, judge_many
from session.frame.ports import Assignment, Judgement
from session.set.setup import Revision


def assignments(count: int) -> list[Assignment]:
    return [Assignment(str(number), f"{number}.jpg", "jpeg", Revision(), {}, False) for number in range(count)]


class ScriptedJudge:
    """Answers at once, or, when slow, when it is told to."""

    def __init__(self, answer: Callable[[Judgement], None], slow: bool) -> None:
        self.answer, self.slow = answer, slow
        self.waiting, self.closed = list[Assignment](), False

    def post(self, assignment: Assignment) -> None:
        self.waiting.append(assignment)
        if not self.slow:
            self.tell()

    def close(self) -> None:
        self.closed = True

    def tell(self) -> None:
        self.answer(without_verdict(self.waiting.pop(0), "it is made up"))


class Judges:
    """Makes judges and keeps them; those whose numbers are given are slow."""

    def __init__(self, *slow: int) -> None:
        self.slow, self.made = slow, list[ScriptedJudge]()

    def __call__(self, answer: Callable[[Judgement], None]) -> ScriptedJudge:
        self.made.append(ScriptedJudge(answer, len(self.made) in self.slow))
        return self.made[-1]


@pytest.mark.parametrize(("count", "processes"), [(0, 4), (1, 4), (7, 1), (7, 3), (3, 3)])
def test_every_picture_is_answered_once_by_no_more_judges_than_there_are_pictures(count: int, processes: int) -> None:
    judges = Judges()
    told = list(judge_many(assignments(count), processes, judges))
    assert sorted(int(assignment.frame_id) for assignment, _ in told) == list(range(count))
    assert all(assignment.frame_id == judgement.frame_id for assignment, judgement in told)
    assert len(judges.made) == min(count, processes)


def test_quick_judge_takes_the_pictures_that_a_slow_one_does_not_get_to() -> None:
    judges = Judges(0)
    told = judge_many(assignments(5), 2, judges)
    assert [next(told)[0].frame_id for _ in range(4)] == ["1", "2", "3", "4"]
    judges.made[0].tell()
    assert [assignment.frame_id for assignment, _ in told] == ["0"]


def test_all_judges_are_closed_at_the_end_and_when_the_iterator_is_closed_early() -> None:
    for early in (False, True):
        judges = Judges()
        told = judge_many(assignments(9), 3, judges)
        next(told)
        if early:
            told.close()
        else:
            list(told)
        assert [judge.closed for judge in judges.made] == [True, True, True]


def test_there_is_a_core_to_run_on() -> None:
    assert cores() >= 1
