"""The ports of the controller, as small protocols, which `storage` and the process hosts implement."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import KW_ONLY, dataclass, field
from datetime import UTC, datetime
from time import monotonic
from typing import Protocol

from session.frame.camera_messages import CardObject, Fired, Reading, SavedFile
from session.frame.finding import Finding, FocusJudgement
from session.frame.shot_plane import ShotPlane
from session.frame.states import FrameEvent, Intent, LoggedFrame
from session.frame.step_said import StepSaid, StepWord
from session.set.client_standard import Standard
from session.set.setup import Region, Revision


class LogError(RuntimeError):
    """The log or the disk refused an entry or a file; the text names it, and says what is safe.

    fired   what is known of the shutter at that time
    """

    def __init__(self, text: str, fired: Fired = Fired.UNKNOWN) -> None:
        super().__init__(text)
        self.fired = fired


class RefusedForGoodError(LogError):
    """The log takes other entries, but refuses this entry however often it is tried."""


class Clock(Protocol):
    """Time, handed in so that tests need no sleeping."""

    def monotonic_s(self) -> float:
        """Seconds (s) that only grow; for waits."""

    def now(self) -> datetime:
        """The time of day, with zone; for the log."""


class SystemClock:
    """The machine's own clocks."""

    def monotonic_s(self) -> float:
        """Seconds (s) of the system's monotonic clock."""
        return monotonic()

    def now(self) -> datetime:
        return datetime.now(UTC)


@dataclass(frozen=True)
class Reference:
    """The approved frame of a set-up and piece: what later frames are compared with.

    path   its JPEG (or raw with an embedded preview) on disk
    """

    frame_id: str
    number: int
    path: str


@dataclass(frozen=True)
class Agreement:
    """A client's standard for a view, with the frame approved first.

    example  the accepted frame of another piece, with which frames are compared from piece to piece; None without one
    """

    standard: Standard
    example: Reference | None = None


@dataclass(frozen=True)
class Place:
    """Which job, piece and view are on the table, by the log's keys and by name."""

    job_id: str
    piece_id: str
    view_id: str
    job: str
    piece: str
    view: str


@dataclass(frozen=True)
class Standing:
    """The arrangement with which a view goes on: the last one shot, or the one chosen since.

    revision_id  the log's key of the revision; "" for a draft, which no frame has used yet
    from_camera  of a draft: settings that it takes as the camera has them when it is first connected
    piece        whose it is: that of another piece with a view of the same name, while this one has none of its own
    """

    revision: Revision
    revision_id: str = ""
    from_camera: tuple[str, ...] = ()
    piece: str = ""


@dataclass(frozen=True)
class Origin:
    """A frame of the log, with the place and the set-up that it belongs to.

    judged   the checks have had their say on it
    """

    intent: Intent
    place: Place
    revision: Revision
    judged: bool


@dataclass(frozen=True)
class Undone:
    """The outcome of undoing or redoing a person's act.

    text      one sentence
    frame_id  whose mark, note or reference it was; None for a set-up
    standing  what is in force now for the view of the key `view_id`, when it was a change of a set-up
    act_id    the log's key of the act
    """

    text: str
    frame_id: str | None
    standing: Standing | None = None
    view_id: str = ""
    act_id: str = ""


@dataclass(frozen=True)
class KeptPeak:
    """The highest fine contrast that live view showed for a set-up and piece, kept when the focus had passed it.

    contrast   percent, see `session.live.contrast`
    region, live_width_px   what it was measured on: for another region or picture size it is no measure
    seen_at    with zone
    """

    contrast: float
    region: Region
    live_width_px: int
    seen_at: datetime


@dataclass(frozen=True)
class RefusedEntry:
    """An entry that the log will never take.

    call    the log's method, `values` its arguments by position and then by name
    error   why, in words
    """

    call: str
    values: tuple[object, ...]
    error: str


