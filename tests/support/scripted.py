"""A clock, a camera and a judge that do what a test tells them, and a shoot of them with a log in memory."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from session.frame import camera_messages as say
from session.frame.camera_messages import CameraDescription, CardObject, Reading, SavedFile, Setting
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import (
    Assignment,
    Judgement,
    Place,
    Standing,
)
from session.frame.states import (
    FrameState,
)
from session.set.kit import Kit, demo_kit
from session.set.setup import PlacedLight, Revision
from session.shoot.acts import Act, AskRelease, GoTo, Revise
from session.shoot.controller import Shoot
from session.shoot.events import Event
from session.shoot.state import Opened, Outside
from tests.support.memory_log import PLACE, MemoryLog
from tests.support.written_log import WrittenLog

DESCRIPTION = CameraDescription("ptpip:127.0.0.1:15740", "scripted", "S-1", live_view=True, focus_drive=True)


def setting(name: str, value: Any, allowed: tuple[Any, ...] = (), read_only: bool = False) -> Setting:
    return Setting(name, value, str(value), allowed, read_only)


def reading(**values: Any) -> Reading:
    """A camera that is set as the default set-up asks, but for the given settings."""
    told = {
        "exposure_s": 0.005,
        "f_number": 11.0,
        "iso": 100,
        "exposure_mode": "manual",
        "focus_mode": "manual",
        "white_balance": "Flash",
        "file_format": "raw+jpeg",
        "battery_percent": 80,
    } | values
    times = (0.001, 0.002, 0.004, 0.005, 0.00625, 0.008, 0.01)
    allowed: dict[str, tuple[Any, ...]] = {"exposure_s": times, "iso": (100, 200, 400)}
    return Reading({name: setting(name, value, allowed.get(name, ())) for name, value in told.items()})


class ManualClock:
    """Time stands still until it is told to go on."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def monotonic_s(self) -> float:
        return self.now_s

    def now(self) -> datetime:
        return datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC) + timedelta(seconds=self.now_s)


@dataclass
class ScriptedCamera:
    """Keeps what was asked of it; the test answers."""

    requests: list[say.Request] = field(default_factory=list)
    closed: bool = False

    def post(self, request: say.Request) -> None:
        self.requests.append(request)

    def close(self, *, at_once: bool = False) -> None:
        self.closed = True

    def last(self, kind: type) -> Any:
        return next(r for r in reversed(self.requests) if isinstance(r, kind))

    def count(self, kind: type) -> int:
        return sum(isinstance(r, kind) for r in self.requests)


@dataclass
class ScriptedJudge:
    assignments: list[Assignment] = field(default_factory=list)

    def post(self, assignment: Assignment) -> None:
        self.assignments.append(assignment)

    def close(self) -> None: ...


class Studio:
    """A shoot with everything scripted, and short words to play it."""

    def __init__(
        self,
        kit: Kit | None = None,
        *,
        revision: Revision | None = None,
        connected: bool = True,
        card: tuple[CardObject, ...] = (),
        description: CameraDescription = DESCRIPTION,
        written: WrittenLog | None = None,
    ) -> None:
        """`written`: a log in a file to go on with, instead of the one in memory."""
        self.clock = ManualClock()
        self.camera = ScriptedCamera()
        self.judge = ScriptedJudge()
        self.log = MemoryLog()
        self.events: list[Event] = []
        self.card, self.description = card, description
        self.free_disk_bytes = 10**12
        revision = revision or Revision(lights=(PlacedLight("key", -2.0, 620, 45, 30, "tube"),))
        if written is None:
            opened = Opened(PLACE, Standing(revision, self.log.save_revision(PLACE, revision)), kit or demo_kit())
        else:
            opened = Opened(written.place, Standing(written.revision, written.revision_id), kit or demo_kit())
        self.shoot = Shoot(
            opened,
            Outside(
                log=written.log if written else self.log,
                clock=self.clock,
                emit=self.events.append,
                frame_folder=lambda place: Path("/pictures"),
                frame_stem=lambda place, number, revision: f"{number:04d}",
                free_disk_bytes=lambda folder: self.free_disk_bytes,
            ),
            make_camera=lambda receive: self.camera,
            make_judge=lambda answer: self.judge,
            deliver=self.deliver,
        )
        self.shoot.tick()
        if connected:
            self.connect()

    def deliver(self, message: say.Message | Judgement) -> None:
        self.shoot.receive(message)
        self.shoot.tick()

    def connect(self, **values: Any) -> None:
        self.deliver(say.Connected(self.description, reading(**values), self.card, 10**12))

    def answer_settings(self, **values: Any) -> None:
        """The camera says what it is set to now, for each change that it was asked for and has not answered."""
        while self.shoot.shoot_state.settings_asked:
            self.deliver(say.SettingsRead(reading(**values)))

    def ask(self, **overrulings: str) -> str:
        wish = AskRelease(overrulings)
        self.shoot.do(wish)
        self.shoot.tick()
        return wish.frame_id

    def do(self, act: Act) -> None:
        self.shoot.do(act)

    def revise(self, wanted: Revision, act: str = "") -> None:
        """Bring this arrangement into force, by the fields in which it differs."""
        now = self.shoot.shoot_state.revision
        changes = {one.name: getattr(wanted, one.name) for one in fields(Revision)}
        self.do(Revise({name: value for name, value in changes.items() if value != getattr(now, name)}, act))

    def go_to(self, place: Place, *, from_camera: bool = False) -> None:
        self.log.places[place.piece, place.view] = place
        self.do(GoTo(place.piece, place.view, from_camera))

    def wait(self, seconds: float) -> None:
        self.clock.now_s += seconds
        self.shoot.tick()

    def fire(self) -> str:
        """The camera takes the last release; returns the frame's id."""
        frame_id = self.camera.last(say.Release).frame_id
        self.deliver(say.ShutterFired(frame_id, self.clock.now_s))
        return str(frame_id)

    def file(self, frame_id: str, kind: str = "jpeg", path: str = "") -> SavedFile:
        """A file of the frame is saved, at `path` where one is given.

        kind   jpeg, raw, or second: another JPEG of the same frame
        """
        flight = self.shoot.releases.flight(frame_id)
        number = flight.number if flight else self.shoot.shoot_state.log.origin(frame_id).intent.number
        ending = {"jpeg": "JPG", "raw": "DNG", "second": "JPG"}[kind]
        card = CardObject("/card/DCIM/100STILL", f"STIL{number:04d}.{ending}", 1000)
        name = f"{number:04d}-2.{ending}" if kind == "second" else f"{number:04d}.{ending}"
        kind = "jpeg" if kind == "second" else kind
        saved = SavedFile(path or f"/pictures/{name}", kind, 1000, "ab" * 32, card)
        self.deliver(say.FileSaved(frame_id, saved))
        return saved

    def whole_frame(self) -> str:
        """Ask, fire, one JPEG, complete; not judged yet."""
        self.ask()
        frame_id = self.fire()
        self.file(frame_id)
        self.deliver(say.FrameComplete(frame_id))
        return frame_id

    def state(self, frame_id: str) -> FrameState:
        """As the log has it."""
        state: FrameState = self.log.rows[frame_id]["state"]
        return state

    def judged(self, frame_id: str, verdict: FocusVerdict = FocusVerdict.SHARP) -> None:
        self.deliver(Judgement(frame_id, (), FocusJudgement(verdict)))

    def said(self, kind: type) -> list[Any]:
        return [event for event in self.events if isinstance(event, kind)]

    def texts(self) -> str:
        return "\n".join(str(getattr(event, "text", "")) for event in self.events)
