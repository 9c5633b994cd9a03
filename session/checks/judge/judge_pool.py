"""Many pictures over several processes at once: each process gets the next picture as soon as it has answered."""

from __future__ import annotations

import os
import queue
from collections.abc import Callable, Generator, Sequence
from functools import partial

from session.checks.judge.remote_judge import JudgeProcess
from session.frame.ports import Assignment, Judge, Judgement

Answer = Callable[[Judgement], None]


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def judge_many(
    assignments: Sequence[Assignment], processes: int, make: Callable[[Answer], Judge] = JudgeProcess
) -> Generator[tuple[Assignment, Judgement]]:
    """Judge frames in parallel, and yield each assignment with its judgement as soon as it is done, in any order.

    processes  most processes at once; a picture that kills or hangs a process costs no other picture
    make       makes a judge that gives its judgements to the callable
    Closing the iterator ends the processes; what was under way stays without an answer.
    """
    answers: queue.Queue[tuple[int, Judgement]] = queue.Queue()
    waiting = iter(assignments)
    under_way: dict[int, Assignment] = {}
    judges: list[Judge] = []
    try:
        for number, assignment in zip(range(processes), waiting, strict=False):
            judges.append(make(partial(_put, answers, number)))
            under_way[number] = assignment
            judges[number].post(assignment)
        while under_way:
            number, judgement = answers.get()
            done = under_way.pop(number)
            following = next(waiting, None)
            if following is not None:
                under_way[number] = following
                judges[number].post(following)
            yield done, judgement
    finally:
        for judge in judges:
            judge.close()


def _put(answers: queue.Queue[tuple[int, Judgement]], number: int, judgement: Judgement) -> None:
    answers.put((number, judgement))
