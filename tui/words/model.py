"""The state that the bench shows, changed by events. The model knows no terminal, and is tested without a terminal.

`BenchModel.hear` takes the controller's events one by one. What the large line is about follows from it by
`phase`: a frame that waits goes before one in the camera, that before a lost camera, that before a new reference, that
before the last result, that before what the rules say now. What is wrong with a frame stays until a key or a release.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from enum import StrEnum

from session.frame.camera_messages import CameraDescription, Reading, SavedFile
from session.frame.drive_runs import DriveRuns
from session.frame.finding import Finding, Level, flaw_of
from session.frame.ports import Place
from session.frame.states import FrameState, ReleasedBy
from session.order.order_progress import Progress, ViewProgress
from session.set.kit import LensDrive
from session.set.setup import Revision
from session.shoot import events as told
from session.shoot.events import Event, Waiting
from session.units.numbers import read_text
from tui.words.bench_frame import BenchFrame
from tui.words.frame_word import frame_word
from tui.words.keys import Where, bare_cap, hint
from tui.words.live_model import LiveModel
from tui.words.live_words import stream_text

NEVER_RELEASED = frozenset(
    {FrameState.ASKED, FrameState.HELD_OFF, FrameState.REFUSED, FrameState.CALLED_OFF},
)
"""States of a wish that came to nothing (yet): it has no row in the log and no place in the ledger."""


FADES_S = 10.0
"""How long a passing sentence stands: time to look up from the set and read it. Chosen."""


class Phase(StrEnum):
    """The state of the shoot as the large line shows it; a line for each."""

    HELD = "held"
    RELEASING = "releasing"
    SAVING = "saving"
    NO_CAMERA = "no camera"
    CHECKING = "checking"
    REFUSED = "refused"
    NOT_FIRED = "not fired"
    UNCERTAIN = "uncertain"
    NOT_SAVED = "not saved"
    REFERENCE = "reference"
    JUDGED = "judged"
    STOPPED = "stopped"
    READY = "ready"


AT_REST = frozenset({Phase.READY, Phase.JUDGED, Phase.REFERENCE})
"""Phases in which the large line may tell what a mode has to say; in all others it tells of a frame, or of a stop."""

_RESULTS = {
    FrameState.REFUSED: Phase.REFUSED,
    FrameState.NOT_FIRED: Phase.NOT_FIRED,
    FrameState.UNCERTAIN: Phase.UNCERTAIN,
    FrameState.MISSING: Phase.NOT_SAVED,
    FrameState.SAVED: Phase.CHECKING,
}


@dataclass
class BenchModel:
    """Everything on the bench screen that events change.

    spot      the frame that the large line is about, None when nothing is left to say of it
    accepted  the frame that has just become the reference
    judged_anew   the frames that are with the judge once more
    chosen    the frame picked by hand in the ledger strip; None: always the newest of the view on the table
    lasting   sentences that stay until their cause ends, by id; `passing` the last that doesn't
    asked     a release was asked for at this screen, and nothing was heard of it yet
    undoable  there is an act that can be undone
    moves     how many moves of frames were heard of; `moved` the number of each frame's last one
    released_now  the frames of this run; one of an earlier run that is fetched at the start only moves
    progress  the job's order and how far it is, None for a job without one
    grey_offer  what a grey card told of the lens, and isn't kept yet
    drive_runs    its ways between the turns, by which its play is told
    drive_measured  what a sweep told of the lens's drive, and isn't kept yet
    series      how far the focus series of this run is; None before one was begun
    room        how many more frames card and disk take, as it was asked for last
    driven_steps  the way of the focus drive in this run, + = away
    drive_fails   how often it failed on its way in this run: `driven_steps` before and after can't be compared
    turn_named  what undo or redo would do to the camera, as it was named; None once that no longer stands in `passing`
    """

    place: Place | None = None
    revision: Revision | None = None
    description: CameraDescription | None = None
    reading: Reading = field(default_factory=Reading)
    free_card_bytes: int | None = None
    lost_text: str = ""
    rules: tuple[Finding, ...] = ()
    frames: dict[str, BenchFrame] = field(default_factory=dict)
    waiting: Waiting | None = None
    card_read: told.CardBeingRead | None = None
    spot: str | None = None
    accepted: str | None = None
    judged_anew: set[str] = field(default_factory=set)
    chosen: str | None = None
    reference_id: str | None = None
    reference_number: int | None = None
    live: LiveModel = field(default_factory=LiveModel)
    lasting: dict[str, str] = field(default_factory=dict)
    passing: str = ""
    asked: bool = False
    undoable: bool = False
    progress: Progress | None = None
    moves: int = 0
    moved: dict[str, int] = field(default_factory=dict)
    released_now: set[str] = field(default_factory=set)
    turn_named: told.TurnAsked | None = None
    series: told.SeriesChanged | None = None
    room: told.RoomTold | None = None
    driven_steps: int = 0
    drive_fails: int = 0
    drive_runs: DriveRuns = field(default_factory=DriveRuns)
    drive_measured: LensDrive | None = None
    grey_offer: told.GreyOffer | None = None
    _passing_named: tuple[str, str] = ("", "")
    _passing_since_s: float = 0.0
    _passing_at: tuple[Where | None, str] = (None, "")
    _spot_since_s: float = 0.0
    _sized_at: int = -1
    _frame_bytes: int = 0

    # --- what is heard ----------------------------------------------------------------------------

    def hear(self, event: Event, now_s: float) -> None:
        """Take one event of the controller; now_s as `Clock.monotonic_s`."""
        before, result, accepted = self.passing, self._result, self.accepted
        self._hear(event)
        if self.passing != before:
            self._passing_since_s = now_s
            if not isinstance(event, told.TurnAsked):
                self.turn_named = None
        if self._result != result or self.accepted != accepted:
            self._spot_since_s = now_s

    def fade(self, now_s: float) -> bool:
        """Drop what has stood long enough at `now_s` seconds; returns whether something was dropped.

        A passing sentence fades, and in live view good news.
        """
        went = False
        if self.passing and now_s - self._passing_since_s >= FADES_S:
            self.passing, self.turn_named, went = "", None, True
        fades = self._result or self.accepted
        if self.live.on and fades and not self.stays and now_s - self._spot_since_s >= FADES_S:
            self.spot = self.accepted = None
            went = True
        return went

    @property
    def stays(self) -> bool:
        """Whether the large line stays until a key or the next release, since something is wrong with its frame."""
        spot = self.frames.get(self.spot or "")
        return spot is not None and self.in_camera is not spot and frame_word(spot).stays

    @property
    def next_to_go(self) -> ViewProgress | None:
        """The order's next view to go; None without an order, or when all other views are done."""
        return self.progress.next_to_go(self.place.piece, self.place.view) if self.place and self.progress else None

    @property
    def view_done(self) -> bool:
        """Whether the order has the view on the table, and that view has a good frame."""
        if self.place is None or self.progress is None:
            return False
        found = self.progress.of(self.place.piece, self.place.view)
        return found is not None and found.is_done

    @property
    def _result(self) -> tuple[str, FrameState, bool] | None:
        """Key, state and whether judged, of the frame at rest that the large line tells of; None without one."""
        spot = self.frames.get(self.spot or "")
        return (spot.frame_id, spot.state, spot.focus is not None) if spot and self.in_camera is not spot else None

    def _take_reference(self, frame_id: str | None, number: int | None, decided: bool) -> None:
        """Take the reference's key and number; `decided`: a person has just chosen it."""
        self.reference_id, self.reference_number = frame_id, number
        for frame in self.frames.values():
            if self.is_here(frame, of_setup=True):
                frame.reference = number
        if decided and frame_id:
            self.accepted, self.spot, self.passing = frame_id, None, ""
        elif decided and self.revision:
            self.accepted = None
            gone = f"Set-up {self.revision.setup_number:02d} has no reference for this piece now."
            self.passing = f"{gone} {hint(Where.BENCH, 'undo', 'brings it back')}"

    def _hear(self, event: Event) -> None:  # noqa: PLR0912, PLR0915 — one line for each kind of event
        match event:
            case told.CameraFound(description, reading, free_bytes):
                self.description, self.reading, self.free_card_bytes = description, reading, free_bytes
                self.lost_text = ""
                self._drop_said(told.About.NO_CAMERA)
            case told.CameraLost(_, text):
                self.description, self.lost_text, self.card_read = None, text, None
                self.live.lose()
            case told.SettingsChanged(reading, refused, by_hand):
                self._settings(reading, refused, by_hand)
            case told.RulesChanged(findings):
                self._rules(findings)
            case told.PlaceChanged(place):
                self.place, self.spot, self.accepted, self.chosen = place, None, None, None
            case told.RevisionChanged(revision, _, frame_id):
                self.revision, self.spot, self.accepted = revision, frame_id or None, None
            case told.FrameMoved():
                self._move_frame(event)
            case told.Waiting():
                self.waiting, self.spot, self.accepted, self.asked = event, None, None, False
            case told.FileArrived(frame_id, _, file):
                self._take_arrival(frame_id, file)
            case told.SlowTransfer(frame_id):
                if frame_id in self.frames:
                    self.frames[frame_id].coming, self.frames[frame_id].card_read = event, None
            case told.CameraBusy(frame_id):
                if frame_id in self.frames:
                    self.frames[frame_id].busy = event
            case told.CardBeingRead():
                self._read_card(event)
            case told.FrameJudged(frame_id, _, findings, focus, anew):
                frame = self.frames.get(frame_id)
                if frame:
                    frame.checks, frame.focus, frame.flaw = findings, focus, flaw_of(findings)
                if frame and anew:
                    self.judged_anew.discard(frame_id)
                    self.spot, self.accepted = frame_id, None
                    self.passing = f"Frame {frame.number} was judged anew with region and grey patch as they are now."
            case told.BeingJudgedAnew(frame_id):
                self.judged_anew.add(frame_id)
                self.spot, self.accepted = frame_id, None
            case told.ReferenceChanged(frame_id, number, decided):
                self._take_reference(frame_id, number, decided)
            case told.LiveViewChanged(on, text):
                self.live.switch(on)
                self._drop_said(told.About.LIVE_FIRST)
                self.passing = text or self.passing
            case told.StreamChanged(state):
                self.live.stream = state
                self._take_sentence(told.Said(stream_text(event), told.About.STREAM, True))
            case told.Said():
                self._take_sentence(event)
                if event.text and not event.lasting and event.id != told.About.MEANWHILE:
                    self.asked = False  # it may be the refusal of what was asked for
            case told.TurnAsked():
                self.turn_named, self.passing = event, turn_text(event)
            case told.UndoChanged(possible):
                self.undoable = possible
            case told.LivePicture():
                self.live.take_frame(event)
            case told.PeakKept(peak):
                self.live.kept = peak
            case told.StandMeasured(found):
                self.live.support = found
            case told.GreyCardRead(offer):
                self.grey_offer = offer
            case told.SeriesChanged():
                self.series = event
            case told.RoomTold():
                self.room = event
            case told.DriveMeasured(drive):
                self.drive_measured = drive
            case told.FocusMoved(int(steps)):
                self.driven_steps += steps
                self.drive_runs = self.drive_runs.and_then(steps)
            case told.FocusMoved():
                self.drive_fails += 1
                self.drive_runs = DriveRuns()
            case told.KitChanged():
                pass

    def _read_card(self, event: told.CardBeingRead) -> None:
        if event.frame_id in self.frames:
            self.frames[event.frame_id].card_read = event if event.left_s != 0 else None
            return
        self.card_read = event if event.left_s else None
        is_said = self.waiting is not None and self.waiting.reason is told.CameraWait.CARD
        self._take_sentence(told.Said(card_text(event) if event.left_s and not is_said else "", told.About.CARD))

    def _settings(self, reading: Reading, refused: tuple[tuple[str, str], ...], by_hand: bool) -> None:
        self.reading = reading
        if refused:
            self.passing = " ".join(sentence for _, sentence in refused)
        if by_hand and not self.stays:
            self.spot = None

    def _rules(self, findings: tuple[Finding, ...]) -> None:
        """Take the rules' findings. A new stop clears the last frame's result, unless that stays, or was a refusal.

        A refusal is cleared when all the stops that it names are gone.
        """
        old, spot = {finding.id for finding in self.stops}, self.frames.get(self.spot or "")
        self.rules = findings
        if any(finding.id not in old for finding in self.stops):
            self.accepted = None
            if spot and spot.state is not FrameState.REFUSED and not self.stays:
                self.spot = None
        if spot and spot.state is FrameState.REFUSED:
            refused_by = {finding.id for finding in spot.rules if finding.level is Level.STOP}
            if refused_by and not refused_by & {finding.id for finding in self.stops}:
                self.spot = None

    def _take_arrival(self, frame_id: str, file: SavedFile) -> None:
        frame = self.frames.get(frame_id)
        if frame:
            frame.files = (*frame.files, file)
            self._sized_at = -1
        if self.free_card_bytes is not None:  # nothing is deleted from the card
            self.free_card_bytes = max(0, self.free_card_bytes - file.bytes)

    def _move_frame(self, event: told.FrameMoved) -> None:
        self.moves, self.asked = self.moves + 1, False
        begins = event.state in NEVER_RELEASED | {FrameState.RELEASING}
        if event.frame_id not in self.moved and (begins or event.facts.released_by is ReleasedBy.BODY):
            self.released_now.add(event.frame_id)
        self.moved[event.frame_id] = self.moves
        known = self.frames.get(event.frame_id)
        frame = known or BenchFrame(event.facts)
        frame.facts = event.facts
        frame.rules = event.findings or frame.rules
        if event.state in (FrameState.SAVED, FrameState.LOGGED) and not frame.files:
            frame.whole = False  # what was found on the disk is told to the log only
        if known is None:
            frame.setup = self.revision.label if self.revision else ""
            frame.piece, frame.view = (self.place.piece, self.place.view) if self.place else ("", "")
            if self.revision:
                frame.blur_limit_px, frame.region = self.revision.blur_limit_px, self.revision.region
            frame.reference = self.reference_number
        self.frames[event.frame_id] = frame
        if self.waiting and self.waiting.frame_id == event.frame_id:
            self.waiting = None
        if known is None or event.state in _RESULTS:
            self.spot, self.accepted = event.frame_id, None
            if self._passing_named != (told.About.MEANWHILE, self.passing):
                self.passing = ""
        if event.state is FrameState.CALLED_OFF:
            self.spot, self.passing = None, event.text

    def _drop_said(self, about: str) -> None:
        """Drop the passing sentence if it is on this subject."""
        if self._passing_named == (about, self.passing):
            self.passing = ""

    def _take_sentence(self, event: told.Said) -> None:
        if not event.lasting and event.text:
            self.passing, self._passing_named = event.text, (event.id, event.text)
        elif not event.lasting:
            self._drop_said(event.id)
        elif event.text:
            self.lasting[event.id] = event.text
        else:
            self.lasting.pop(event.id, None)

    def read(self, frames: Iterable[BenchFrame], moves_before: int) -> None:
        """Take frames as the log has them.

        moves_before  `moves` when the reading began: a frame that moved since keeps its newer state
        A frame under way keeps its state too, since the log may owe the latest of it.
        """
        busy = (FrameState.RELEASING, FrameState.RECEIVING, FrameState.SAVED)
        self._sized_at = -1
        for frame in frames:
            known = self.frames.get(frame.frame_id)
            if known is None:
                self.frames[frame.frame_id] = frame
                continue
            known.mark = frame.mark  # a person's, so the log has it from the moment it was given
            if known.state not in busy and self.moved.get(frame.frame_id, 0) <= moves_before:
                known.facts = replace(frame.facts, text=frame.text or known.text)
                if not known.files or not known.focus:
                    known.whole = False
                known.focus, known.flaw = known.focus or frame.focus, known.flaw or frame.flaw

    def complete(self, frame: BenchFrame) -> None:
        """Files and findings of a frame, read from the log."""
        known = self.frames.get(frame.frame_id)
        if known is not None and not known.whole:
            arrived = tuple(file for file in known.files if file not in frame.files)  # while the log was read
            known.files, known.whole = (*frame.files, *arrived), True
            self._sized_at = -1
            known.blur_limit_px = known.blur_limit_px or frame.blur_limit_px
            known.region, known.reference = known.region or frame.region, known.reference or frame.reference
            if frame.focus is not None or known.focus is None:  # it may have been judged since the log was read
                known.checks, known.focus, known.flaw = frame.checks, frame.focus, frame.flaw

    # --- what the person does here ----------------------------------------------------------------

    def begin_act(self) -> None:
        """Clear the last news, since the person went on and has read it."""
        self.spot = self.accepted = None
        self.passing, self.turn_named = "", None

    def key_pressed(self, where: Where) -> bool:
        """Drop a passing sentence that stood at the last key already, if that key was pressed at another place.

        where  the part of the table of keys that holds for this key
        Returns whether a sentence was dropped.
        """
        last, stood = self._passing_at
        gone = bool(self.passing) and stood == self.passing and last is not where
        if gone:
            self.passing, self.turn_named = "", None
        self._passing_at = (where, self.passing)
        return gone

    def screen_opened(self) -> None:
        """Drop a passing sentence that stood already when the key was pressed that opened another screen."""
        if self.passing == self._passing_at[1]:
            self.passing, self.turn_named = "", None

    def mark_seen(self) -> bool:
        """Clear a result that stays until a key, or a new reference. Returns True if a result stayed."""
        if self.phase() not in (Phase.JUDGED, Phase.REFERENCE) or not (self.stays or self.accepted):
            return False
        self.spot = self.accepted = None
        return True

    def turn_agreed(self, act: told.Turn) -> str:
        """The key of the log's act that stands named for this turn; "" when none does."""
        named = self.turn_named
        return named.act_id if named is not None and named.act is act else ""

    def turn_dropped(self) -> bool:
        """Forget the act that undo named, since another key was pressed. Returns whether an act was named."""
        named, self.turn_named = self.turn_named, None
        if named is None:
            return False
        self.passing = ""
        return True

    def drop_agreed(self, frame: BenchFrame) -> bool:
        """Whether dropping this frame as the reference has just been named, and may be done at the next key."""
        return self.passing == drop_text(frame)

    def release_asked(self) -> None:
        """Note that the next frame was asked for: the picture follows the newest frame again."""
        self.begin_act()
        self.chosen, self.asked = None, True

    def set_mark(self, frame_id: str, mark: str) -> str | None:
        """Set a frame's mark, or remove it when the frame has it. Returns the mark that the frame has then."""
        frame = self.frames[frame_id]
        frame.mark = None if frame.mark == mark else mark
        return frame.mark

    def choose(self, steps: int) -> None:
        """Choose another frame of the ledger, `steps` later (negative: earlier), unless the bench shows it anyway."""
        released = self.released
        if not released:
            return
        current = self.frame
        at = released.index(current) if current in released else len(released)
        wanted = released[min(len(released) - 1, max(0, at + steps))]
        self.chosen = None
        if self.frame is not wanted:
            self.chosen = wanted.frame_id

    # --- what follows from it ---------------------------------------------------------------------

    @property
    def released(self) -> list[BenchFrame]:
        """The frames that were released, by number."""
        frames = (frame for frame in self.frames.values() if frame.state not in NEVER_RELEASED)
        return sorted(frames, key=lambda frame: frame.number)

    @property
    def frame(self) -> BenchFrame | None:
        """The frame that picture, findings, marks and notes are about: the chosen one, else the newest of this view."""
        if self.chosen in self.frames:
            return self.frames[self.chosen]
        return next((frame for frame in reversed(self.released) if self.is_here(frame)), None)

    def is_here(self, frame: BenchFrame, *, of_setup: bool = False) -> bool:
        """Whether a frame shows the view on the table; `of_setup`: the piece on the table, by the set-up in force."""
        place, revision = self.place, self.revision
        if place is None:
            return True
        if frame.piece != place.piece:
            return False
        if of_setup:
            return revision is not None and frame.setup_number == f"{revision.setup_number:02d}"
        return frame.view == place.view

    @property
    def in_camera(self) -> BenchFrame | None:
        """The frame that is being released or handed over."""
        busy = (FrameState.RELEASING, FrameState.RECEIVING)
        return next((f for f in reversed(self.released) if f.state in busy), None)

    @property
    def frame_bytes(self) -> int:
        """Bytes of the largest whole frame that has the kinds of files which the newest has; 0 before there was one.

        The largest, so that the count of frames that the card takes never rises as frames come.
        """
        if self._sized_at != self.moves:  # asked at each paint, also of a day's 5,000 frames
            whole = [frame for frame in self.released if frame.state in (FrameState.SAVED, FrameState.LOGGED)]
            sized = [frame for frame in whole if frame.bytes]
            largest = max((frame.bytes for frame in sized if frame.kinds == sized[-1].kinds), default=0)
            self._sized_at, self._frame_bytes = self.moves, largest
        return self._frame_bytes

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that keep the shutter shut now."""
        return tuple(finding for finding in self.rules if finding.level is Level.STOP)

    @property
    def held(self) -> bool:
        """A release was asked for and hasn't come yet."""
        return self.waiting is not None

    @property
    def sweeping(self) -> bool:
        """The camera's drive is looking for the peak."""
        return told.About.SWEEP in self.lasting

    @property
    def under_way(self) -> bool:
        """A frame waits, or is in the camera's hands."""
        return self.held or self.in_camera is not None

    def phase(self) -> Phase:  # noqa: PLR0911 — the order of what matters is the point
        """The phase that the large line shows."""
        busy = self.in_camera
        if busy and busy.state is FrameState.RELEASING:
            return Phase.RELEASING
        if self.waiting and (self.waiting.until_s is not None or not busy or busy.focus):
            return Phase.HELD
        if busy and not busy.focus:
            return Phase.SAVING
        if self.description is None:
            return Phase.NO_CAMERA
        if self.accepted:
            return Phase.REFERENCE
        spot = self.frames.get(self.spot or "")
        if spot and spot.frame_id in self.judged_anew:
            return Phase.CHECKING
        if spot and spot.focus:
            return Phase.JUDGED
        if spot and spot.state in _RESULTS:
            return _RESULTS[spot.state]
        return Phase.STOPPED if self.stops else Phase.READY


def drop_text(frame: BenchFrame) -> str:
    """`Frame 2 is the reference: again c drops it.`"""
    return f"Frame {frame.number} is the reference: again {bare_cap(Where.BENCH, 'reference')} drops it."


def card_text(read: told.CardBeingRead) -> str:
    """`The card's folder is being read: 1,200 of 5,000 files, about 3 min. A release waits until then.`"""
    return f"The card's folder is being read{read_so_far(read)}. A release waits until then."


def read_so_far(read: told.CardBeingRead) -> str:
    """`: 1,200 of 5,000 files, about 3 min`; "" while nobody knows."""
    return f": {read_text(read.done, read.of, read.left_s)}" if read.left_s else ""


def turn_text(named: told.TurnAsked) -> str:
    """`undo 1/200 s: again z`."""
    return f"{named.act} {named.what}: again {bare_cap(Where.BENCH, named.act)}"
