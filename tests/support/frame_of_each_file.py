"""Exposures on a simulated camera whose announcements go wrong, by the real controller, log and libgphoto2.

The simulated camera numbers its exposures itself, and nobody releases on it: so the n-th frame asked for made the
files of the n-th number, whatever was announced when.
"""

from __future__ import annotations

import queue
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Any

from session.cameras.camera_limits import CameraLimits
from session.cameras.remote_camera import RemoteCamera
from session.frame import camera_messages as say
from session.frame.finding import FocusJudgement, FocusVerdict, RuleId
from session.frame.ports import Assignment, Judgement, Standing
from session.frame.states import ENDED, FrameState, ReleasedBy
from session.set.kit import demo_kit
from session.set.setup import Revision, Settings
from session.shoot.acts import AskRelease
from session.shoot.controller import Shoot
from session.shoot.events import CameraLost, Event, FileArrived, FrameMoved, Said
from session.shoot.state import Opened, Outside
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.mock_process import MockCamera

DEADLINE_S = 60.0
"""For anything that must come, by the computer's clock; only a failing test waits so long."""

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


class QuickClock:
    """So many seconds to a real one, as the simulated camera's.

    set_back_s   how far the time of day was set back
    passed_s     time that has passed besides, for this computer alone
    """

    def __init__(self, speed: float) -> None:
        self._speed = speed
        self.set_back_s = self.passed_s = 0.0

    def monotonic_s(self) -> float:
        return monotonic() * self._speed + self.passed_s

    def now(self) -> datetime:
        return NOON + timedelta(seconds=self.monotonic_s() - self.set_back_s)


def quick_limits(speed: float) -> CameraLimits:
    """The camera process' own patience, at the same pace."""
    usual = CameraLimits()
    return CameraLimits(
        no_file_s=usual.no_file_s / speed,
        after_complete_s=usual.after_complete_s / speed,
        settle_s=usual.settle_s / speed,
        busy_writing_s=usual.busy_writing_s / speed,
    )


@dataclass(frozen=True)
class Case:
    """What came of the frames of one case.

    frames   of each frame asked for: its number, state, and the names of the card's files that the log gives to it
    by_body  names of files that were taken for releases on the camera
    """

    frames: tuple[tuple[int, FrameState, tuple[str, ...]], ...]
    by_body: tuple[str, ...]


class NoDoubt:
    """A judge that finds every picture sharp, at once."""

    def __init__(self, answer: Callable[[Judgement], None]) -> None:
        self._answer = answer

    def post(self, assignment: Assignment) -> None:
        self._answer(Judgement(assignment.frame_id, (), FocusJudgement(FocusVerdict.SHARP)))

    def close(self) -> None: ...


