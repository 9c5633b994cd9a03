"""The judge as the controller sees it: assignments are queued, and each gets its answer whatever happens.

A picture that takes longer than the time limit, or that kills the judge's process, comes back as `unjudged`
with the reason; the next one gets a fresh process.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from functools import partial
from pathlib import Path

from session.checks.judge.all_checks import without_verdict
from session.frame.ports import Assignment, Judgement
from session.system.process import OwnProcess

HOST = "session.checks.judge.judge_process"

TIME_LIMIT_S = 20.0
"""For one frame; some hundred times what a 45-megapixel picture needs, so that only a hang reaches it. It
also covers the process's own start."""


PREVIEW_PATIENCE_S = 2.0
"""How long the last frame's preview may take when the program ends: a hundred times what it needs. Chosen."""


class JudgeProcess:
    """`ports.Judge` over one process of our own, first in, first out.

    answer        called with each judgement, on a thread of this object's own
    time_limit_s  how long one frame may take
    errors_path   where the process's tracebacks go
    previews      folder in which a preview of each frame is stored after its answer; None: nowhere
    tell          called with a sentence where no preview can be stored, and with "" when it can again
    """

    def __init__(
        self,
        answer: Callable[[Judgement], None],
        *,
        time_limit_s: float = TIME_LIMIT_S,
        errors_path: str | None = None,
        previews: Path | None = None,
        tell: Callable[[str], None] = lambda text: None,
    ) -> None:
        self._arguments = [str(previews.absolute())] if previews else []
        self._tell = tell
        self._answer = answer
        self._time_limit_s = time_limit_s
        self._errors_path = errors_path
        self._lock = threading.Lock()
        self._waiting: deque[Assignment] = deque()
        self._current: Assignment | None = None
        self._process: OwnProcess | None = None
        self._generation = 0  # tells what an earlier process still says from what the present one does
        self._timer: threading.Timer | None = None
        self._late = False
        self._closed = False
        with self._lock:
            self._start()  # so that it is warm when the first frame comes

    @property
    def pid(self) -> int | None:
        """Process number of the judge's process; None while no process runs."""
        with self._lock:
            return self._process.pid if self._process else None

    def post(self, assignment: Assignment) -> None:
        """Queue the frame behind the frames to be judged; never blocks. The frame is dropped after `close`."""
        with self._lock:
            if self._closed:
                return
            self._waiting.append(assignment)
        self._begin_next()

    def close(self) -> None:
        """Drop what waits and end the process; a frame under way stays without an answer and without a preview.

        Where none is under way, the preview of the last one is finished first.
        """
        with self._lock:
            self._closed = True
            self._waiting.clear()
            self._stop_timer()
            process, judges = self._process, self._current is not None
        if process:
            if judges:
                process.kill()
            process.close(PREVIEW_PATIENCE_S)

    def _begin_next(self) -> None:
        with self._lock:
            if self._closed or self._current or not self._waiting:
                return
            assignment = self._waiting.popleft()
            sent = self._send(assignment) or (self._start() and self._send(assignment))
            if sent:
                self._current = assignment
                self._start_timer()
        if not sent:
            self._answer(without_verdict(assignment, "the judge's process could not be started"))
            self._begin_next()

    def _send(self, assignment: Assignment) -> bool:
        if self._process is None:
            return False
        try:
            self._process.send(assignment)
        except OSError:  # it ended just now
            return False
        return True

    def _start(self) -> bool:
        self._generation += 1
        try:
            self._process = OwnProcess(
                HOST,
                receive=partial(self._take_judgement, self._generation),
                ended=partial(self._take_end, self._generation),
                arguments=self._arguments,
                errors_path=self._errors_path,
            )
        except OSError:
            self._process = None
        return self._process is not None

    def _start_timer(self) -> None:
        self._late = False
        self._timer = threading.Timer(self._time_limit_s, self._too_late, (self._current,))
        self._timer.daemon = True
        self._timer.start()

    def _stop_timer(self) -> None:
        if self._timer:
            self._timer.cancel()
            self._timer = None

    def _too_late(self, assignment: Assignment) -> None:
        with self._lock:
            if self._current is assignment and self._process:
                self._late = True
                self._process.kill()

    def _take_judgement(self, generation: int, message: object) -> None:
        if isinstance(message, str):
            self._tell(message)
            return
        with self._lock:
            if generation != self._generation or self._current is None or not isinstance(message, Judgement):
                return
            self._current = None
            self._stop_timer()
        self._answer(message)
        self._begin_next()

    def _take_end(self, generation: int, code: int) -> None:
        with self._lock:
            if generation != self._generation:
                return
            self._process = None
            lost, self._current = self._current, None
            self._stop_timer()
            late, closed = self._late, self._closed
        if lost and not closed:
            took = f"the checks took longer than {self._time_limit_s:g} s"
            self._answer(without_verdict(lost, took if late else f"the judge's process ended over it ({code})"))
        self._begin_next()
