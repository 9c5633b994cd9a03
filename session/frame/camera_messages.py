"""Messages between the controller and the process that owns the camera.

The controller posts requests and never waits; the process answers by messages, which go singly to the callable given
when the camera was made. All values are small and can be pickled: pictures go to disk, not through messages
(only live-view frames are carried as bytes).

Canonical setting names, whatever the camera calls them:
`exposure_s`, `f_number`, `iso` (0 = automatic), `white_balance` (the camera's own word), `exposure_mode`
("manual", "programme", "aperture priority", "exposure-time priority", "automatic"), `focus_mode` ("manual",
"automatic"), `flash_mode`, `file_format` ("jpeg", "raw", "raw+jpeg"), `stabiliser` ("on", "off"),
`battery_percent`, `capture_target` ("card", "memory"). A mode of another kind is the camera's own word in small
letters.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Protocol

Value = float | int | str | bool


class Fired(StrEnum):
    """Whether the shutter went, as far as can be known."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Fault(StrEnum):
    """Kinds of trouble with the camera or the cable; `result_codes` maps libgphoto2's codes to them."""

    LOST = "lost"
    NO_ANSWER = "no answer"
    BUSY = "busy"
    REFUSED = "refused"
    CARD_FULL = "card full"
    NOT_OFFERED = "not offered"
    NOT_FOUND = "not found"
    IN_USE = "in use"
    END_STOP = "end stop"
    BAD_FILE = "bad file"
    DISK = "disk"
    DISK_FULL = "disk full"
    BROKEN = "broken"


NO_CAMERA = "No camera is connected."
NO_LIVE_VIEW = "This camera offers no live view."
NO_FOCUS_DRIVE = "This camera offers no focus drive; turn the ring by hand."
"""Sentences for the person that several parts of the program say."""


@dataclass(frozen=True)
class Setting:
    """A setting as the camera offers it now.

    value    in canonical form and unit; None when it can't be read as such
    shown    the camera's own text for it
    allowed  canonical values that it would take, () when any or unknown
    """

    name: str
    value: Value | None
    shown: str
    allowed: tuple[Value, ...] = ()
    read_only: bool = False


@dataclass(frozen=True)
class Reading:
    """All settings at one time, by canonical name. no_card: the camera says that no card is in it"""

    settings: Mapping[str, Setting] = field(default_factory=dict)
    no_card: bool = False

    def value(self, name: str) -> Value | None:
        """The canonical value of a setting, None when the camera doesn't offer or show it."""
        setting = self.settings.get(name)
        return setting.value if setting else None


@dataclass(frozen=True)
class CameraDescription:
    """The camera's identity and abilities, found from the configuration that it offers, never from its maker's name.

    address    `usb:001,002` or `ptpip:127.0.0.1:15740`
    serial     as the camera tells it; when it tells none, the model on USB, the address on a network
    """

    address: str
    model: str
    serial: str
    live_view: bool
    focus_drive: bool
    can_release: bool = True


@dataclass(frozen=True, slots=True)
class CardObject:
    """A file on the camera's card. A card may hold thousands: each is kept, and sent, in little room."""

    folder: str
    name: str
    bytes: int
    modified_at: float | None = None  # seconds since 1970 by the camera's clock, as it tells it

    def __reduce__(self) -> tuple[type[CardObject], tuple[str, str, int, float | None]]:
        return CardObject, (self.folder, self.name, self.bytes, self.modified_at)


@dataclass(frozen=True)
class SavedFile:
    """A file of a frame, whole on our disk: fsynced, renamed, its folder fsynced.

    path       absolute
    kind       a FileKind
    copy_path  of its second copy, as safe as the first; "" when none was asked for
    """

    path: str
    kind: str
    bytes: int
    sha256: str
    card: CardObject
    copy_path: str = ""


