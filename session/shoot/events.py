"""The events of a shoot, as the screen, the command line, the log and the tests all hear them.

Events are facts, frozen, in the order in which they happened. Times are `Clock.monotonic_s`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from session.frame.camera_messages import CameraDescription, Fault, Reading, SavedFile
from session.frame.finding import Finding, FocusJudgement, RuleId
from session.frame.frame_facts import AboutFrame, FrameFacts
from session.frame.ports import KeptPeak, Place
from session.frame.series_plane import SeriesToRun
from session.frame.states import FrameState
from session.live.decode import Stream
from session.live.instruments import LiveReading
from session.optics.ring_down import RingDown
from session.set.kit import Kit, LensDrive
from session.set.setup import Revision


@dataclass(frozen=True)
class CameraFound:
    description: CameraDescription
    reading: Reading
    free_bytes: int | None


@dataclass(frozen=True)
class CameraLost:
    """No camera: it went, or could not be opened. The controller tries again by itself."""

    fault: Fault
    text: str


@dataclass(frozen=True)
class SettingsChanged:
    """A new reading of the settings.

    refused   (name, a sentence on the setting) for each that the camera did not take
    by_hand   somebody turned something on the camera
    """

    reading: Reading
    refused: tuple[tuple[str, str], ...] = ()
    by_hand: bool = False


@dataclass(frozen=True)
class RulesChanged:
    """The findings of the rules have changed; waits are left out, since waits pass by themselves."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class PlaceChanged:
    place: Place


@dataclass(frozen=True)
class RevisionChanged:
    """Another revision is in force; `frame_id`: the frame whose measures led to the revision."""

    revision: Revision
    revision_id: str
    frame_id: str = ""


@dataclass(frozen=True)
class FrameMoved(AboutFrame):
    """A frame is in another state. `findings` are the rules' at refusal or release."""

    facts: FrameFacts
    findings: tuple[Finding, ...] = ()


class SeriesPhase(StrEnum):
    """How far a focus series is.

    MOVING     the drive goes to the plane
    BY_HAND    a hand is to go to the plane
    RELEASING  the frame waits, or is being taken
    JUDGING    all planes are shot, and the checks haven't spoken on all of them yet
    PAUSED     it waits for a person
    DONE       every plane that was asked for is shot
    """

    MOVING = "moving"
    BY_HAND = "by hand"
    RELEASING = "releasing"
    JUDGING = "judging"
    PAUSED = "paused"
    DONE = "done"


SERIES_UNDER_WAY = frozenset({SeriesPhase.MOVING, SeriesPhase.BY_HAND, SeriesPhase.RELEASING, SeriesPhase.JUDGING})
"""Phases in which a series goes on by itself, or waits for a hand."""


@dataclass(frozen=True)
class SeriesChanged:
    """A focus series is at another plane, or in another phase.

    plane_mm  the plane that is being shot or comes next, None when no plane is left
    move_mm   from where the focus stands to that plane, + = away; None where nobody knows where it stands
    left      planes to shoot, this one too
    text      why it is paused; else ""
    """

    series: SeriesToRun
    phase: SeriesPhase
    plane_mm: float | None
    move_mm: float | None
    left: int
    text: str = ""


@dataclass(frozen=True)
class RoomTold:
    """How many more frames card and disk take; None where the room is unknown."""

    card_frames: int | None
    disk_frames: int | None


class CameraWait(StrEnum):
    """The reasons to wait with a release whose end only the camera knows.

    HANDING_OVER  the frame before;  SETTINGS  that it has not taken yet;  CARD  whose folder is read in one go
    DRIVE         of the focus, which still moves
    LATE_FILE     of a frame of before its cable was lost, which it may still be writing
    """

    HANDING_OVER = "camera"
    SETTINGS = "settings"
    LATE_FILE = "late file"
    CARD = "card"
    DRIVE = "drive"


@dataclass(frozen=True)
class Waiting:
    """The release waits until `until_s`, which is None for a CameraWait; else a rule asks for the wait."""

    frame_id: str
    number: int
    reason: RuleId | CameraWait
    until_s: float | None


@dataclass(frozen=True)
class FileArrived:
    frame_id: str
    number: int
    file: SavedFile


@dataclass(frozen=True)
class CameraBusy:
    """The camera says busy since the release, for `busy_s` now; the program waits at most `at_most_s`."""

    frame_id: str
    number: int
    busy_s: float
    at_most_s: float


@dataclass(frozen=True)
class CardBeingRead:
    """A folder of the card is read, and the camera does nothing else until it is over.

    done, of           files that were asked for, and all; 0 while nobody knows
    left_s             how long the rest takes, s; None while nobody knows, 0 when it is over
    frame_id, number, state   the frame that is being taken, and whose file comes after it; "", 0, None without one
    """

    done: int
    of: int
    left_s: float | None
    frame_id: str = ""
    number: int = 0
    state: FrameState | None = None


@dataclass(frozen=True)
class SlowTransfer:
    """So many bytes of the frame's files are here, and the rest takes about `left_s` seconds; told when it is slow."""

    frame_id: str
    number: int
    bytes: int
    of_bytes: int
    left_s: float


