"""A person's wishes for a shoot, as values: a screen or a script posts an act, and the controller matches on its class.

An act says what is wanted, not how it stands now: `Revise` names the fields that change, and they are changed in the
arrangement that is in force when the controller comes to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from session.frame.camera_messages import SavedFile
from session.frame.finding import Finding
from session.frame.ports import Place
from session.frame.series_plane import SeriesPlane, SeriesToRun
from session.frame.step_said import StepWord
from session.live.sweep import Range
from session.plan.ranked_plan import Plan
from session.set.setup import PassiveItem, PlacedLight
from session.units.ids import new_id


@dataclass(frozen=True)
class Act:
    """Something that a person wants done."""


# --- frames ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class AskRelease(Act):
    """Release as soon as rules and waits allow.

    overrulings  rule id → reason, logged with the frame
    ambient      the lights are off: the frame measures the ambient light for the set-up
    solo         only the light of this name is on; "": all lights of the set are
    in_series    the frame is of a series of solos, which needs no reference
    series       its plane in a focus series, None for a frame that is in none
    frame_id     the key under which events tell of the frame; when none is begun, a sentence says why
    """

    overrulings: Mapping[str, str] = field(default_factory=dict)
    ambient: bool = False
    solo: str = ""
    in_series: bool = False
    series: SeriesPlane | None = None
    frame_id: str = field(default_factory=new_id, compare=False)


@dataclass(frozen=True)
class RunSeries(Act):
    """Shoot these planes of a focus series, in the order given; this also goes on with an interrupted series.

    planes_mm  from the first plane, mm, + = away from the camera
    at_mm      where the focus stands now, from the first plane; None: where the series left it
    """

    series: SeriesToRun
    planes_mm: tuple[float, ...]
    at_mm: float | None = None


@dataclass(frozen=True)
class TellRoom(Act):
    """Tell by `RoomTold` how many more frames card and disk take."""


@dataclass(frozen=True)
class KeepSeriesOutcome(Act):
    """Keep in the log what a focus series came to, with its last frame."""

    frame_id: str
    text: str


@dataclass(frozen=True)
class AddPlanes(Act):
    """Shoot these planes too, when the others are done: one is to be shot again, or was missing in the plan."""

    planes_mm: tuple[float, ...]


@dataclass(frozen=True)
class ReleasePlane(Act):
    """The hand has moved to the plane that was asked for: release; `overrulings` as in `AskRelease`."""

    overrulings: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class PauseSeries(Act):
    """Begin no further frame of the focus series; the one in the camera's hands is taken."""


@dataclass(frozen=True)
class CallOff(Act):
    """Don't release the frame that is waiting."""


@dataclass(frozen=True)
class Touched(Act):
    """A hand was on camera, focus, light or table; the hold-off starts anew."""


@dataclass(frozen=True)
class JudgeAnew(Act):
    """Judge a frame once more by this file, after the set-up's region or grey patch was moved."""

    frame_id: str
    number: int
    file: SavedFile


@dataclass(frozen=True)
class MarkFrame(Act):
    """mark  hero, select, alternate, kill, or None for no mark"""

    frame_id: str
    mark: str | None


@dataclass(frozen=True)
class AddNote(Act):
    """Add a note to a frame."""

    frame_id: str
    text: str


@dataclass(frozen=True)
class AcceptReference(Act):
    """Approve a frame as the set-up's reference for the piece on the table; None drops the reference."""

    frame_id: str | None


# --- the arrangement ------------------------------------------------------------------------------


@dataclass(frozen=True)
class ApplyRemedy(Act):
    """Apply a finding's remedy: set the camera, or keep the photographer's word with the set-up."""

    finding: Finding


@dataclass(frozen=True)
class RestoreSettings(Act):
    """Put the set-up's settings on the camera, as far as it offers them and they differ."""


@dataclass(frozen=True)
class TakeCameraSettings(Act):
    """Make what the camera says now part of the set-up."""


@dataclass(frozen=True)
class Revise(Act):
    """Bring a changed arrangement into force and onto the camera; the next frame makes it a revision.

    changes  field of `Revision` → its new value
    act      changes of the same word are undone as one; "": an act of its own
    """

    changes: Mapping[str, object]
    act: str = ""


@dataclass(frozen=True)
class PlaceLight(Act):
    """The light stands so from now on; `act` as in `Revise`."""

    light: PlacedLight
    act: str = ""