@dataclass(frozen=True)
class SecondPlace:
    """Where each file is to be saved a second time before it counts as saved.

    folder  absolute, as the first
    root    the folder that must be there already: below it the others are made
    device  number of the disk that it was on when it was chosen (st_dev): when that disk is unplugged, an empty
            folder of the same name may be left, on another disk
    """

    folder: str
    root: str
    device: int


# --- requests -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Connect:
    """Open the camera at this address ("" = the only one found) and say `Connected` or `Failed`.

    serial   of the camera wanted, "" for any; a camera that was plugged in anew has another USB address, and
             is then found by its serial number, which `RemoteCamera` fills in once known
    """

    address: str = ""
    serial: str = ""


@dataclass(frozen=True)
class ReadSettings:
    """Say `SettingsRead`."""


@dataclass(frozen=True)
class ApplySettings:
    """Change these settings, read each one again, and say `SettingsRead` with the changes that the camera refused."""

    changes: Mapping[str, Value]


@dataclass(frozen=True)
class Release:
    """Let the shutter go, save every file as `folder/stem.EXT`, JPEG first.

    Says `ShutterFired`, `FileSaved` for each, then `FrameComplete`; or `Failed` with what is known.
    expected_files  how many files the set format makes; 0 = unknown: wait for the camera's word
    second          where each file is saved once more before `FileSaved` is said of it
    open_before     so many earlier frames lack their files, which may still come
    newest          files numbered before this one are not this frame's: an earlier frame still lacks its own
    posted_at_s     `monotonic()` when it was posted: a release that comes too late is refused; None: not noted
    """

    frame_id: str
    folder: str
    stem: str
    expected_files: int = 0
    second: SecondPlace | None = None
    open_before: int = 0
    newest: CardObject | None = None
    posted_at_s: float | None = None


@dataclass(frozen=True)
class Fetch:
    """Fetch these card objects into `folder/stem.EXT`; says `FileSaved` for each, then `FrameComplete`."""

    frame_id: str
    folder: str
    stem: str
    objects: tuple[CardObject, ...]
    second: SecondPlace | None = None


@dataclass(frozen=True)
class ListCard:
    """Say `CardListed`; on a slow camera that may take minutes, of which `ReadingCard` tells.

    since      name of the oldest folder that matters (`100NAME`); "": only the newest
    when_idle  read it once nobody has wanted anything of the camera for a while; requests go first until then
    known      files that were on the card before: by their names a long folder is read a few files at a time, so that
               requests go first in between
    """

    since: str = ""
    when_idle: bool = False
    known: tuple[CardObject, ...] = ()


@dataclass(frozen=True)
class LiveView:
    """Start or stop live view; while on, `LiveFrame` messages come, never more than one unacknowledged.

    A frame is sent only after the last one was taken with `NextLiveFrame`, so there is never a backlog.
    """

    on: bool


@dataclass(frozen=True)
class NextLiveFrame:
    """The last live frame was used; send the newest."""


@dataclass(frozen=True)
class DriveFocus:
    """Move the focus by signed steps of the camera's own; says `FocusDriven` or `Failed`."""

    steps: int


Request = Connect | ReadSettings | ApplySettings | Release | Fetch | ListCard | LiveView | NextLiveFrame | DriveFocus


# --- messages -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Connected:
    """card: what lies on it; None where reading it would take long, see `ListCard`."""

    description: CameraDescription
    reading: Reading
    card: tuple[CardObject, ...] | None
    free_bytes: int | None = None


@dataclass(frozen=True)
class SettingsRead:
    """A new reading of the settings.

    refused   name → a sentence on the setting, for each that was asked for and not taken
    by_hand   the reading comes unasked, since something was turned on the camera
    """

    reading: Reading
    refused: Mapping[str, str] = field(default_factory=dict)
    by_hand: bool = False


@dataclass(frozen=True)
class ShutterFired:
    """The camera took the release. `at_s` is the monotonic time at which the call returned."""

    frame_id: str
    at_s: float


@dataclass(frozen=True)
class FileSaved:
    frame_id: str
    file: SavedFile


