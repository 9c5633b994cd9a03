"""The camera as the program sees it: `protocol.Camera`, answered by a process that owns the real one.

One thread does everything: requests and the process's messages come to the thread by one queue, so that the class
needs no lock, and `post` never waits. When the process ends, whatever the reason, each request that it owed an answer
gets `Failed` with what is known of its frame, then `CameraGone` comes; the next `Connect` starts another process.
"""

from __future__ import annotations

import os
import queue
import signal
import threading
from collections import Counter, deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import monotonic

from session.cameras.camera_limits import CARD, AskedNow, CameraLimits, Start
from session.cameras.home import claims, environment, home
from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault, Fired
from session.system.process import OwnProcess

HOST = "session.cameras.camera_process"
CLOSING_S = 20.0
"""How long the process may take to finish the frame under way; then the rest of it stays on the card."""
IDLE_CLOSING_S = 2.0
"""How long it may take to hang up when no frame is under way: a camera that doesn't answer isn't waited for. Chosen."""

DEATHS = 2
"""Times that the process may end at the same question to the camera. Chosen."""
LOOK_S = 1.0
"""How often a process that says nothing is looked at, whether it runs at all. Chosen."""

ANSWERS: dict[type, type] = {
    say.Connect: say.Connected,
    say.ReadSettings: say.SettingsRead,
    say.ApplySettings: say.SettingsRead,
    say.Release: say.FrameComplete,
    say.Fetch: say.FrameComplete,
    say.ListCard: say.CardListed,
    say.DriveFocus: say.FocusDriven,
}
"""Requests that end with a message, which may be `Failed` instead; to list the card some time is owed no answer."""


@dataclass(frozen=True)
class _ProcessEnded:
    process: int
    code: int


@dataclass(frozen=True)
class _Heard:
    process: int
    message: object


@dataclass(frozen=True)
class _Close:
    at_once: bool


@dataclass
class _Owed:
    """A request that is not answered yet, and what was said of its frame."""

    request: say.Request
    fired: bool = False
    objects: list[CardObject] = field(default_factory=list)