@dataclass(frozen=True)
class PlaceItem(Act):
    """The reflector, flag or glass stands so from now on; `act` as in `Revise`."""

    item: PassiveItem
    act: str = ""


@dataclass(frozen=True)
class StrikeItem(Act):
    """The reflector, flag or glass of this `thing_name` is taken out of the set; `act` as in `Revise`."""

    name: str
    act: str = ""


@dataclass(frozen=True)
class StrikeLight(Act):
    """The light of this name is taken out of the set; `act` as in `Revise`."""

    name: str
    act: str = ""


@dataclass(frozen=True)
class NewSetup(Act):
    """Start another set-up of this job, revision 1, from the arrangement in force with these notes."""

    notes: str


@dataclass(frozen=True)
class TakePlan(Act):
    """Bring a plan into force: as a change of the set-up, or as a new set-up."""

    plan: Plan
    new_setup: bool = False


@dataclass(frozen=True)
class KeepOrder(Act):
    """Keep an order, by the text of its table; `read_from`: the file's name, "" where it was typed."""

    table: str
    read_from: str = ""


@dataclass(frozen=True)
class AddViews(Act):
    """Add views of a piece to the order that the log holds for the job; a job without an order gets one."""

    job: str
    piece: str
    views: tuple[str, ...]


@dataclass(frozen=True)
class SayOfStep(Act):
    """A person's word on a step of building a revision again for the piece on the table; None takes it away.

    reason  why the step is skipped; "" for a confirmed step
    """

    revision_id: str
    step: str
    word: StepWord | None
    reason: str = ""


@dataclass(frozen=True)
class KeepWish(Act):
    """Keep what is wished of the view on the table: the fields of `session.plan.wish.Wish`."""

    wish: Mapping[str, object]


@dataclass(frozen=True)
class GoTo(Act):
    """Put another piece or view on the table, begun where it is new, with the view's own set-up in force.

    from_camera  a new view begins from the camera's settings, not from the present arrangement
    job          another job, "": the present one
    """

    piece: str
    view: str
    from_camera: bool = False
    job: str = ""


@dataclass(frozen=True)
class Undo(Act):
    """Undo what a person did last in this job: mark, note, reference, change of a set-up, a best focus forgotten.

    agreed  the key of the act that `TurnAsked` named: only with it is an act undone that sets the camera
    """

    place: Place
    agreed: str = ""


@dataclass(frozen=True)
class Redo(Act):
    """Redo the act of this job that was undone last; `agreed` as in `Undo`."""

    place: Place
    agreed: str = ""


# --- live view ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SwitchLiveView(Act):
    """Switch live view on or off."""

    on: bool


@dataclass(frozen=True)
class LivePictureUsed(Act):
    """The screen has shown the last live picture; the next may come."""


@dataclass(frozen=True)
class TurnFocus(Act):
    """Move the focus by the camera's own drive; the hold-off starts anew."""

    steps: int


@dataclass(frozen=True)
class SweepFocus(Act):
    """Find the best focus in the region by the camera's own drive, and drive back to the best place."""

    where: Range


@dataclass(frozen=True)
class StopSweep(Act):
    """A key was pressed during a sweep."""


@dataclass(frozen=True)
class ForgetBest(Act):
    """Begin a new search for the best focus by hand."""


@dataclass(frozen=True)
class MeasureSupport(Act):
    """Measure the support from the touch that live view saw last."""


@dataclass(frozen=True)
class KeepSupport(Act):
    """Put what was measured of the support into the kit file."""


@dataclass(frozen=True)
class MeasureDrive(Act):
    """Measure by a sweep in live view what a step of the camera's focus drive is worth, and the drive's play."""

    where: Range


@dataclass(frozen=True)
class KeepDrive(Act):
    """Put what was measured of the focus drive into the kit file."""


@dataclass(frozen=True)
class KeepGreyCard(Act):
    """Keep with set-up and kit file what a grey card told of the lens."""


# --- listening ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class TellAll(Act):
    """Tell by events what holds now, for one who began to listen late."""


@dataclass(frozen=True)
class TellWhenDone(Act):
    """Tell by `DoneSoFar` of the same name that all that was asked before is done."""

    name: str


@dataclass(frozen=True)
class Announce(Act):
    """Tell the listeners a sentence, in its turn; the fields of `Said`."""

    text: str
    id: str = ""
    lasting: bool = False
