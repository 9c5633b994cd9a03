"""The log in memory: rows in dictionaries, answering all of `session.frame.ports.Log`, refusing when it is told to.

`tests/storage/writing/test_log_contract.py` runs the same tests over it and over the SQL log.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from session.frame.camera_messages import CardObject, Fired, Reading, SavedFile
from session.frame.finding import SPOILT, Finding, FocusJudgement, Level
from session.frame.ports import (
    Agreement,
    KeptPeak,
    Log,
    LogError,
    Origin,
    Place,
    Reference,
    RefusedEntry,
    RefusedForGoodError,
    Standing,
    Undone,
)
from session.frame.shot_plane import ShotPlane
from session.frame.states import (
    ENDED,
    SHUTTER,
    SOUGHT_IN_VAIN,
    TRANSITIONS,
    UNSETTLED,
    FrameEvent,
    FrameState,
    ImpossibleTransitionError,
    Intent,
    LoggedFrame,
    Mark,
    next_state,
)
from session.frame.step_said import StepSaid, StepWord
from session.set.setup import Region, Revision
from session.shoot.flight import FILES_OF_FORMAT

SAID_AT = datetime(2026, 3, 1, 12, tzinfo=UTC)
"""When a step was confirmed or skipped; no test of the controller looks at it."""

PLACE = Place("job-1", "piece-1", "view-1", "movements", "barrel 6", "three-quarter")


@dataclass(frozen=True)
class Act:
    """What a person did: whose `kind` it was (a mark, a note, the reference, an arrangement), before and after.

    word  changes of one arrangement with the same word, one right after the other, are one act
    """

    key: str
    job_id: str
    kind: str
    text: str
    about: Any
    before: Any
    after: Any
    frame_id: str | None = None
    word: str = ""


@dataclass
class MemoryLog:
    """Keeps rows in dictionaries, refuses when told to."""

    rows: dict[str, dict[str, Any]] = field(default_factory=dict)
    events: list[tuple[str, str]] = field(default_factory=list)
    revisions: list[Revision] = field(default_factory=list)
    known: dict[str, set[CardObject]] = field(default_factory=dict)
    models: dict[str, str] = field(default_factory=dict)
    references: dict[tuple[str, int], str] = field(default_factory=dict)
    standards: dict[str, Agreement] = field(default_factory=dict)
    """view_id → what a client agreed for it."""
    orders: list[str] = field(default_factory=list)
    """Tables of the orders that were kept."""
    views_added: list[tuple[str, str, tuple[str, ...]]] = field(default_factory=list)
    """Views added to an order: job, piece, views."""
    peaks: dict[tuple[str, int], KeptPeak] = field(default_factory=dict)
    steps: dict[tuple[str, str, str], StepSaid] = field(default_factory=dict)
    """(piece_id, revision_id, step) → what a person said of it."""
    wishes: dict[str, dict[str, object]] = field(default_factory=dict)
    keys: dict[str, Revision] = field(default_factory=dict)
    """Revisions by their keys."""
    job_of: dict[str, str] = field(default_factory=dict)
    """Key of a revision → key of its job; those that a test put in are of the job at hand."""
    stood: dict[tuple[str, str], Standing] = field(default_factory=dict)
    """(piece, view) → what it goes on with."""
    places: dict[tuple[str, str], Place] = field(default_factory=lambda: {(PLACE.piece, PLACE.view): PLACE})
    acts: list[str] = field(default_factory=list)
    """The word of each change of an arrangement."""
    turns: list[Undone] = field(default_factory=list)
    """What undo and redo come to before anything that was done here, in this order."""
    aside: list[RefusedEntry] = field(default_factory=list)
    refusing: bool = False
    never: tuple[str, ...] = ()
    """Calls that this log will never take."""
    unreadable: bool = False
    """Tells no reference any more."""
    done: list[Act] = field(default_factory=list)
    undone: list[Act] = field(default_factory=list)

    def _may_write(self) -> None:
        if self.refusing:
            raise LogError("The disk is full.")

    def _may_read(self) -> None:
        if self.unreadable:
            raise LogError("The log can't be read.")

    def _row(self, frame_id: str) -> dict[str, Any]:
        if frame_id not in self.rows:
            raise RefusedForGoodError(f"The log knows no frame {frame_id}.")
        return self.rows[frame_id]

    def _row_to_write(self, frame_id: str) -> dict[str, Any]:
        self._may_write()
        return self._row(frame_id)

    # --- places and set-ups -----------------------------------------------------------------------

    def open_place(self, job: str, piece: str, view: str) -> Place:
        self._may_write()
        for what, name in (("job", job), ("piece", piece), ("view", view)):
            if not name.strip():
                raise RefusedForGoodError(f"A {what} needs a name.")
        if job == PLACE.job:
            new = Place(PLACE.job_id, f"piece {piece}", f"view {piece} {view}", job, piece, view)
            return self.places.setdefault((piece, view), new)
        return Place(f"job {job}", f"piece {job} {piece}", f"view {job} {piece} {view}", job, piece, view)

    def save_revision(self, place: Place, revision: Revision) -> str:
        self._may_write()
        self._add(place, revision.label, revision)
        self.stood[place.piece, place.view] = Standing(revision, revision.label)
        return revision.label

    def _add(self, place: Place, key: str, revision: Revision) -> None:
        assert key not in self.keys
        self.revisions.append(revision)
        self.keys[key], self.job_of[key] = revision, place.job_id

    def _of_job(self, place: Place) -> list[Revision]:
        return [one for key, one in self.keys.items() if self.job_of.get(key, place.job_id) == place.job_id]

    def standing(self, place: Place) -> Standing | None:
        self._may_read()
        own = self.stood.get((place.piece, place.view))
        others = [replace(one, piece=piece) for (piece, view), one in self.stood.items() if view == place.view]
        found = replace(own, piece=place.piece) if own else others[-1] if others else None
        return replace(self._as_kept(place, found), piece=found.piece) if found else None

    def choose(self, place: Place, chosen: Standing) -> Standing:
        self._may_write()
        after = self._as_kept(place, chosen)
        self.stood[place.piece, place.view] = replace(after, piece="")
        return after

    def arrange(self, place: Place, before: Standing, wanted: Standing, act: str = "") -> Standing:
        self._may_write()
        self.acts.append(act)
        after = self.choose(place, replace(wanted, revision_id=""))
        text = f"set-up {after.revision.label}"
        self._do(Act("", place.job_id, "arrangement", text, place, before, after, word=act))
        return after

    def _as_kept(self, place: Place, chosen: Standing) -> Standing:
        """The revision of its set-up that is this arrangement, else a draft with the number that comes next."""
        wanted = chosen.revision
        alike = [key for key, one in self.keys.items() if replace(one, revision=wanted.revision) == wanted]
        if alike:
            return replace(chosen, revision=self.keys[alike[-1]], revision_id=alike[-1], from_camera=())
        number = self.next_revision_number(place, wanted.setup_number)
        return replace(chosen, revision=replace(wanted, revision=number), revision_id="")

    def next_setup_number(self, place: Place) -> int:
        drafted = [one.revision for one in self.stood.values()]
        return 1 + max((r.setup_number for r in (*self._of_job(place), *drafted)), default=0)

    def next_revision_number(self, place: Place, setup_number: int) -> int:
        return 1 + max((r.revision for r in self._of_job(place) if r.setup_number == setup_number), default=0)

    # --- a frame, step by step --------------------------------------------------------------------

    def next_frame_number(self, place: Place) -> int:
        self._may_read()
        return 1 + max((row["number"] for row in self._frames(place)), default=0)

    def frame_sizes(self, place: Place) -> tuple[int, ...]:
        return tuple(sum(file.bytes for file in row["files"]) for row in self._frames(place) if row["files"])

    def _frames(self, place: Place) -> list[dict[str, Any]]:
        return [row for row in self.rows.values() if row["place"].job_id == place.job_id]

    def begin_frame(self, intent: Intent, place: Place, draft: Revision | None = None) -> None:
        self._may_write()
        if intent.frame_id in self.rows or intent.number in [row["number"] for row in self._frames(place)]:
            raise RefusedForGoodError(f"Frame {intent.number} is in the log already.")
        if draft is not None:
            self._add(place, intent.revision_id, draft)
        if intent.revision_id not in self.keys:
            raise RefusedForGoodError(f"The log knows no revision {intent.revision_id}.")
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
        row = self._row_to_write(frame_id)
        try:
            state = next_state(row["state"], event)
        except ImpossibleTransitionError as error:
            told_twice = row["state"] in {TRANSITIONS[entry] for entry in TRANSITIONS if entry[1] is event}
            if not told_twice and row["state"] not in ENDED - {FrameState.MISSING}:
                raise RefusedForGoodError(f"Frame {row['number']} can't be moved: {error}.") from error
            return
        row.update(state=state, text=text, sought=event in SOUGHT_IN_VAIN, fired=SHUTTER.get(state, Fired.NO))
        row["released_at"] = row.get("released_at") or released_at
        if event in (FrameEvent.LOST, FrameEvent.CAMERA_GONE):
            row["objects"] = tuple(objects)

    def frame_findings(self, frame_id: str, findings: Iterable[Finding]) -> None:
        self._row_to_write(frame_id)["findings"] += list(findings)

    def frame_reading(self, frame_id: str, reading: Reading) -> None:
        self._row_to_write(frame_id)["reading"] = reading

    def frame_file(self, frame_id: str, file: SavedFile) -> None:
        row = self._row_to_write(frame_id)
        if file not in row["files"]:
            row["files"].append(file)
        self.known.setdefault(row["intent"].camera_serial, set()).add(file.card)

    def frame_copied(self, frame_id: str, objects: Iterable[CardObject]) -> None:
        row = self._row_to_write(frame_id)
        row.setdefault("copied", []).extend(objects)
        self.known.setdefault(row["intent"].camera_serial, set()).update(objects)

    def frame_judged(self, frame_id: str, findings: Iterable[Finding], focus: FocusJudgement) -> None:
        row = self._row_to_write(frame_id)
        if "frame_judged" in self.never:
            raise RefusedForGoodError("The log refused a value.")
        row["judged"] = (tuple(findings), focus)

    def frame_judged_anew(
        self,
        frame_id: str,
        findings: Iterable[Finding],
        focus: FocusJudgement,
        region: Region,
        grey_patch: Region | None,
        text: str,
    ) -> None:
        self._row_to_write(frame_id).setdefault("judged anew", []).append((focus, region, grey_patch))
        self.events.append(("judged anew", text))

    # --- after a crash ----------------------------------------------------------------------------

    def shot_planes(self, series_id: str) -> tuple[ShotPlane, ...]:
        self._may_read()
        found = []
        for row in self.rows.values():
            plane = row["intent"].series
            if plane is not None and plane.series_id == series_id:
                checks = row["judged"][0] if row["judged"] else ()
                flawed = any(one.id in SPOILT and one.level is not Level.NOTE for one in checks)
                spoilt = flawed or row.get("mark") == Mark.KILL
                found.append(ShotPlane(row["intent"].frame_id, row["number"], plane, row["state"], spoilt))
        return tuple(found)

    def unsettled_frames(self, camera_serial: str | None = None) -> tuple[LoggedFrame, ...]:
        return tuple(
            _logged_frame(row)
            for row in self.rows.values()
            if row["state"] in UNSETTLED
            and (camera_serial is None or row["intent"].camera_serial in self._names_of(camera_serial))
        )

    def origin(self, frame_id: str) -> Origin:
        self._may_read()
        row = self._row(frame_id)
        intent = row["intent"]
        return Origin(intent, row["place"], self.keys[intent.revision_id], row["judged"] is not None)

    def known_card_objects(self, camera_serial: str) -> frozenset[CardObject]:
        return frozenset().union(*(self.known.get(name, ()) for name in self._names_of(camera_serial)))

    def _names_of(self, camera_serial: str) -> set[str]:
        """The body's name, and with a model's name those of the model that are addresses on USB."""
        of_model = {name for name, model in self.models.items() if model == camera_serial}
        return {camera_serial, *(name for name in of_model if name.startswith("usb:"))}

    def holders(self, camera_serial: str, names: Iterable[str]) -> tuple[LoggedFrame, ...]:
        wanted = set(names)
        return tuple(
            _logged_frame(row)
            for row in self.rows.values()
            if row["intent"].camera_serial in self._names_of(camera_serial)
            and any(file.card.name.rpartition(".")[0] in wanted for file in row["files"])
        )

    def neighbours(self, frame_id: str) -> tuple[CardObject | None, CardObject | None]:
        serial = self._row(frame_id)["intent"].camera_serial
        body = self.models.get(serial, serial) if serial.startswith("usb:") else serial
        order = [key for key, row in self.rows.items() if row["intent"].camera_serial in self._names_of(body)]
        here = order.index(frame_id)
        files = [self.rows[key]["files"] for key in order]
        before = [found[-1].card for found in files[:here] if found]
        after = [found[0].card for found in files[here + 1 :] if found]
        return before[-1] if before else None, after[0] if after else None

    def is_new_camera(self, camera_serial: str) -> bool:
        return self.known.keys().isdisjoint(self._names_of(camera_serial))

    def note_model(self, camera_serial: str, model: str) -> None:
        self._may_write()
        self.models[camera_serial] = model

    def note_card(self, camera_serial: str, objects: Iterable[CardObject]) -> None:
        self._may_write()
        self.known.setdefault(camera_serial, set()).update(objects)

    # --- people -----------------------------------------------------------------------------------

    def reference(self, place: Place, setup_number: int) -> Reference | None:
        self._may_read()
        return self._reference(self.references.get((place.piece_id, setup_number)))

    def expectation(self, place: Place, setup_number: int) -> Reference | None:
        self._may_read()
        others = [
            frame_id
            for (piece_id, number), frame_id in self.references.items()
            if number == setup_number and piece_id != place.piece_id
        ]
        return self._reference(others[-1] if others else None)

    def agreement(self, place: Place) -> Agreement | None:
        self._may_read()
        return self.standards.get(place.view_id)

    def keep_order_table(self, table: str, read_from: str) -> None:
        self._may_write()
        self.orders.append(table)

    def add_views(self, job: str, piece: str, views: Iterable[str]) -> None:
        self._may_write()
        self.views_added.append((job, piece, tuple(views)))

    def _reference(self, frame_id: str | None) -> Reference | None:
        if frame_id is None:
            return None
        return Reference(frame_id, self.rows[frame_id]["number"], self.rows[frame_id]["files"][0].path)

    def set_reference(self, place: Place, setup_number: int, frame_id: str | None) -> None:
        self._may_write()
        if setup_number not in [one.setup_number for one in self._of_job(place)]:
            raise RefusedForGoodError(f"The job {place.job} has no set-up {setup_number:02d}.")
        if frame_id is not None:
            row = self._row(frame_id)
            if row["intent"].measures or not row["files"]:
                raise LogError(f"Frame {row['number']} can't be the reference.")
        about = place.piece_id, setup_number
        before = self.references.get(about)
        if before != frame_id:
            self._put("reference", about, None, frame_id)
            said = f"frame {self.rows[frame_id or before or '']['number']} made or dropped as reference"
            self._do(Act("", place.job_id, "reference", said, about, before, frame_id, frame_id or before))

    def keep_peak(self, place: Place, setup_number: int, peak: KeptPeak) -> None:
        self._may_write()
        if setup_number not in [one.setup_number for one in self._of_job(place)]:
            raise RefusedForGoodError(f"The job {place.job} has no set-up {setup_number:02d}.")
        self.peaks[place.piece_id, setup_number] = peak

    def kept_peak(self, place: Place, setup_number: int) -> KeptPeak | None:
        return self.peaks.get((place.piece_id, setup_number))

    def keep_wish(self, place: Place, wish: Mapping[str, object]) -> None:
        self._may_write()
        self.wishes[place.view_id] = dict(wish)

    def say_of_step(self, place: Place, revision_id: str, step: str, word: StepWord | None, reason: str = "") -> None:
        self._may_write()
        if self.keys.get(revision_id) not in self._of_job(place):
            raise RefusedForGoodError(f"The job {place.job} has no such revision.")
        if word is StepWord.SKIPPED and not reason.strip():
            raise RefusedForGoodError(f"Skipping {step} takes a reason.")
        about = place.piece_id, revision_id, step
        about = self._step_about(about, word)
        before = self.steps.get(about)
        after = StepSaid(step, word, reason.strip(), SAID_AT) if word else None
        self._put("step", about, None, after)
        self._do(Act("", place.job_id, "step", f"{step} {word or 'open'}", about, before, after))

    def steps_said(self, place: Place, revision_id: str) -> tuple[StepSaid, ...]:
        self._may_read()
        of_revision = [(about, said) for about, said in self.steps.items() if about[1] == revision_id]
        return tuple(
            replace(said, elsewhere=about[0] != place.piece_id)
            for about, said in of_revision
            if about[0] == place.piece_id or said.word is StepWord.INSTEAD
        )

    def _step_about(self, about: tuple[str, str, str], word: StepWord | None) -> tuple[str, str, str]:
        """What a word is about: where it takes a substitute's place, that of the piece at which this was said."""
        instead = (one for one, said in self.steps.items() if said.word is StepWord.INSTEAD and one[1:] == about[1:])
        return next(instead, about)

    def mark(self, frame_id: str, mark: str | None) -> None:
        row = self._row_to_write(frame_id)
        if mark is not None and mark not in set(Mark):
            raise RefusedForGoodError(f"A mark is one of {', '.join(Mark)}, not {mark!r}.")
        before = row.get("mark")
        if before != mark:
            row["mark"] = mark
            said = f"frame {row['number']} marked {mark}" if mark else f"frame {row['number']} no longer marked"
            self._do(Act("", row["place"].job_id, "mark", said, frame_id, before, mark, frame_id))

    def note(self, frame_id: str, text: str) -> None:
        row = self._row_to_write(frame_id)
        if text.strip():
            before = tuple(row.get("notes", ()))
            row["notes"] = [*before, text]
            said = f"note to frame {row['number']}"
            self._do(Act("", row["place"].job_id, "note", said, frame_id, before, (*before, text), frame_id))

    def undo_last(self, place: Place) -> Undone | None:
        self._may_write()
        if self.turns:
            return self.turns.pop(0)
        return self._turn(place, self.done, self.undone, back=True)

    def redo(self, place: Place) -> Undone | None:
        self._may_write()
        if self.turns:
            return self.turns.pop(0)
        return self._turn(place, self.undone, self.done, back=False)

    def can_undo(self, place: Place) -> bool:
        return bool(self.turns) or any(act.job_id == place.job_id for act in self.done)

    def next_undo(self, place: Place) -> Undone | None:
        self._may_write()
        return self.turns[0] if self.turns else self._ahead(place, self.done, back=True)

    def next_redo(self, place: Place) -> Undone | None:
        self._may_write()
        return self.turns[0] if self.turns else self._ahead(place, self.undone, back=False)

    def _do(self, act: Act) -> None:
        """An act is done; it continues the one before when both have the same word."""
        self.undone = [one for one in self.undone if one.job_id != act.job_id]
        last = self.done[-1] if self.done else None
        if last is not None and act.word and act.word == last.word:
            self.done[-1] = replace(last, after=act.after)
            if _contents(act.after) == _contents(last.before):
                self.done.pop()
            return
        self.done.append(replace(act, key=f"act {len(self.done) + len(self.undone) + 1}"))

    def _ahead(self, place: Place, heap: list[Act], *, back: bool) -> Undone | None:
        of_job = [act for act in heap if act.job_id == place.job_id]
        if not of_job:
            return None
        act, how = of_job[-1], "undone" if back else "redone"
        value = act.before if back else act.after
        if act.kind == "arrangement":
            kept = self._as_kept(act.about, value)
            return Undone(f"{how}: {act.text}", None, kept, act.about.view_id, act.key)
        return Undone(f"{how}: {act.text}", act.frame_id, act_id=act.key)

    def _turn(self, place: Place, heap: list[Act], other: list[Act], *, back: bool) -> Undone | None:
        found = self._ahead(place, heap, back=back)
        if found is not None:
            act = next(one for one in heap if one.key == found.act_id)
            heap.remove(act)
            other.append(act)
            self._put(act.kind, act.about, found.standing, act.before if back else act.after)
        return found

    def _put(self, kind: str, about: Any, standing: Standing | None, value: Any) -> None:
        """Bring a value of an act into force."""
        if kind == "mark":
            self.rows[about]["mark"] = value
        elif kind == "note":
            self.rows[about]["notes"] = list(value)
        elif kind == "reference":
            self.references.pop(about, None)
            if value is not None:
                self.references[about] = value
        elif kind == "step":
            self.steps.pop(about, None)
            if value is not None:
                self.steps[about] = value
        elif standing is not None:
            self.stood[about.piece, about.view] = standing

    def keep_aside(self, entry: RefusedEntry) -> str:
        self.aside.append(entry)
        return "the file beside the log"

    def record(self, kind: str, text: str, frame_id: str | None = None) -> None:
        self._may_write()
        self.events.append((kind, text))


def _logged_frame(row: dict[str, Any]) -> LoggedFrame:
    return LoggedFrame(
        intent=row["intent"],
        state=row["state"],
        fired=row["fired"] or Fired.UNKNOWN,
        expected=tuple(one for one in row["objects"] if one not in _cards(row)),
        saved=tuple(Path(file.path).name for file in row["files"]),
        saved_objects=_cards(row),
        expected_files=_expected_files(row),
        sought=row.get("sought", False),
    )


def _cards(row: Mapping[str, Any]) -> tuple[CardObject, ...]:
    return tuple(file.card for file in row["files"])


def _expected_files(row: Mapping[str, Any]) -> int:
    """How many files the format makes that the camera was set to; 0 when it didn't say."""
    value = row["reading"].value("file_format") if "reading" in row else None
    return FILES_OF_FORMAT.get(str(value), 0)


def _contents(standing: Standing) -> Revision:
    """An arrangement without the number that its revision has."""
    return replace(standing.revision, revision=0)


if TYPE_CHECKING:
    ANSWERS: type[Log] = MemoryLog