@dataclass(frozen=True)
class FrameJudged:
    """The checks' findings on a frame; `anew`: the frame was judged before, with another region or grey patch."""

    frame_id: str
    number: int
    findings: tuple[Finding, ...]
    focus: FocusJudgement
    anew: bool = False


@dataclass(frozen=True)
class BeingJudgedAnew:
    """A frame is with the judge once more, with the set-up's present region and grey patch."""

    frame_id: str
    number: int


@dataclass(frozen=True)
class ReferenceChanged:
    """The set-up's reference is this frame now; None: it has none. `decided`: a person has just decided so."""

    frame_id: str | None
    number: int | None
    decided: bool = False


@dataclass(frozen=True)
class LiveViewChanged:
    """Live view is on or off; `text` says why when the camera offers none."""

    on: bool
    text: str = ""


@dataclass(frozen=True)
class StreamChanged:
    """The stream of live frames has changed its state; `why`: the camera's words where the camera ended the stream."""

    state: Stream
    rate_per_s: float = 0.0
    why: str = ""


@dataclass(frozen=True)
class LivePicture:
    """A live frame with the reading of the instruments; None when no instrument has seen the frame."""

    jpeg: bytes
    reading: LiveReading | None = None


@dataclass(frozen=True)
class PeakKept:
    """The set-up's best focus so far for the piece on the table; None: nothing is kept yet."""

    peak: KeptPeak | None


@dataclass(frozen=True)
class StandMeasured:
    """A swing was measured; `keep` takes it to the kit. None: it could not be told, or it is kept now."""

    found: RingDown | None


@dataclass(frozen=True)
class DriveMeasured:
    """A focus drive was measured; `keep` takes it to the kit. None: it is kept now."""

    drive: LensDrive | None


@dataclass(frozen=True)
class GreyOffer:
    """What a grey card tells of a lens that focuses inside, in the set-up on the table.

    change_ev                    how much brighter the card came out than the kit says
    f_number                     as marked on the lens
    effective_f_number           there, as the card tells; counted_f_number as it was counted
    pupil_magnification          by which the set-up counts so
    closest_effective_f_number   for the kit: at the closest focus, the lens set to its widest
    """

    lens: str
    change_ev: float
    f_number: float
    effective_f_number: float
    counted_f_number: float
    pupil_magnification: float
    closest_effective_f_number: float


@dataclass(frozen=True)
class GreyCardRead:
    """A grey card told of the lens; `keep` takes it to set-up and kit. None: it is kept now."""

    offer: GreyOffer | None


@dataclass(frozen=True)
class KitChanged:
    """The kit file holds something new."""

    kit: Kit


class Turn(StrEnum):
    """Which way a person's acts are gone through."""

    UNDO = "undo"
    REDO = "redo"


@dataclass(frozen=True)
class TurnAsked:
    """`act` would set the camera: it is done when it is asked for once more with this `act_id`.

    what   what it would undo or redo, as it is set: `1/200 s`
    """

    act: Turn
    what: str
    act_id: str


@dataclass(frozen=True)
class UndoChanged:
    """Whether the job has an act that can be undone."""

    possible: bool


@dataclass(frozen=True)
class FocusMoved:
    """The camera's drive has moved the focus; `steps` is None where it failed on its way, and nobody knows how far."""

    steps: int | None


class About(StrEnum):
    """The subject of a sentence; the next sentence on the same subject takes the place of the last."""

    SWEEP = "sweep"
    STREAM = "live view"
    LOG = "log"
    REFUSED_BEFORE = "refused before"
    COPIES = "copies"
    STANDBY = "standby"
    PREVIEWS = "previews"
    OWN_FAULT = "own"
    NO_CAMERA = "no camera"
    LIVE_FIRST = "live view first"
    CARD = "card"
    MEANWHILE = "meanwhile"
    """A key's effect on the frame on show while the next frame comes; the next frame leaves the sentence standing."""


@dataclass(frozen=True)
class Said:
    """A sentence for the person that belongs to no frame; `lasting` ones stay until another with the same `id`.

    id   an About, or the call of an entry that the log refused for good

    An empty text with the same id takes it away, also one that passes by itself.
    """

    text: str
    id: str = ""
    lasting: bool = False


@dataclass(frozen=True)
class DoneSoFar:
    """All that was asked of the controller before `TellWhenDone` of this name is done."""

    name: str


Event = (
    CameraFound
    | CameraLost
    | SettingsChanged
    | RulesChanged
    | PlaceChanged
    | RevisionChanged
    | FrameMoved
    | Waiting
    | SeriesChanged
    | RoomTold
    | FileArrived
    | SlowTransfer
    | CameraBusy
    | CardBeingRead
    | FrameJudged
    | BeingJudgedAnew
    | ReferenceChanged
    | LiveViewChanged
    | StreamChanged
    | LivePicture
    | FocusMoved
    | PeakKept
    | StandMeasured
    | DriveMeasured
    | GreyCardRead
    | KitChanged
    | TurnAsked
    | UndoChanged
    | DoneSoFar
    | Said
)
