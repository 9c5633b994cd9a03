"""A camera whose every call is a step: the process' own code for releases and transfers over a scripted camera.

`Taking` and `Fetching` are the real ones; in libgphoto2's place is a list of files. It works in the caller's thread,
when `work` is called, so that a test knows what was done before what.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, cast

from session.cameras.camera_limits import CameraLimits
from session.cameras.card_list import CardList
from session.cameras.known_objects import KnownObjects
from session.cameras.libgphoto import CameraEvent, EventKind, Gphoto
from session.cameras.result_codes import CameraError
from session.cameras.saving import Disk
from session.cameras.taking import Fetching, Taking
from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault, Fired
from tests.support.scripted import DESCRIPTION, reading

FOLDER = "/store_00010001/DCIM/100STILL"
FIRST_NUMBER = 9997
"""So that the numbers of a shoot of six frames begin again after 9999, in the next folder."""

TIFF_OF_NOTHING = b"II*\x00\x08\x00\x00\x00\x00\x00\x00\x00\x00\x00"


def picture(number: int) -> dict[str, bytes]:
    """Ending → bytes of the files of release `number`. Raws are all of one size, JPEGs not."""
    jpeg = b"\xff\xd8\xff\xda\x00\x02" + b"picture %06d " % number * (90 + number % 17) + b"\xff\xd9"
    return {"JPG": jpeg, "TIF": TIFF_OF_NOTHING + b"raw of %06d " % number * 130}


@dataclass
class Card:
    """The camera with its card, which outlives our processes. `released`: frame's key ("" = body) and picture."""

    files: dict[CardObject, bytes] = field(default_factory=dict)
    released: list[tuple[str, int]] = field(default_factory=list)
    unwritten: deque[tuple[int, str]] = field(default_factory=deque)

    def expose(self, frame_id: str) -> None:
        number = FIRST_NUMBER + len(self.released)
        self.released.append((frame_id, number))
        self.unwritten.extend((number, ending) for ending in picture(number))

    def write(self) -> CardObject:
        """The next file that is exposed and not on the card yet."""
        number, ending = self.unwritten.popleft()
        data = picture(number)[ending]
        folder = FOLDER if number <= 9999 else FOLDER.replace("100", "101")
        card_object = CardObject(folder, f"STIL{(number - 1) % 9999 + 1:04d}.{ending}", len(data), 1e9 + number)
        self.files[card_object] = data
        return card_object

    def copy(self) -> Card:
        return Card(dict(self.files), list(self.released), deque(self.unwritten))


class ScriptedGphoto:
    """What `Taking` and `Fetching` ask of `libgphoto.Gphoto`."""

    limits = CameraLimits()

    def __init__(self, card: Card, step: Callable[[str], None]) -> None:
        self.on_card = card
        self.frame_id = ""
        self._step = step
        self._events: deque[CameraEvent] = deque()

    def patiently(self, call: Callable[[], Any]) -> Any:
        return call()

    def trigger(self, exposure_s: float) -> None:
        self.on_card.expose(self.frame_id)
        self._step("camera: release")

    def next_event(self, wait_ms: int) -> CameraEvent | None:
        if self.on_card.unwritten:
            new = self.on_card.write()
            self._step(f"camera: {new.name} on the card")
            self._events.append(CameraEvent(EventKind.FILE_ADDED, new.folder, new.name))
            if not self.on_card.unwritten:
                self._events.append(CameraEvent(EventKind.CAPTURE_COMPLETE, "", ""))
        event = self._events.popleft() if self._events else None
        self._step("camera: event")
        return event

    def info(self, folder: str, name: str) -> CardObject:
        self._step(f"camera: info {name}")
        return next(one for one in self.on_card.files if (one.folder, one.name) == (folder, name))

    @contextmanager
    def fetch(self, card_object: CardObject, came: Callable[[int], None]) -> Iterator[bytes]:
        self._step(f"camera: get {card_object.name}")
        yield self.on_card.files[card_object]

    def folders(self) -> tuple[tuple[str, ...], tuple[float, ...]]:
        self._step("camera: folders")
        return tuple(sorted({one.folder for one in self.on_card.files})), (0.0,)

    def files_in(self, folder: str) -> tuple[CardObject, ...]:
        self._step("camera: list")
        return tuple(one for one in self.on_card.files if one.folder == folder)

    tells_files_slowly = False

    def reopen(self) -> None:
        self._step("camera: reopen")

    def says_busy(self) -> bool:
        return False