class Log(Protocol):
    """The log as the controller writes it. A call is one durable transaction, and may raise LogError."""

    def open_place(self, job: str, piece: str, view: str) -> Place:
        """The place of these names, made as far as it is new. Raises RefusedForGoodError for a name that can't be."""

    def next_frame_number(self, place: Place) -> int:
        """The number that the next frame of this job gets."""

    def frame_sizes(self, place: Place) -> tuple[int, ...]:
        """Bytes of all files of each of the job's last frames, newest last; some dozens at most."""

    def begin_frame(self, intent: Intent, place: Place, draft: Revision | None = None) -> None:
        """Write a frame in the intent's state, with its overrulings, before the camera hears of it.

        draft  the arrangement that it is released by, when that is in no revision yet: it becomes the revision of the
               intent's `revision_id` in the same transaction, so that no revision is without a frame
        """

    def move_frame(
        self,
        frame_id: str,
        event: FrameEvent,
        text: str = "",
        *,
        released_at: datetime | None = None,
        objects: Iterable[CardObject] = (),
    ) -> None:
        """Move a frame by the table of states from where the log has it; nothing else changes a frame's state.

        text         what a person should know, in words
        released_at  when the shutter went; the first time that is told stays
        objects      card objects that are the frame's and not saved

        An event that comes after the frame is done is put on record, and changes nothing; so does an event told
        twice. Raises RefusedForGoodError when the table has no other entry for the event.
        """

    def frame_findings(self, frame_id: str, findings: Iterable[Finding]) -> None:
        """Add findings of rules or checks to a frame."""

    def frame_reading(self, frame_id: str, reading: Reading) -> None:
        """Add the camera's settings to a frame, as the camera reported them at the release."""

    def frame_file(self, frame_id: str, file: SavedFile) -> None:
        """A file of the frame is safe on disk; its card object is settled in the same transaction."""

    def frame_copied(self, frame_id: str, objects: Iterable[CardObject]) -> None:
        """Note that card objects are copies of the frame's saved files on a second card, so that none is fetched."""

    def frame_judged(self, frame_id: str, findings: Iterable[Finding], focus: FocusJudgement) -> None:
        """Add a judgement of the checks, which may come before the last file is saved; the state stays."""

    def frame_judged_anew(
        self,
        frame_id: str,
        findings: Iterable[Finding],
        focus: FocusJudgement,
        region: Region,
        grey_patch: Region | None,
        text: str,
    ) -> None:
        """Add a further judgement, with its region and patch; earlier ones stay. `text`: for the events."""

    def shot_planes(self, series_id: str) -> tuple[ShotPlane, ...]:
        """The frames of a focus series, in the order in which they were begun."""

    def unsettled_frames(self, camera_serial: str | None = None) -> tuple[LoggedFrame, ...]:
        """Frames that an earlier run left in the middle, of this camera or of all."""

    def origin(self, frame_id: str) -> Origin:
        """Place and set-up of a frame that is in the log."""

    def known_card_objects(self, camera_serial: str) -> frozenset[CardObject]:
        """The settled objects of this camera's cards: found before the shoot, or saved files of a frame."""

    def holders(self, camera_serial: str, names: Iterable[str]) -> tuple[LoggedFrame, ...]:
        """Frames of this camera with a saved file whose name without its ending (`STIL0004`) is among `names`."""

    def neighbours(self, frame_id: str) -> tuple[CardObject | None, CardObject | None]:
        """A saved file of the last frame of the same camera begun before this one, and of the next begun after it."""

    def is_new_camera(self, camera_serial: str) -> bool:
        """True when this log has never noted what is on this camera's card."""

    def note_model(self, camera_serial: str, model: str) -> None:
        """Keep the model's name of a camera, as the camera tells it.

        A camera that is known by its model has the frames and cards of those of its model that the log knows by their
        addresses on USB alone (`usb:001,004`), as older stillsets named a camera without a serial number.
        """

    def note_card(self, camera_serial: str, objects: Iterable[CardObject]) -> None:
        """Note objects that lay on the card before the first release for this log, and belong to no frame."""

    def standing(self, place: Place) -> Standing | None:
        """The arrangement of the view, else of a view of that name of another piece of the job; None for a new view.

        Job, piece and view are looked up by name, so they need not be there.
        """

    def choose(self, place: Place, chosen: Standing) -> Standing:
        """Have the view go on with this arrangement from now on, without an act that undo could reach.

        Returns the arrangement as the log has it: the set-up's revision that equals it, else a draft with the number
        that its revision would get.
        """

    def arrange(self, place: Place, before: Standing, wanted: Standing, act: str = "") -> Standing:
        """Write a person's change of the arrangement, with which the view goes on, as an act. Returns as `choose`.

        act  changes with the same word, one right after the other, are one act; "": an act of its own
        """

    def next_setup_number(self, place: Place) -> int:
        """The number after the job's highest set-up, counting the drafts with which views go on."""

    def next_revision_number(self, place: Place, setup_number: int) -> int:
        """The number that the set-up's next revision gets."""

    def reference(self, place: Place, setup_number: int) -> Reference | None:
        """The approved frame of this set-up for this piece."""

    def expectation(self, place: Place, setup_number: int) -> Reference | None:
        """The frame of this set-up approved last for another piece, with which a new piece's light is compared."""

    def agreement(self, place: Place) -> Agreement | None:
        """The client's standard for this view; None for a view without a standard."""

    def set_reference(self, place: Place, setup_number: int, frame_id: str | None) -> None:
        """Approve a frame as reference, or drop the reference with None."""

    def keep_peak(self, place: Place, setup_number: int, peak: KeptPeak) -> None:
        """Keep the peak of live view's fine contrast with this set-up, for this piece."""

    def kept_peak(self, place: Place, setup_number: int) -> KeptPeak | None:
        """The peak that was kept last for this set-up and piece."""

    def keep_wish(self, place: Place, wish: Mapping[str, object]) -> None:
        """Keep the planner's wish for this view: the fields of `session.plan.wish.Wish`."""

    def say_of_step(self, place: Place, revision_id: str, step: str, word: StepWord | None, reason: str = "") -> None:
        """Keep a person's word on a step of building this revision again for this piece; None takes the word away.

        The same word once more is an act too: it holds from now on. Raises RefusedForGoodError for a revision that the
        log doesn't know, and for a step skipped without a reason.
        """

    def steps_said(self, place: Place, revision_id: str) -> tuple[StepSaid, ...]:
        """The words in force on the steps of building this revision again for this piece."""

    def mark(self, frame_id: str, mark: str | None) -> None:
        """hero, select, alternate, kill or None."""

    def note(self, frame_id: str, text: str) -> None:
        """Add a note to the frame."""

    def keep_order_table(self, table: str, read_from: str) -> None:
        """Keep an order, by the text of its table (CSV), as the one in force for its job; what was shot stays."""

    def add_views(self, job: str, piece: str, views: Iterable[str]) -> None:
        """Add views of a piece to the job's order as the log holds it; a job without an order gets one."""

    def undo_last(self, place: Place) -> Undone | None:
        """Undo the last act in this job: mark, note, reference, change of a set-up. None without an act to undo."""

    def redo(self, place: Place) -> Undone | None:
        """Redo the act undone last; None when no act was undone, or another was done since."""

    def can_undo(self, place: Place) -> bool:
        """Whether the job has an act that `undo_last` would undo."""

    def next_undo(self, place: Place) -> Undone | None:
        """The outcome that `undo_last` would have now; changes nothing."""

    def next_redo(self, place: Place) -> Undone | None:
        """The outcome that `redo` would have now; changes nothing."""

    def keep_aside(self, entry: RefusedEntry) -> str:
        """Keep an entry that the log refuses for good in a file beside it, durable; returns the file's path."""

    def record(self, kind: str, text: str, frame_id: str | None = None) -> None:
        """Append to the event table something that is no frame's state: camera lost, setting changed by hand…"""


