"""A clock, a camera, a judge and a log that do what a test tells them, for the controller alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from session.frame import camera_messages as say
from session.frame.camera_messages import CameraDescription, CardObject, Fired, Reading, SavedFile, Setting
from session.frame.finding import Finding, FocusJudgement, FocusVerdict
from session.frame.ports import (
    Assignment,
    Judgement,
    KeptPeak,
    LogError,
    Origin,
    Place,
    Reference,
    RefusedEntry,
    RefusedForGoodError,
    Standing,
    Undone,
)
from session.frame.states import (
    SHUTTER,
    SOUGHT_IN_VAIN,
    UNSETTLED,
    FrameEvent,
    FrameState,
    Held,
    Intent,
    Unsettled,
    next_state,
)
from session.set.kit import Kit, demo_kit
from session.set.setup import PlacedLight, Region, Revision
from session.shoot.acts import Act, AskRelease, GoTo, Revise
from session.shoot.controller import Shoot
from session.shoot.events import Event
from session.shoot.state import Opened, Outside

PLACE = Place("job-1", "piece-1", "view-1", "movements", "barrel 6", "three-quarter")
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


@dataclass
class MemoryLog:
    """Keeps rows in dictionaries, refuses when told to."""

    rows: dict[str, dict[str, Any]] = field(default_factory=dict)
    events: list[tuple[str, str]] = field(default_factory=list)
    revisions: list[Revision] = field(default_factory=list)
    known: dict[str, set[CardObject]] = field(default_factory=dict)
    models: dict[str, str] = field(default_factory=dict)
    references: dict[tuple[str, int], str] = field(default_factory=dict)
    peaks: dict[tuple[str, int], KeptPeak] = field(default_factory=dict)
    wishes: dict[str, dict[str, object]] = field(default_factory=dict)
    keys: dict[str, Revision] = field(default_factory=dict)
    stood: dict[tuple[str, str], Standing] = field(default_factory=dict)
    """(piece, view) → what it goes on with."""
    places: dict[tuple[str, str], Place] = field(default_factory=lambda: {(PLACE.piece, PLACE.view): PLACE})
    acts: list[str] = field(default_factory=list)
    turns: list[Undone] = field(default_factory=list)
    """What undo and redo come to, in this order."""
    aside: list[RefusedEntry] = field(default_factory=list)
    refusing: bool = False
    never: tuple[str, ...] = ()
    """Calls that this log will never take."""
    unreadable: bool = False
    """Tells no reference any more."""

    def _may_write(self) -> None:
        if self.refusing:
            raise LogError("The disk is full.")

    def _may_read(self) -> None:
        if self.unreadable:
            raise LogError("The log can't be read.")

    def open_place(self, job: str, piece: str, view: str) -> Place:
        self._may_write()
        if not piece or not view:
            raise ValueError("A piece and a view need names.")
        new = Place(PLACE.job_id, f"piece {piece}", f"view {piece} {view}", job, piece, view)
        return self.places.setdefault((piece, view), new)

    def next_frame_number(self, place: Place) -> int:
        return 1 + max((row["number"] for row in self.rows.values()), default=0)

    def frame_sizes(self, place: Place) -> tuple[int, ...]:
        return tuple(sum(file.bytes for file in row["files"]) for row in self.rows.values())

    def begin_frame(self, intent: Intent, place: Place, draft: Revision | None = None) -> None:
        self._may_write()
        assert intent.frame_id not in self.rows
        if draft is not None:
            assert intent.revision_id not in self.keys
            self.revisions.append(draft)
            self.keys[intent.revision_id] = draft
        assert intent.revision_id in self.keys, "a frame's revision is in the log before its release"
        self.rows[intent.frame_id] = {
            "number": intent.number, "state": intent.state, "intent": intent, "files": [],
            "findings": [], "judged": None, "text": "", "fired": None, "objects": (), "place": place,
        }  # fmt: skip

    def move_frame(
        self,
        frame_id: str,
        event: FrameEvent,
        text: str = "",
        *,
        released_at: datetime | None = None,
        objects: Iterable[CardObject] = (),
    ) -> None:
        self._may_write()
        row = self.rows[frame_id]
        state = next_state(row["state"], event)
        row.update(state=state, text=text, sought=event in SOUGHT_IN_VAIN, fired=SHUTTER.get(state, Fired.NO))
        row["released_at"] = row.get("released_at") or released_at
        if event in (FrameEvent.LOST, FrameEvent.CAMERA_GONE):
            row["objects"] = tuple(objects)

    def frame_findings(self, frame_id: str, findings: Iterable[Finding]) -> None:
        self._may_write()
        self.rows[frame_id]["findings"] += list(findings)

    def frame_reading(self, frame_id: str, reading: Reading) -> None:
        self._may_write()
        self.rows[frame_id]["reading"] = reading

    def frame_file(self, frame_id: str, file: SavedFile) -> None:
        self._may_write()
        self.rows[frame_id]["files"].append(file)
        self.known.setdefault(self.rows[frame_id]["intent"].camera_serial, set()).add(file.card)

    def frame_copied(self, frame_id: str, objects: Iterable[CardObject]) -> None:
        self._may_write()
        self.rows[frame_id].setdefault("copied", []).extend(objects)
        self.known.setdefault(self.rows[frame_id]["intent"].camera_serial, set()).update(objects)

    def frame_judged(self, frame_id: str, findings: Iterable[Finding], focus: FocusJudgement) -> None:
        self._may_write()
        if "frame_judged" in self.never:
            raise RefusedForGoodError("The log refused a value.")
        self.rows[frame_id]["judged"] = (tuple(findings), focus)

    def frame_judged_anew(
        self,
        frame_id: str,
        findings: Iterable[Finding],
        focus: FocusJudgement,
        region: Region,
        grey_patch: Region | None,
        text: str,
    ) -> None:
        self._may_write()
        self.rows[frame_id].setdefault("judged anew", []).append((focus, region, grey_patch))
        self.events.append(("judged anew", text))

    def unsettled_frames(self, camera_serial: str | None = None) -> tuple[Unsettled, ...]:
        return tuple(
            Unsettled(
                frame_id, row["number"], row["state"], row["intent"].camera_serial, row["intent"].folder,
                row["intent"].stem, row["intent"].asked_at, row["fired"] or Fired.UNKNOWN,
                row["intent"].released_by, row["objects"], tuple(Path(f.path).name for f in row["files"]),
                sought=row.get("sought", False),
            )
            for frame_id, row in self.rows.items()
            if row["state"] in UNSETTLED and camera_serial in (None, row["intent"].camera_serial)
        )  # fmt: skip

    def origin(self, frame_id: str) -> Origin:
        self._may_read()
        row = self.rows[frame_id]
        key = row["intent"].revision_id
        return Origin(row["place"], self.keys[key], key, row["judged"] is not None)

    def known_card_objects(self, camera_serial: str) -> frozenset[CardObject]:
        return frozenset(self.known.get(camera_serial, ()))

    def holders(self, camera_serial: str, names: Iterable[str]) -> tuple[Held, ...]:
        wanted = set(names)
        return tuple(
            Held(
                frame_id, row["number"], row["state"], row["intent"].folder, row["intent"].stem,
                tuple(file.card for file in row["files"]),
                tuple(Path(file.path).name for file in row["files"]),
            )
            for frame_id, row in self.rows.items()
            if row["intent"].camera_serial == camera_serial
            and any(file.card.name.rpartition(".")[0] in wanted for file in row["files"])
        )  # fmt: skip

    def neighbours(self, frame_id: str) -> tuple[CardObject | None, CardObject | None]:
        order = list(self.rows)
        here = order.index(frame_id)
        files = [self.rows[key]["files"] for key in order]
        before = [found[-1].card for found in files[:here] if found]
        after = [found[0].card for found in files[here + 1 :] if found]
        return before[-1] if before else None, after[0] if after else None

    def is_new_camera(self, camera_serial: str) -> bool:
        return camera_serial not in self.known

    def note_model(self, camera_serial: str, model: str) -> None:
        self._may_write()
        self.models[camera_serial] = model

    def note_card(self, camera_serial: str, objects: Iterable[CardObject]) -> None:
        self.known.setdefault(camera_serial, set()).update(objects)

    def save_revision(self, place: Place, revision: Revision) -> str:
        self._may_write()
        self.revisions.append(revision)
        self.keys[revision.label] = revision
        self.stood[place.piece, place.view] = Standing(revision, revision.label)
        return revision.label

    def standing(self, place: Place) -> Standing | None:
        self._may_read()
        own = self.stood.get((place.piece, place.view))
        others = [replace(one, piece=piece) for (piece, view), one in self.stood.items() if view == place.view]
        return replace(own, piece=place.piece) if own else others[-1] if others else None

    def choose(self, place: Place, chosen: Standing) -> Standing:
        self._may_write()
        wanted = chosen.revision
        alike = [key for key, one in self.keys.items() if replace(one, revision=wanted.revision) == wanted]
        after = replace(
            chosen, revision=replace(wanted, revision=self.next_revision_number(place, wanted.setup_number))
        )
        if alike:
            after = Standing(self.keys[alike[-1]], alike[-1])
        self.stood[place.piece, place.view] = replace(after, piece="")
        return after

    def arrange(self, place: Place, before: Standing, wanted: Standing, act: str = "") -> Standing:
        self.acts.append(act)
        return self.choose(place, replace(wanted, revision_id=""))

    def next_setup_number(self, place: Place) -> int:
        drafted = [one.revision for one in self.stood.values()]
        return 1 + max((r.setup_number for r in (*self.revisions, *drafted)), default=0)

    def next_revision_number(self, place: Place, setup_number: int) -> int:
        return 1 + max((r.revision for r in self.revisions if r.setup_number == setup_number), default=0)

    def reference(self, place: Place, setup_number: int) -> Reference | None:
        self._may_read()
        frame_id = self.references.get((place.piece_id, setup_number))
        if frame_id is None:
            return None
        return Reference(frame_id, self.rows[frame_id]["number"], self.rows[frame_id]["files"][0].path)

    def expectation(self, place: Place, setup_number: int) -> Reference | None:
        self._may_read()
        others = [
            frame_id
            for (piece_id, number), frame_id in self.references.items()
            if number == setup_number and piece_id != place.piece_id
        ]
        if not others:
            return None
        return Reference(others[-1], self.rows[others[-1]]["number"], self.rows[others[-1]]["files"][0].path)

    def set_reference(self, place: Place, setup_number: int, frame_id: str | None) -> None:
        self._may_write()
        self.references.pop((place.piece_id, setup_number), None)
        if frame_id:
            self.references[place.piece_id, setup_number] = frame_id

    def keep_peak(self, place: Place, setup_number: int, peak: KeptPeak) -> None:
        self._may_write()
        self.peaks[place.piece_id, setup_number] = peak

    def kept_peak(self, place: Place, setup_number: int) -> KeptPeak | None:
        return self.peaks.get((place.piece_id, setup_number))

    def keep_wish(self, place: Place, wish: Mapping[str, object]) -> None:
        self._may_write()
        self.wishes[place.view_id] = dict(wish)

    def mark(self, frame_id: str, mark: str | None) -> None:
        self._may_write()
        self.rows[frame_id]["mark"] = mark

    def note(self, frame_id: str, text: str) -> None:
        self._may_write()
        self.rows[frame_id].setdefault("notes", []).append(text)

    def undo_last(self, place: Place) -> Undone | None:
        self._may_write()
        return self.turns.pop(0) if self.turns else None

    def redo(self, place: Place) -> Undone | None:
        return self.undo_last(place)

    def can_undo(self, place: Place) -> bool:
        return bool(self.turns)

    def next_undo(self, place: Place) -> Undone | None:
        self._may_write()
        return self.turns[0] if self.turns else None

    def next_redo(self, place: Place) -> Undone | None:
        return self.next_undo(place)

    def keep_aside(self, entry: RefusedEntry) -> str:
        self.aside.append(entry)
        return "the file beside the log"

    def record(self, kind: str, text: str, frame_id: str | None = None) -> None:
        self._may_write()
        self.events.append((kind, text))


class Studio:
    """A shoot with everything scripted, and short words to play it."""

    def __init__(self, kit: Kit | None = None, *, connected: bool = True, card: tuple[CardObject, ...] = ()) -> None:
        self.clock = ManualClock()
        self.camera = ScriptedCamera()
        self.judge = ScriptedJudge()
        self.log = MemoryLog()
        self.events: list[Event] = []
        self.card = card
        self.free_disk_bytes = 10**12
        revision = Revision(lights=(PlacedLight("key", -2.0, 620, 45, 30, "tube"),))
        self.shoot = Shoot(
            Opened(PLACE, Standing(revision, self.log.save_revision(PLACE, revision)), kit or demo_kit()),
            Outside(
                log=self.log,
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
        self.deliver(say.Connected(DESCRIPTION, reading(**values), self.card, 10**12))

    def answer_settings(self, **values: Any) -> None:
        """The camera says what it is set to now, for each change that it was asked for and has not answered."""
        while self.shoot.state.settings_asked:
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
        now = self.shoot.state.revision
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

    def file(self, frame_id: str, kind: str = "jpeg") -> SavedFile:
        number = self.log.rows[frame_id]["number"]
        ending = {"jpeg": "JPG", "raw": "DNG"}[kind]
        card = CardObject("/card/DCIM/100STILL", f"STIL{number:04d}.{ending}", 1000)
        saved = SavedFile(f"/pictures/{number:04d}.{ending}", kind, 1000, "ab" * 32, card)
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