class Killed(BaseException):
    """The camera's process is gone."""


class SteppedCamera:
    """`protocol.Camera` in one thread: `work` does what was posted, the oldest first."""

    def __init__(self, card: Card, disk: Disk, step: Callable[[str], None], say_to: Callable[[Any], None]) -> None:
        self.card = card
        self._disk = disk
        self._gphoto = ScriptedGphoto(card, step)
        self._known = KnownObjects(())
        self._requests: deque[say.Request] = deque()
        self._deliver = say_to
        self._fired = False
        self._announced: list[CardObject] = []
        self.connected = False

    def post(self, request: say.Request) -> None:
        self._requests.append(request)

    def close(self, *, at_once: bool = False) -> None: ...

    def work(self) -> bool:
        """Do one request; False when there is none."""
        if not self._requests:
            return False
        request = self._requests.popleft()
        self._fired, self._announced = False, []
        try:
            self._do(request)
        except Killed:
            self._bury(request)
        except CameraError as error:
            key = getattr(request, "frame_id", "")
            self._say(say.Failed(type(request).__name__, error.fault, error.text, key, error.fired, error.missing))
        return True

    def announce(self, objects: tuple[CardObject, ...]) -> None:
        """Say that these appeared unasked."""
        new = tuple(one for one in objects if self._known.take_new(one))
        if new:
            self._say(say.BodyRelease(new))

    def _do(self, request: say.Request) -> None:
        match request:
            case say.Connect():
                self.connected = True
                self._cards = CardList(cast(Gphoto, self._gphoto))
                self._cards.read_at_once()
                self._known = KnownObjects(self._cards.objects)
                self._say(say.Connected(DESCRIPTION, reading(), self._cards.objects, 10**12))
            case say.ListCard(since):
                self._say(say.CardListed(self._cards.read(since), 10**12))
            case say.Release(key, expected_files=expected):
                self._gphoto.frame_id = key
                files = self._fetching(request)
                taking = Taking(cast(Gphoto, self._gphoto), self._known, self._cards, files, self._say, request)
                taking.run(expected, 0.005)
                self._say(say.FrameComplete(key, 10**12))
            case say.Fetch(key, objects=objects):
                files = self._fetching(request)
                files.prepare()
                files.add(*objects)
                for card_object in objects:
                    self._known.take_new(card_object)
                while files.next(raws_too=True):
                    continue
                files.finish()
                self._say(say.FrameComplete(key, 10**12))
            case say.ApplySettings():
                self._say(say.SettingsRead(reading()))

    def _fetching(self, request: say.Release | say.Fetch) -> Fetching:
        return Fetching(cast(Gphoto, self._gphoto), self._disk, self._say, request)

    def _say(self, message: Any) -> None:
        match message:
            case say.Announced(_, objects):
                self._announced += objects
                return
            case say.ShutterFired():
                self._fired = True
            case say.FileSaved(_, file):
                self._announced.remove(file.card)
        self._deliver(message)

    def _bury(self, request: say.Request) -> None:
        """What `RemoteCamera` says of a process that ended."""
        self.connected = False
        key, text = getattr(request, "frame_id", ""), "The camera's process was ended (signal 9)."
        fired = Fired.YES if self._fired else Fired.UNKNOWN
        fired = fired if isinstance(request, say.Release) else Fired.NO
        missing = tuple(self._announced)
        self._deliver(say.Failed(type(request).__name__, Fault.BROKEN, text, key, fired, missing, connected=False))
        self._deliver(say.CameraGone(Fault.BROKEN, text))
