"""A shoot with live view on over the real libgphoto2, as a screen runs it: each picture is used at once.

The log is kept in memory; camera, time and threads are the real ones.
"""

from __future__ import annotations

import queue
from collections.abc import Callable
from pathlib import Path
from time import monotonic
from types import TracebackType
from typing import Self

from session.cameras.remote_camera import RemoteCamera
from session.frame.ports import Standing, SystemClock
from session.live.decode import Stream
from session.live.instruments import LiveReading
from session.set.kit import demo_kit
from session.set.setup import Revision
from session.shoot.acts import Act, LivePictureUsed, SwitchLiveView
from session.shoot.controller import Shoot
from session.shoot.events import CameraFound, Event, LivePicture, Said, StreamChanged
from session.shoot.runner import Runner
from session.shoot.state import Opened, Outside
from tests.support.camera_user import QUICK_LIMITS
from tests.support.memory_log import PLACE, MemoryLog
from tests.support.scripted import ScriptedJudge

DEADLINE_S = 90.0
"""For anything to happen; only a failing test waits so long."""


class LiveShoot:
    """Everything that was said, in order."""

    def __init__(self, folder: Path, address: str) -> None:
        self._events: queue.Queue[Event] = queue.Queue()
        self.broken: list[BaseException] = []
        self.readings: list[LiveReading] = []
        self.said: list[Said] = []
        self._runner = Runner(SystemClock(), self.broken.append)
        log, revision = MemoryLog(), Revision()
        self.shoot = Shoot(
            Opened(PLACE, Standing(revision, log.save_revision(PLACE, revision)), demo_kit()),
            Outside(
                log=log,
                clock=SystemClock(),
                emit=self._hear,
                frame_folder=lambda place: folder,
                frame_stem=lambda place, number, revision: f"{number:04d}",
                free_disk_bytes=lambda path: 10**12,
            ),
            make_camera=lambda receive: RemoteCamera(
                receive, limits=QUICK_LIMITS, folder=folder / "home", errors_path=str(folder / "errors.txt")
            ),
            make_judge=lambda answer: ScriptedJudge(),
            deliver=self._runner.post,
            address=address,
        )

    def do(self, *acts: Act) -> None:
        """Post these to the controller."""
        for act in acts:
            self._runner.post(act)

    def until(self, happened: Callable[[Event], bool]) -> Event:
        """The first event from here on that is like that."""
        end_s = monotonic() + DEADLINE_S
        while True:
            event = self._events.get(timeout=max(0.0, end_s - monotonic()))
            if isinstance(event, Said):
                self.said.append(event)
            if isinstance(event, LivePicture) and event.reading is not None:
                self.readings.append(event.reading)
            if happened(event):
                return event

    def until_told(self, words: str) -> None:
        """Until a passing sentence with these words."""
        self.until(lambda e: isinstance(e, Said) and not e.lasting and words in e.text)

    def until_stream(self, state: Stream) -> None:
        """Until the stream is said to do so."""
        self.until(lambda e: isinstance(e, StreamChanged) and e.state is state)

    def until_read(self, good: Callable[[LiveReading], bool]) -> None:
        """Until a live picture reads like that."""
        self.until(lambda e: isinstance(e, LivePicture) and e.reading is not None and good(e.reading))

    def _hear(self, event: Event) -> None:
        if isinstance(event, LivePicture):
            self.shoot.do(LivePictureUsed())
        self._events.put(event)

    def __enter__(self) -> Self:
        self._runner.start(self.shoot)
        self.until(lambda event: isinstance(event, CameraFound))
        self._runner.post(SwitchLiveView(True))
        self.until_read(lambda reading: reading.picture is not None)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._runner.stop()
