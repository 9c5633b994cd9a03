"""The thread in which the controller lives: one call at a time, from any thread, and a tick when it is due."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from typing import TypeVar

from session.frame.camera import Message
from session.frame.ports import Clock, Judgement
from session.shoot.controller import Shoot

ResultT = TypeVar("ResultT")

LONGEST_SLEEP_S = 0.5
"""The loop looks at the clock at least this often, so that a clock that jumps can't strand a wait."""


class Runner:
    """Runs a shoot: `call` for acts, `deliver` for messages, and `tick` when something is due.

    `broken` hears of an exception that escaped the controller, which is our mistake; the loop goes on.
    """

    def __init__(self, clock: Clock, broken: Callable[[BaseException], None]) -> None:
        self._clock = clock
        self._broken = broken
        self._acts: queue.SimpleQueue[Callable[[Shoot], None] | None] = queue.SimpleQueue()
        self._thread: threading.Thread | None = None
        self._at_once = False

    def deliver(self, message: Message | Judgement) -> None:
        """Bring a message from any thread to the controller."""
        self._acts.put(lambda shoot: shoot.receive(message))

    def call(self, act: Callable[[Shoot], None]) -> None:
        """Have something done in the controller's thread; returns at once."""
        self._acts.put(act)

    def start(self, shoot: Shoot) -> None:
        """Begin."""
        self._thread = threading.Thread(target=self._run, args=(shoot,), name="shoot", daemon=True)
        self._thread.start()

    def stop(self, *, at_once: bool = False) -> None:
        """Let the acts in the queue be done, let camera and judge end what they have begun, and end the thread.

        at_once   what the camera is handing over is left on its card
        """
        if self._thread is not None:
            self._at_once = at_once
            self._acts.put(None)
            self._thread.join()
            self._thread = None

    def _run(self, shoot: Shoot) -> None:
        while True:
            due_s = self._guarded(shoot.tick)
            wait_s = LONGEST_SLEEP_S
            if due_s is not None:
                wait_s = min(wait_s, max(0.0, due_s - self._clock.monotonic_s()))
            try:
                act = self._acts.get(timeout=wait_s)
            except queue.Empty:
                continue
            if act is None:
                break
            self._guarded(partial(act, shoot))
        self._guarded(lambda: shoot.let_go(at_once=self._at_once))
        self._take_last_words(shoot)
        self._guarded(shoot.close)

    def _take_last_words(self, shoot: Shoot) -> None:
        """What the camera said while it ended: files that are saved must be in the log."""
        with suppress(queue.Empty):
            while True:
                act = self._acts.get_nowait()
                if act is not None:
                    self._guarded(partial(act, shoot))

    def _guarded(self, act: Callable[[], ResultT]) -> ResultT | None:
        try:
            return act()
        except Exception as error:  # noqa: BLE001 - the edge: it is logged and shown, and the shoot goes on
            self._broken(error)
            return None