class Quick:
    """A shoot on a quick camera: ask for frames, and wait for what comes of them."""

    def __init__(self, mock: MockCamera, folder: Path, speed: float, limits: CameraLimits | None = None) -> None:
        """limits: the patience of the camera's process, at the pace of `speed` when left out"""
        self.mock, self._folder = mock, folder
        limits = limits or quick_limits(speed)
        folder.mkdir(parents=True)
        self.events: list[Event] = []
        self._inbox: queue.SimpleQueue[say.Message | Judgement] = queue.SimpleQueue()
        self.clock = QuickClock(speed)
        self._log = SqlLog.open(folder / "log.db", self.clock)
        place = self._log.open_place("type", "sort 1", "top")
        file_format = mock.hands("state")["settings"]["file_format"]
        revision = Revision(settings=Settings(file_format=file_format))
        self.shoot = Shoot(
            Opened(place, Standing(revision, self._log.save_revision(place, revision)), demo_kit()),
            Outside(
                log=self._log,
                clock=self.clock,
                emit=self.events.append,
                frame_folder=lambda place: folder / "pictures",
                frame_stem=lambda place, number, revision: f"{number:04d}",
                free_disk_bytes=lambda folder: None,
            ),
            make_camera=lambda receive: self._make_camera(receive, limits),
            make_judge=NoDoubt,
            deliver=self._inbox.put,
            address=mock.address,
        )
        self.asked: list[str] = []
        self.was_halted = False
        self._there: set[str] = set()
        self._asked_before = 0
        self.until(lambda: self.shoot.shoot_state.description is not None and not self.shoot.shoot_state.settings_asked)

    def _make_camera(self, receive: Callable[[say.Message], None], limits: CameraLimits) -> RemoteCamera:
        self._camera = RemoteCamera(receive, limits=limits, folder=self._folder / "home")
        return self._camera

    @property
    def process_id(self) -> int | None:
        """Number of the process that has the camera, None without one."""
        return self._camera.process_id

    def until(self, condition: Any) -> None:
        """Go on until it holds."""
        deadline_s = monotonic() + DEADLINE_S
        while True:
            self.shoot.tick()
            if condition():
                return
            assert monotonic() < deadline_s, self.told()
            try:
                self.shoot.receive(self._inbox.get(timeout=0.005))
            except queue.Empty:
                continue

    def release(self, overruled: Iterable[str] = ()) -> str:
        """Ask for a frame, until it is released.

        Of the rules these are overruled, and the one about a shoot whose files can't be told apart.
        """
        self.was_halted |= bool(self.shoot.shoot_state.halted)
        halted = (RuleId.FILES,) if self.shoot.shoot_state.halted else ()
        wish = AskRelease(dict.fromkeys((*overruled, *halted), "for the next picture"))
        frame_id = wish.frame_id
        self.shoot.do(wish)
        self.until(lambda: self.shoot.releases.held is None)
        if self._state(frame_id) is FrameState.REFUSED:
            assert self.shoot.shoot_state.halted, self.told()
            return self.release(overruled)
        self.asked.append(frame_id)
        return frame_id

    def at_rest(self, frame_id: str) -> None:
        """Until the frame is saved, missing or judged lost."""
        self.until(lambda: self._state(frame_id) in ENDED | {FrameState.SAVED, FrameState.UNCERTAIN})

    def begin_case(self) -> None:
        """Forget the mishaps, the frames and the files of the case before."""
        self.mock.hands("clear_faults")
        self._asked_before += len(self.asked)
        self.asked, self.events[:], self.was_halted = [], [], False
        self.shoot.shoot_state.let_pass = 0
        self._there = self._on_card()

    def _on_card(self) -> set[str]:
        return {Path(name).name for name in self.mock.hands("state")["card"]["files"]}

    def all_come(self, *, by_hand: bool = False) -> None:
        """Until the camera has told all, and each file is saved, or `by_hand` a person was asked whose it is."""
        self.until(lambda: self.mock.hands("state")["frames_pending"] == 0)
        made = self._on_card() - self._there
        self.until(lambda: made <= self._arrived() or (by_hand and "log settle" in self.told()))
        self.until(lambda: self.shoot.releases.all_done and not self.shoot.shoot_state.card_asked)

    @property
    def arrived(self) -> list[str]:
        """Paths on the disk of the card's files, as often as one was fetched."""
        return [event.file.path for event in self.events if isinstance(event, FileArrived)]

    def _arrived(self) -> set[str]:
        return {event.file.card.name for event in self.events if isinstance(event, FileArrived)}

    def _state(self, frame_id: str) -> FrameState:
        moved = [event for event in self.events if isinstance(event, FrameMoved) and event.frame_id == frame_id]
        return moved[-1].state if moved else FrameState.ASKED

    def told(self) -> str:
        """What was said and happened to the frames, for a failing test."""
        told: list[str] = []
        for event in self.events:
            match event:
                case Said(text):
                    told.append(text)
                case CameraLost():
                    told.append(event.text)
                case FrameMoved():
                    told.append(f"frame {event.number} {event.state} {event.text}")
                case FileArrived():
                    told.append(f"frame {event.number} has {event.file.card.name}")
        return "\n".join(told)

    def case(self) -> Case:
        """What the log says of the frames of this case."""
        with closing(LogReader.open(self._folder / "log.db")) as reader:
            rows = {row.frame_id: row for row in reader.records()}
        names = {key: tuple(sorted({file.card_name for file in row.files})) for key, row in rows.items()}
        frames = [(self._asked_before + place, key) for place, key in enumerate(self.asked, 1)]
        return Case(
            tuple((number, FrameState(rows[key].state), names[key]) for number, key in frames),
            tuple(name for key, found in names.items() if rows[key].released_by == ReleasedBy.BODY for name in found),
        )

    def close(self) -> None:
        self.shoot.let_go()
        while not self._inbox.empty():
            self.shoot.receive(self._inbox.get())
        self.shoot.close()
        self._log.close()


@contextmanager
def quick_shoot(folder: Path, speed: float, file_format: str, *options: str) -> Iterator[Quick]:
    """A quick camera of its own with a shoot on it."""
    with MockCamera("--time-scale", str(speed), "--format", file_format, *options) as mock:
        quick = Quick(mock, folder / "shoot", speed)
        try:
            yield quick
        finally:
            quick.close()
