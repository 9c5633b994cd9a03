"""One release, from the shutter to whole files on the disk.

The camera announces a file for each format; some announce one twice, some late, some none. JPEGs are fetched as
soon as they are announced, so that a frame can be judged while its raw file is still coming; raw files when no
JPEG can be expected any more. What can't be fetched stays on the card and is named in the error.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import PurePosixPath
from time import monotonic, sleep

from session.cameras.errors import CameraError
from session.cameras.libgphoto import Event, EventKind, Gphoto
from session.cameras.protocol import (
    Announced,
    CardObject,
    Fault,
    Fetch,
    FileComing,
    FileSaved,
    Fired,
    Message,
    Release,
    SavedFile,
    ShutterFired,
)
from session.cameras.saving import Disk, prepare, save_twice

Say = Callable[[Message | Announced], None]

JPEG_SUFFIXES = frozenset({".JPG", ".JPEG"})
TRIES = 3
"""Short data is often passing: the same file came whole at the second try (seen over PTP/IP)."""
EVENT_WAIT_MS = 50
TOLD_EVERY_S = 0.25
"""How far a transfer has come is told so often: a number that changes more often can't be read. Chosen."""
PAUSE_S = 0.001
"""Between looks for an event where libgphoto2 doesn't wait by itself."""


def is_jpeg(card: CardObject) -> bool:
    """By its name; what it is shows when it is here."""
    return PurePosixPath(card.name).suffix.upper() in JPEG_SUFFIXES


class Known:
    """The card objects that were announced or listed, so that one told of twice counts once."""

    def __init__(self, objects: Iterable[CardObject] = ()) -> None:
        self._objects = set(objects)

    def take_new(self, card: CardObject) -> bool:
        """Whether it was unknown; from now on it isn't."""
        new = card not in self._objects
        self._objects.add(card)
        return new


class Fetching:
    """Fetches card objects into one frame's files, JPEG first; one that fails doesn't lose the others."""

    def __init__(self, camera: Gphoto, disk: Disk, say: Say, wanted: Release | Fetch) -> None:
        self._camera = camera
        self._disk = disk
        self._say = say
        self.frame_id, self._wanted = wanted.frame_id, wanted
        self.waiting: list[CardObject] = []
        self.saved: list[SavedFile] = []
        self.failed: dict[CardObject, CameraError] = {}
        self._told_at_s = monotonic()

    @property
    def dealt_with(self) -> int:
        """How many files are saved or given up."""
        return len(self.saved) + len(self.failed)

    def add(self, *cards: CardObject) -> None:
        """Tell of card objects that belong to the frame."""
        self.waiting += cards
        self._say(Announced(self.frame_id, cards))

    def next(self, raws_too: bool) -> bool:
        """Fetch and save one file, if there is one to fetch now. Raises CameraError when the camera is lost."""
        card = next(filter(is_jpeg, self.waiting), self.waiting[0] if raws_too and self.waiting else None)
        if card is None:
            return False
        try:
            file = self._fetch(card)
        except CameraError as error:
            if not error.connected:
                raise
            self.failed[card] = error
        else:
            self.saved.append(file)
            self._say(FileSaved(self.frame_id, file))
        self.waiting.remove(card)
        return True

    def prepare(self) -> None:
        """Make the folders, before anything is asked of the camera. Raises CameraError(DISK)."""
        prepare(self._wanted.folder, self._wanted.second, self._disk)

    def finish(self) -> None:
        """Raises CameraError when a file was given up."""
        if self.failed:
            error = next(iter(self.failed.values()))
            raise error.but(fired=Fired.YES, missing=tuple(self.failed))

    def left(self) -> tuple[CardObject, ...]:
        """What is known and not saved."""
        return (*self.failed, *self.waiting)

    def _fetch(self, card: CardObject) -> SavedFile:
        for _ in range(TRIES - 1):
            try:
                return self._camera.patiently(lambda: self._fetch_once(card))
            except CameraError as error:
                if error.fault is not Fault.BAD_FILE:
                    raise
        return self._camera.patiently(lambda: self._fetch_once(card))

    def _fetch_once(self, card: CardObject) -> SavedFile:
        now = self._camera.info(card.folder, card.name)
        if card.bytes and now.bytes != card.bytes:
            raise CameraError(Fault.NOT_FOUND, f"{card.name} on the card is another file now.")
        began_s = monotonic()
        with self._camera.fetched(card, lambda count: self._came(count, monotonic() - began_s)) as data:
            wanted = self._wanted
            return save_twice(data, card, wanted.folder, wanted.stem, wanted.second, self._disk)

    def _came(self, count: int, took_s: float) -> None:
        """Tell how far the frame's files are. count: bytes of the present one, which took so long."""
        now_s = monotonic()
        if now_s - self._told_at_s < TOLD_EVERY_S or not count:
            return
        self._told_at_s = now_s
        before = sum(file.bytes for file in self.saved)
        of_bytes = before + sum(card.bytes for card in self.waiting)
        done = before + count
        self._say(FileComing(self.frame_id, done, of_bytes, (of_bytes - done) * took_s / count))