@dataclass(frozen=True)
class FileComing:
    """Progress of a frame's transfer; told a few times a second while a transfer takes that long.

    bytes     received, of the `of_bytes` of all the frame's files announced until now
    left_s    seconds that the rest will take at the pace of the file that is coming
    """

    frame_id: str
    bytes: int
    of_bytes: int
    left_s: float


@dataclass(frozen=True)
class BusyWriting:
    """The camera has said for `busy_s` seconds that it is busy since it let the shutter go; waited for `at_most_s`."""

    frame_id: str
    busy_s: float
    at_most_s: float


@dataclass(frozen=True)
class FrameComplete:
    """Everything that the camera announced for this frame is saved.

    copies   lie on a second card, the same as files that are saved; they were not fetched
    """

    frame_id: str
    free_bytes: int | None = None
    copies: tuple[CardObject, ...] = ()


@dataclass(frozen=True)
class BodyRelease:
    """Files appeared on the card without a request: released on the camera, or late files of an earlier frame.

    during   the frame that was being taken when they were announced, but isn't theirs; "" when none was
    """

    objects: tuple[CardObject, ...]
    during: str = ""


@dataclass(frozen=True)
class CardListed:
    objects: tuple[CardObject, ...]
    free_bytes: int | None = None


@dataclass(frozen=True)
class ReadingCard:
    """Progress of reading the card: things read, of all; a whole folder may take minutes.

    what      `folder`: nothing else is done until all are read and the end is told; or `file`
    left_s    how long the rest takes, s, where nothing else is done until then; 0 at the end of all that is read in
              one go, of several folders the last; None: not known
    frame_id  the frame that is being taken meanwhile, whose file waits on the card until the folder is read
    """

    done: int
    of: int
    what: str = "folder"
    left_s: float | None = None
    frame_id: str = ""


@dataclass(frozen=True)
class CameraNote:
    """Something about the camera that the photographer should hear, one sentence."""

    text: str


@dataclass(frozen=True)
class LiveFrame:
    jpeg: bytes
    at_s: float


@dataclass(frozen=True)
class FocusDriven:
    steps: int


@dataclass(frozen=True)
class Failed:
    """A request could not be done.

    request      name of the request class
    frame_id     the frame it was about, "" when none
    fired        for `Release`: whether the shutter went
    missing      card objects that are known but not saved
    connected    False when the camera is gone and must be connected again
    """

    request: str
    fault: Fault
    text: str
    frame_id: str = ""
    fired: Fired = Fired.NO
    missing: tuple[CardObject, ...] = ()
    connected: bool = True


@dataclass(frozen=True)
class CameraGone:
    """The camera's process ended or was ended, or the link broke.

    What it was doing was said just before, by a `Failed` with `connected=False` and the same text.
    """

    fault: Fault
    text: str


@dataclass(frozen=True)
class Announced:
    """From the camera's process to `RemoteCamera` only: these files belong to the frame and aren't saved yet.

    Should the process end, they are named in `Failed.missing`.
    """

    frame_id: str
    objects: tuple[CardObject, ...]


Message = (
    Connected
    | SettingsRead
    | ShutterFired
    | FileSaved
    | FileComing
    | BusyWriting
    | FrameComplete
    | BodyRelease
    | CardListed
    | ReadingCard
    | CameraNote
    | LiveFrame
    | FocusDriven
    | Failed
    | CameraGone
)


class Camera(Protocol):
    """A camera, as the controller sees it; its messages go to the `receive` given when it was made."""

    def post(self, request: Request) -> None:
        """Hand over a request; never blocks. After `CameraGone` a `Connect` starts afresh."""

    def close(self, *, at_once: bool = False) -> None:
        """Let go of the camera and end its process. A transfer under way is finished or left whole on the card.

        at_once   leave a transfer under way on the card
        """


CameraMaker = Callable[[Callable[[Message], None]], Camera]
"""Makes a camera that sends its messages to the given callable, from any thread."""


@dataclass(frozen=True)
class FoundCamera:
    """A camera that a search found."""

    address: str
    model: str
