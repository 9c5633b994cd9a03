"""The thread in which the controller lives: one queue for acts, messages and questions, and a tick when it is due."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TypeVar

from session.frame.camera_messages import Message
from session.frame.ports import Clock, Judgement
from session.shoot.acts import Act
from session.shoot.controller import Shoot

ResultT = TypeVar("ResultT")

LONGEST_SLEEP_S = 0.5
"""The loop looks at the clock at least this often, so that a clock that jumps can't strand a wait."""

ANSWER_WITHIN_S = 60.0
"""Longest wait for an answer of the controller: far longer than any log write."""


@dataclass
class Question:
    """Something to be looked up in the controller's thread."""

    look_up: Callable[[Shoot], object]
    answer: Future[object] = field(default_factory=Future)


Heard = Act | Message | Judgement | Question


class Runner:
    """Runs a shoot: takes what was posted, one after the other, and calls `tick` when something is due.

    `broken` hears of an exception that escaped the controller, which is our mistake; the loop goes on.
    """

    def __init__(self, clock: Clock, broken: Callable[[BaseException], None]) -> None:
        self._clock = clock
        self._broken = broken
        self._queue: queue.SimpleQueue[Heard | None] = queue.SimpleQueue()
        self._thread: threading.Thread | None = None
        self._at_once = False

    def post(self, heard: Heard) -> None:
        """Hand an act or a message to the controller, from any thread; returns at once."""
        self._queue.put(heard)

    def ask(self, look_up: Callable[[Shoot], ResultT]) -> ResultT:
        """Look something up in the controller's thread after all acts posted before, and wait for the answer."""
        question = Question(look_up)
        self._queue.put(question)
        return question.answer.result(ANSWER_WITHIN_S)  # type: ignore[return-value]

    def start(self, shoot: Shoot) -> None:
        """Begin."""
        self._thread = threading.Thread(target=self._run, args=(shoot,), name="shoot", daemon=True)
        self._thread.start()

    def stop(self, *, at_once: bool = False) -> None:
        """Let the queue be emptied, let camera and judge end their work, and end the thread.

        at_once   what the camera is handing over is left on its card
        """
        if self._thread is not None:
            self._at_once = at_once
            self._queue.put(None)
            self._thread.join()
            self._thread = None

    def _run(self, shoot: Shoot) -> None:
        for heard in self._acts_and_last_messages(shoot):
            try:
                match heard:
                    case Act():
                        shoot.do(heard)
                    case Question():
                        heard.answer.set_result(heard.look_up(shoot))
                    case _:
                        shoot.receive(heard)
            except Exception as error:  # noqa: BLE001 - the edge: it is logged and shown, and the shoot goes on
                if isinstance(heard, Question):
                    heard.answer.set_exception(error)
                self._broken(error)
        self._guard(shoot.close)

    def _acts_and_last_messages(self, shoot: Shoot) -> Iterator[Heard]:
        """The posted acts in order, and at the end the camera's last messages: saved files must be logged."""
        while True:
            due_s = self._guard(shoot.tick)
            wait_s = LONGEST_SLEEP_S
            if due_s is not None:
                wait_s = min(wait_s, max(0.0, due_s - self._clock.monotonic_s()))
            try:
                heard = self._queue.get(timeout=wait_s)
            except queue.Empty:
                continue
            if heard is None:
                break
            yield heard
        self._guard(lambda: shoot.let_go(at_once=self._at_once))
        with suppress(queue.Empty):
            while True:
                heard = self._queue.get_nowait()
                if heard is not None:
                    yield heard

    def _guard(self, act: Callable[[], ResultT]) -> ResultT | None:
        try:
            return act()
        except Exception as error:  # noqa: BLE001 - the edge: it is logged and shown, and the shoot goes on
            self._broken(error)
            return None