class Taking:
    """Lets the shutter go and brings its files home."""

    def __init__(self, camera: Gphoto, known: Known, files: Fetching, say: Say) -> None:
        self._camera = camera
        self._known = known
        self._files = files
        self._say = say
        self._announced = 0
        self._complete = False
        self._store_full = False
        self._last_sign_at = 0.0

    def run(self, expected_files: int, exposure_s: float) -> None:
        """expected_files 0 = unknown. Raises CameraError with what is known: whether it fired, what is missing."""
        self._files.prepare()
        try:
            self._camera.patiently(lambda: self._camera.trigger(exposure_s))
        except CameraError as error:
            # a camera that answers with an error has not begun (ISO 15740, InitiateCapture)
            raise error.but(fired=Fired.NO if error.connected else Fired.UNKNOWN) from error
        fired_at = monotonic()
        self._say(ShutterFired(self._files.frame_id, fired_at))
        self._last_sign_at = fired_at + 2 * exposure_s  # a dark frame takes as long again
        try:
            self._collect(expected_files)
            self._files.finish()
        except CameraError as error:
            raise error.but(fired=Fired.YES, missing=self._files.left()) from error

    def _collect(self, expected: int) -> None:
        while not self._is_done(expected):
            if self._files.next(raws_too=self._no_jpeg_to_come(expected)):
                self._last_sign_at = monotonic()
            elif self._quiet_s() > self._patience_s():
                return self._look_on_card_for(expected)
            else:
                self._look()
        return None

    def _is_done(self, expected: int) -> bool:
        files = self._files
        if files.waiting or not files.dealt_with:
            return False
        if expected:
            return files.dealt_with >= expected
        return self._complete or self._quiet_s() > self._camera.limits.settle_s

    def _no_jpeg_to_come(self, expected: int) -> bool:
        if self._announced and self._announced >= expected > 0:
            return True
        return self._complete or self._quiet_s() > (
            self._camera.limits.after_complete_s if expected else self._camera.limits.settle_s
        )

    def _patience_s(self) -> float:
        limits = self._camera.limits
        if self._store_full:
            return limits.settle_s
        return limits.after_complete_s if self._complete else limits.no_file_s

    def _quiet_s(self) -> float:
        return monotonic() - self._last_sign_at

    def _look(self) -> None:
        began = monotonic()
        event = self._camera.next_event(EVENT_WAIT_MS)
        if event is not None:
            self._take(event)
        elif monotonic() - began < PAUSE_S:
            sleep(PAUSE_S)

    def _take(self, event: Event) -> None:
        match event.kind:
            case EventKind.CAPTURE_COMPLETE:
                self._complete = True
            case EventKind.STORE_FULL:
                self._store_full = True
            case EventKind.FILE_ADDED:
                self._belongs(self._camera.info(event.folder, event.name))
            case EventKind.EVENTS_LOST:
                return self._look_on_card()
            case _:  # settings change by the release itself: battery, count of frames
                return None
        self._last_sign_at = max(self._last_sign_at, monotonic())
        return None

    def _belongs(self, card: CardObject) -> None:
        if self._known.take_new(card):
            self._announced += 1
            self._files.add(card)

    def _look_on_card(self) -> None:
        self._camera.reopen()
        for card in self._camera.card():
            self._belongs(card)

    def _look_on_card_for(self, expected: int) -> None:
        """Fewer files were announced than should be: look for the others, or say that there are none."""
        self._look_on_card()
        while self._files.next(raws_too=True):
            continue
        came = self._files.dealt_with
        if came and came >= expected:
            return
        if self._store_full:
            raise CameraError(Fault.CARD_FULL, "The card is full; the camera could not write the picture.")
        made = f"{came} of {expected} files" if came else "no file"
        raise CameraError(Fault.NOT_FOUND, f"The shutter went, and the camera made {made}.")