@dataclass(frozen=True)
class Assignment:
    """A frame for the judge, with its file, reference and set-up.

    path        the JPEG, or a raw whose embedded preview is to be used
    asked       canonical settings that were asked for, to be compared with the Exif
    sensor_width_mm, pixels_across   of the full-size picture; None when the body is unknown
    flash_used  the set-up has a flash, so that a dark picture means a weak or missing flash
    wholly_open_s   exposure time from which on the shutter is wholly open when the flash fires, by the kit
    expected_bytes   what the file should be, from the transfer
    region_px   left, top, width, height in pixels of the upright full-size picture, instead of the revision's region
    guide_numbers_m   of the set's flashes where the kit knows them, as shaped: full power, ISO 100
    expected_path     the set-up's reference for another piece, while this piece has none: its light is expected
    ambient           released with the lights off, to measure the ambient light against the reference
    solo              the light that alone fired; "" for none in particular
    in_series         one of a focus series: its region needn't be sharp, and focusing changes the picture's size
    building          the set is being built again: where the picture lies otherwise is a task, not an accident
    why_alone         why there is no reference, a clause; "" where none was given
    agreement         the client's standard for the view, None without one
    """

    frame_id: str
    path: str
    kind: str
    revision: Revision
    asked: dict[str, object]
    flash_used: bool
    _: KW_ONLY
    reference_path: str | None = None
    expected_path: str | None = None
    sensor_width_mm: float | None = None
    pixels_across: int | None = None
    wholly_open_s: float | None = None
    expected_bytes: int | None = None
    region_px: tuple[int, int, int, int] | None = None
    guide_numbers_m: dict[str, float] = field(default_factory=dict)
    ambient: bool = False
    solo: str = ""
    in_series: bool = False
    building: bool = False
    why_alone: str = ""
    agreement: Agreement | None = None


@dataclass(frozen=True)
class Judgement:
    """The findings of the checks on a frame.

    ambient_ev   of an ambient frame: the ambient light against the flash, EV; None when it could not be measured
    grey_ev      the set-up's grey patch against a right exposure, EV; None without one, or where it isn't plain grey
    """

    frame_id: str
    findings: tuple[Finding, ...]
    focus: FocusJudgement
    ambient_ev: float | None = None
    grey_ev: float | None = None


class Judge(Protocol):
    """The judge, which runs the checks outside the controller and answers to the callable given when it was made."""

    def post(self, assignment: Assignment) -> None:
        """Take a frame to judge; never blocks. A picture that hangs or kills the judge comes back as `unjudged`."""

    def close(self) -> None: ...


JudgeMaker = Callable[[Callable[[Judgement], None]], Judge]
"""Makes a judge that answers to the given callable, from any thread."""