class RemoteCamera:
    """A camera in a process of its own; messages go to `receive`, from one thread."""

    def __init__(
        self,
        receive: Callable[[say.Message], None],
        *,
        limits: CameraLimits | None = None,
        folder: Path | None = None,
        errors_path: str | None = None,
    ) -> None:
        """
        limits       how long the camera may take
        folder       where libgphoto2's settings and the claims on cameras are kept; the user's own when left out
        errors_path  a file for what the process prints; dropped when left out
        """
        self._receive = receive
        self._limits = limits or CameraLimits()
        self._folder = folder
        self._errors_path = errors_path
        self._queue: queue.SimpleQueue[say.Request | _Heard | _ProcessEnded | _Close] = queue.SimpleQueue()
        self._process: OwnProcess | None = None
        self._started = 0
        self._still_since_s: float | None = None
        self._stood_still = False
        self._deaths: Counter[str] = Counter()
        self._without: frozenset[str] = frozenset()
        self._asked_file = ""
        self._owed: deque[_Owed] = deque()
        self._serials: dict[str, str] = {}  # by the address that was asked for
        self._thread = threading.Thread(target=self._run, name="camera", daemon=True)
        self._thread.start()

    def post(self, request: say.Request) -> None:
        """Hand over a request; never blocks. After `CameraGone` a `Connect` starts afresh."""
        if isinstance(request, say.Release):
            request = replace(request, posted_at_s=monotonic())
        self._queue.put(request)

    def close(self, *, at_once: bool = False) -> None:
        """Let go of the camera and end its process once what was posted is done. No message comes after it.

        at_once   what is under way is left on the card
        """
        self._queue.put(_Close(at_once))
        if threading.current_thread() is not self._thread:
            self._thread.join()

    @property
    def process_id(self) -> int | None:
        """Number of the process that has the camera, None without such a process."""
        process = self._process
        return process.pid if process else None

    def _run(self) -> None:
        while True:
            try:
                heard = self._queue.get(timeout=LOOK_S if self._process else None)
            except queue.Empty:
                self._see_that_it_runs()
                continue
            match heard:
                case _Heard(process, message):
                    if process == self._started:
                        self._hear(message)
                case _ProcessEnded(process, code):
                    if process == self._started:
                        self._bury(code)
                case _Close(at_once):
                    return self._finish(at_once)
                case request:
                    owner = self._process_for(request)
                    if owner is not None:
                        with suppress(OSError):  # it is ending; `_bury` answers what is owed
                            owner.send(self._with_serial(request))

    def _see_that_it_runs(self) -> None:
        """End a process that was stopped for as long as a call may take: the process's own timer is stopped too."""
        process = self._process
        if process is None or not process.stands_still:
            self._still_since_s = None
            return
        now_s = monotonic()
        if self._still_since_s is None:
            self._still_since_s = now_s
        elif now_s - self._still_since_s >= self._limits.call_s:
            self._stood_still = True
            process.kill()

    def _finish(self, at_once: bool) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        with suppress(OSError):
            Path(self._asked_file).unlink()
        if at_once:
            process.kill()
        precious = any(isinstance(owed.request, say.Release | say.Fetch) for owed in self._owed)
        process.close(CLOSING_S if precious else IDLE_CLOSING_S)
        while True:
            match self._queue.get():  # what it said while it ended; nothing new is taken on
                case _Heard(_, message):
                    self._hear(message)
                case _ProcessEnded(_, code):
                    if self._owed:
                        self._bury(code)
                    return

    def _process_for(self, request: say.Request) -> OwnProcess | None:
        """The process that answers the request, begun by a `Connect`; without a process the request is refused."""
        if isinstance(request, say.Connect) and self._process is None:
            try:
                self._start()
            except OSError as error:
                text = f"The camera's process can't be started: {error.strerror}."
                self._receive(say.Failed("Connect", Fault.BROKEN, text, connected=False))
                return None
        if self._process is None:
            self._receive(_failure_of(_Owed(request), Fault.LOST, say.NO_CAMERA, Fired.NO))
        return self._process

    def _with_serial(self, request: say.Request) -> say.Request:
        """The request with the serial number that its address had last; its answer is owed from now on."""
        if isinstance(request, say.Connect) and not request.serial:
            request = replace(request, serial=self._serials.get(request.address, ""))
        some_time = isinstance(request, say.ListCard) and request.when_idle  # others are answered before it
        if type(request) in ANSWERS and not some_time:
            self._owed.append(_Owed(request))
        return request

    def _start(self) -> None:
        folder = home(self._folder)
        number = self._started + 1
        self._process = OwnProcess(
            HOST,
            receive=lambda message: self._queue.put(_Heard(number, message)),
            ended=lambda code: self._queue.put(_ProcessEnded(number, code)),
            environment=environment(folder),
            errors_path=self._errors_path,
        )
        self._started = number
        self._asked_file = str(folder / f"asked-{os.getpid()}-{id(self)}")
        with suppress(OSError):  # it has ended already; `_bury` will tell
            self._process.send(Start(str(claims(folder)), self._limits, self._asked_file, self._without))

    def _hear(self, message: object) -> None:
        owed = self._owed[0] if self._owed else None
        match message:
            case say.Announced(frame_id, objects):
                if owed and _frame_id(owed.request) == frame_id:
                    owed.objects += objects
                return
            case say.Connected(description):
                if owed and isinstance(owed.request, say.Connect):
                    self._serials[owed.request.address] = description.serial
            case say.ShutterFired():
                if owed:
                    owed.fired = True
            case say.FileSaved(_, file):
                if owed and file.card in owed.objects:
                    owed.objects.remove(file.card)
        if owed and _answers(message, owed.request):
            self._owed.popleft()
        self._receive(message)  # type: ignore[arg-type]

    def _leave_out(self, code: int) -> str:
        """A sentence on a question that is left out since the process died at it twice; "" without such a question."""
        asked = AskedNow.read(self._asked_file)
        with suppress(OSError):
            Path(self._asked_file).unlink()
        if not asked or code == 0:
            return ""
        self._deaths[asked] += 1
        if self._deaths[asked] < DEATHS or asked in self._without:
            return ""
        self._without |= {asked}
        thing = "the card's files" if asked == CARD else f"the setting {asked}"
        return f" It ended twice while {thing} was asked for, and goes on without."

    def _bury(self, code: int) -> None:
        """Answer the requests that the ended process left open, and say that the process has ended."""
        self._process = None
        fault, text = _obituary(code, self._errors_path)
        text += self._leave_out(code)
        if self._stood_still:
            fault, text = Fault.NO_ANSWER, "The camera's process was stopped by another program, and was let go."
        self._stood_still, self._still_since_s = False, None
        for place, owed in enumerate(self._owed):
            begun = place == 0  # the others were never looked at
            fired = Fired.YES if owed.fired else Fired.UNKNOWN if begun else Fired.NO
            self._receive(_failure_of(owed, fault, text, fired))
        self._owed.clear()
        self._receive(say.CameraGone(fault, text))


def _obituary(code: int, errors_path: str | None) -> tuple[Fault, str]:
    if code == -signal.SIGALRM:
        return Fault.NO_ANSWER, "The camera hung, and was let go."
    if code < 0:
        return Fault.BROKEN, f"The camera's process was ended (signal {-code})."
    why = f"; why is in {errors_path}" if errors_path else ""
    return Fault.BROKEN, f"The camera's process ended by itself ({code}){why}."


def _frame_id(request: say.Request) -> str:
    return request.frame_id if isinstance(request, say.Release | say.Fetch) else ""


def _failure_of(owed: _Owed, fault: Fault, text: str, fired: Fired) -> say.Failed:
    request = owed.request
    return say.Failed(
        request=type(request).__name__,
        fault=fault,
        text=text,
        frame_id=_frame_id(request),
        fired=fired if isinstance(request, say.Release) else Fired.NO,
        missing=tuple(owed.objects),
        connected=False,
    )


def _answers(message: object, request: say.Request) -> bool:
    if isinstance(message, say.Failed):
        return message.request == type(request).__name__ and message.frame_id == _frame_id(request)
    if isinstance(message, say.SettingsRead) and message.by_hand:
        return False
    if isinstance(message, say.FrameComplete) and message.frame_id != _frame_id(request):
        return False
    return isinstance(message, ANSWERS[type(request)])
