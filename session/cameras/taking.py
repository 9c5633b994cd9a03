"""One release, from the shutter to whole files on the disk.

The camera announces a file for each format; some cameras announce a file twice, or late, or never. JPEGs are fetched as
soon as they are announced, so that a frame can be judged while its raw file is still coming; raw files when no
JPEG can be expected any more. What can't be fetched stays on the card and is named in the error.

A frame's files share one base name, which no earlier file has. Files with other names are handed on, and the
controller finds their frames. While an earlier frame still lacks its files, nothing is fetched until it is clear which
name is this frame's own. A body with two cards may write each file to both: a copy is fetched only when the file
itself can't be.
"""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic, sleep

from session.cameras.card_list import CardList
from session.cameras.known_objects import KnownObjects
from session.cameras.libgphoto import IN_MEMORY, CameraEvent, EventKind, Gphoto
from session.cameras.result_codes import CameraError
from session.cameras.saving import Disk, prepare, save_twice
from session.frame.camera_messages import (
    Announced,
    BusyWriting,
    CardObject,
    Fault,
    Fetch,
    FileComing,
    FileSaved,
    Fired,
    Message,
    ReadingCard,
    Release,
    SavedFile,
    ShutterFired,
)
from session.frame.card import base_name, copies, is_copy, releases
from session.units.file_kinds import is_jpeg_name

Say = Callable[[Message | Announced], None]

TRIES = 3
"""Short data is often passing: the same file came whole at the second try (seen over PTP/IP)."""
EVENT_WAIT_MS = 50
TOLD_EVERY_S = 0.25
"""How far a transfer has come is told so often: a number that changes more often can't be read. Chosen."""
BUSY_ANSWERS_S = 200 * 0.002
"""With one extension libgphoto2 asks a busy camera 200 times, 2 ms apart, and then reports success though nothing
fired (its library.c): a release that took longer is believed when the camera tells of it."""
LISTENED_AT_ONCE = 1 / 4
"""Share of `after_complete_s` that one look for an event may count as silence. Chosen: two seconds are believed after
four looks at the least, and a slow body's look of half a second still counts in full."""
PAUSE_S = 0.001
"""Between looks for an event where libgphoto2 doesn't wait by itself."""


class Fetching:
    """Fetches card objects into one frame's files, JPEG first; a failed fetch doesn't lose the other files."""

    def __init__(self, camera: Gphoto, disk: Disk, say: Say, wanted: Release | Fetch) -> None:
        self._camera = camera
        self._disk = disk
        self._say = say
        self.frame_id, self._wanted = wanted.frame_id, wanted
        self.waiting: list[CardObject] = []
        self.saved: list[SavedFile] = []
        self.failed: dict[CardObject, CameraError] = {}
        self.copies: list[CardObject] = []
        self._told_at_s = monotonic()

    @property
    def dealt_with(self) -> int:
        """How many files are saved or given up."""
        return len(self.saved) + len(self.failed)

    def add(self, *cards: CardObject) -> int:
        """Tell of card objects that belong to the frame; returns how many of them are no copies of others."""
        count = 0
        for card in cards:
            if copies([card], [*self.waiting, *(file.card for file in self.saved)]):
                self.copies.append(card)
                continue
            for broken in [failed for failed in self.failed if is_copy(card, failed)]:
                del self.failed[broken]
            self.waiting.append(card)
            self._say(Announced(self.frame_id, (card,)))
            count += 1
        return count

    def next(self, raws_too: bool) -> bool:
        """Fetch and save a file, if there is a file to fetch now. Raises CameraError when the camera is lost."""
        card = next(
            (one for one in self.waiting if is_jpeg_name(one.name)),
            self.waiting[0] if raws_too and self.waiting else None,
        )
        if card is None:
            return False
        try:
            file = self._fetch(card)
        except CameraError as error:
            if not error.connected:
                raise
            if error.fault is not Fault.BAD_FILE or not self._fetch_copy_of(card):
                self.failed[card] = error
        else:
            self.saved.append(file)
            self._say(FileSaved(self.frame_id, file))
        self.waiting.remove(card)
        return True

    def _fetch_copy_of(self, card: CardObject) -> bool:
        """Fetch the object's copy, if the other card has a copy."""
        copy = next((copy for copy in self.copies if is_copy(copy, card)), None)
        if copy is not None:
            self.copies.remove(copy)
            self.waiting.append(copy)
        return copy is not None

    def prepare(self) -> None:
        """Make the folders, before anything is asked of the camera. Raises CameraError(DISK)."""
        prepare(self._wanted.folder, self._wanted.second, self._disk)

    def finish(self) -> None:
        """Raises CameraError when a file was given up."""
        if self.failed:
            error = next(iter(self.failed.values()))
            raise error.but(fired=Fired.YES, missing=tuple(self.failed))

    def files_left(self) -> tuple[CardObject, ...]:
        """The known files that are not saved."""
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
        with self._camera.fetch(card, lambda count: self._came(count, monotonic() - began_s)) as data:
            wanted = self._wanted
            return save_twice(data, card, wanted.folder, wanted.stem, wanted.second, self._disk)

    def _came(self, count: int, took_s: float) -> None:
        """Tell how far the frame's files are. count: bytes of the present file; took_s: seconds for them."""
        now_s = monotonic()
        if now_s - self._told_at_s < TOLD_EVERY_S or not count:
            return
        self._told_at_s = now_s
        before = sum(file.bytes for file in self.saved)
        of_bytes = before + sum(card.bytes for card in self.waiting)
        done = before + count
        self._say(FileComing(self.frame_id, done, of_bytes, (of_bytes - done) * took_s / count))


class Silence:
    """Time, s, for which the camera was listened to and said nothing.

    Time in which nobody listened doesn't count: a computer that slept, or a process that was stopped or starved, must
    not conclude that the camera has no more to say.
    """

    def __init__(self, most_at_once_s: float) -> None:
        self._most_at_once_s = most_at_once_s
        self.so_far_s = 0.0

    def begin_after(self, wait_s: float) -> None:
        """Begin anew; the next `wait_s` of silence are expected and don't count."""
        self.so_far_s = -wait_s

    def break_off(self) -> None:
        """The camera gave a sign of itself; an expected silence goes on."""
        self.so_far_s = min(self.so_far_s, 0.0)

    def add(self, listened_s: float) -> None:
        """Count one look for a sign."""
        self.so_far_s += min(listened_s, self._most_at_once_s)


class Taking:
    """Lets the shutter go and brings the frame's files home. `strangers`: files of other frames announced meanwhile."""

    def __init__(
        self, camera: Gphoto, known: KnownObjects, cards: CardList, files: Fetching, say: Say, wanted: Release
    ) -> None:
        self._cards = cards
        self._untold = False
        self._camera = camera
        self._known = known
        self._files = files
        self._say = say
        self._open_before, self._newest, self._posted_at_s = wanted.open_before, wanted.newest, wanted.posted_at_s
        self._held: list[CardObject] = []
        self._held_in_time: set[tuple[str, str]] = set()
        self._base: tuple[str, str] | None = None
        self.strangers: list[CardObject] = []
        self._announced = 0
        self._complete = False
        self._store_full = False
        self._silence = Silence(LISTENED_AT_ONCE * camera.limits.after_complete_s)
        self._busy_since: float | None = None
        self._may_be_untrue = False
        self._reads_folder = False

    @property
    def frame_id(self) -> str:
        """The frame's key."""
        return self._files.frame_id

    def run(self, expected_files: int, exposure_s: float) -> None:
        """Release a frame and bring the frame's files home.

        expected_files  0 = unknown
        exposure_s      exposure time, s
        Raises CameraError, which says whether the shutter went and which files are missing.
        """
        self._files.prepare()
        self._refuse_late()
        asked_at = monotonic()
        try:
            self._camera.trigger(exposure_s)
        except CameraError as error:
            # a camera that answers with an error has not begun (ISO 15740, InitiateCapture)
            raise error.but(fired=Fired.NO if error.connected else Fired.UNKNOWN) from error
        fired_at = monotonic()
        self._may_be_untrue = fired_at - asked_at - exposure_s > BUSY_ANSWERS_S
        if not self._may_be_untrue:
            self._say(ShutterFired(self._files.frame_id, fired_at))
        self._reads_folder = self._camera.tells_files_slowly  # with the frame's first file
        if self._reads_folder:
            self._say(ReadingCard(0, 1, frame_id=self._files.frame_id))
        self._silence.begin_after(2 * exposure_s)  # a dark frame takes as long again
        try:
            self._collect(self._known.makes.get(expected_files, expected_files))
            self._files.finish()
        except CameraError as error:
            fired = Fired.UNKNOWN if self._may_be_untrue else Fired.YES
            raise error.but(fired=fired, missing=self._files.files_left()) from error
        if not self._known.tells_done:
            self._known.tells_done = self._complete

    def _refuse_late(self) -> None:
        """Raises CameraError when the release was posted so long ago that hands may be in the set again."""
        since_s = 0.0 if self._posted_at_s is None else monotonic() - self._posted_at_s
        if since_s > self._camera.limits.posted_s:
            late = f"The camera was at something else for {since_s:.0f} s, and hands may be in the set by now"
            raise CameraError(Fault.BUSY, f"{late}; release again.")

    def believe(self) -> None:
        """Take the frame as released: the camera has shown a file, or has said so."""
        if self._may_be_untrue:
            self._may_be_untrue = False
            self._say(ShutterFired(self._files.frame_id, monotonic()))

    def _collect(self, expected: int) -> None:
        while not self._is_done(expected):
            if self._files.next(raws_too=self._no_jpeg_to_come(expected)):
                self._silence.begin_after(0)
            elif self._silence.so_far_s > self._patience_s() and not self._is_busy():
                if self._open_before and self._held:
                    self._choose(expected)
                elif self._complete and self._files.dealt_with and not (self._cards.is_quick or self.strangers):
                    return self._note_made(expected)  # looking on the card would take minutes
                else:
                    return self._look_on_card_for(expected)
            else:
                self._look()
        return None

    def _is_done(self, expected: int) -> bool:
        """All that the format makes is here, and the camera has said that it is done, or is quiet."""
        files = self._files
        if files.waiting or not files.dealt_with or files.dealt_with < expected:
            return False
        return self._complete or self._silence.so_far_s > self._quiet_when_done_s(expected)

    def _quiet_when_done_s(self, expected: int) -> float:
        """How long nothing is told once a frame is done, s: longer where the camera may still say that it is."""
        limits = self._camera.limits
        return limits.settle_s if expected and self._known.tells_done is False else limits.after_complete_s

    def _no_jpeg_to_come(self, expected: int) -> bool:
        if self._announced and self._announced >= expected > 0:
            return True
        return self._complete or self._silence.so_far_s > (
            self._camera.limits.after_complete_s if expected else self._camera.limits.settle_s
        )

    def _patience_s(self) -> float:
        limits = self._camera.limits
        if self._store_full:
            return limits.settle_s
        return limits.after_complete_s if self._complete else limits.no_file_s

    def _is_busy(self) -> bool:
        """Whether the camera says that it is busy, asked until it is free, or for `busy_writing_s`."""
        now, limit_s = monotonic(), self._camera.limits.busy_writing_s
        since = now if self._busy_since is None else self._busy_since
        if now - since > limit_s or not self._camera.says_busy():
            if self._busy_since is not None:
                self._busy_since = None
                self._silence.begin_after(0)  # what it has written is announced from now on
                return now - since <= limit_s
            return False
        self._busy_since = since
        self._say(BusyWriting(self._files.frame_id, now - since, limit_s))
        sleep(min(TOLD_EVERY_S, limit_s / 10))
        return True

    def _look(self) -> None:
        began_s = monotonic()
        event = self._camera.next_event(EVENT_WAIT_MS)
        if event is None and monotonic() - began_s < PAUSE_S:
            sleep(PAUSE_S)
        self._silence.add(monotonic() - began_s)
        if event is not None:
            self._take(event)

    def _take(self, event: CameraEvent) -> None:
        match event.kind:
            case EventKind.CAPTURE_COMPLETE:
                self._complete = True
                self.believe()
            case EventKind.STORE_FULL:
                self._store_full = True
            case EventKind.FILE_ADDED:
                self._belongs(self._card_object_of(event))
            case EventKind.EVENTS_LOST:
                return self._look_on_card()
            case _:  # settings change by the release itself: battery, count of frames
                return None
        self._silence.break_off()
        return None

    def _card_object_of(self, event: CameraEvent) -> CardObject:
        while True:
            try:
                return self._camera.info(event.folder, event.name)
            except CameraError as error:
                if error.fault is not Fault.BUSY or not self._is_busy():
                    raise

    def _belongs(self, card: CardObject) -> None:
        if self._reads_folder:
            self._reads_folder = False
            self._say(ReadingCard(1, 1, "file", 0.0, self._files.frame_id))
        base = base_name(card)
        among_held = base in {base_name(held) for held in self._held}
        of_another = base != self._base and not among_held and self._known.has_base_of(card)
        if not self._known.take_new(card):
            return
        self.believe()
        if base == self._base or card.folder == IN_MEMORY:  # libgphoto2 numbers pictures in memory itself
            self._own(card)
        elif self._base is not None or of_another or self._is_older(card):
            self.strangers.append(card)
        elif self._open_before:
            self._held.append(card)
            if not self._complete:
                self._held_in_time.add(base)
        else:
            self._base = base
            self._own(card)

    def _own(self, card: CardObject) -> None:
        self._announced += self._files.add(card)

    def _is_older(self, card: CardObject) -> bool:
        """Numbered before a file that is an earlier frame's."""
        newest = self._newest
        return newest is not None and releases([card, newest])[0] == (card,)

    def _choose(self, expected: int) -> None:
        """Find this frame's own among the names that came while earlier frames lack their files.

        Numbers grow. As many names as there are frames: the last is its own. A single name is its own when
        the file came whole before the camera said that it was done, as from a punctual camera.
        """
        came, self._held = releases(self._held), []
        own: tuple[CardObject, ...] = ()
        if len(came) == self._open_before + 1:
            own = came[-1]
        elif len(came) == 1 and base_name(came[0][0]) in self._held_in_time and len(came[0]) >= expected:
            own = came[0]
        self.strangers += [card for release in came if release != own for card in release]
        self._open_before = 0
        if own:
            self._base = base_name(own[0])
            for card in own:
                self._own(card)
            return
        names = ", ".join(release[0].name for release in came)
        text = f"The shutter went; whether {names} is its file or an earlier frame's can't be told yet."
        raise CameraError(Fault.NOT_FOUND, text)

    def _look_on_card(self) -> None:
        """Look for what was not announced. Where nobody read the folder before, only later numbers are new for sure."""
        read_before = {folder for folder in self._cards.folders if self._cards.was_read(folder)}
        there_before = set(self._cards.folders)
        self._camera.reopen()
        self._cards.forget()
        for card in self._cards.read():
            sure = card.folder in read_before or card.folder not in there_before
            if sure or (self._known.knows_folder(card.folder) and self._known.is_newest(card)):
                self._belongs(card)
            elif self._known.take_new(card):
                self._untold = True

    def _note_made(self, expected: int) -> None:
        """The camera is done: the files made count, not the number that the format promises."""
        self._known.makes[expected] = self._files.dealt_with

    def _look_on_card_for(self, expected: int) -> None:
        """Look on the card for files that were expected and not announced, or say that they are missing."""
        self._look_on_card()
        if self._held:
            self._choose(expected)
        while self._files.next(raws_too=True):
            continue
        came = self._files.dealt_with
        if came >= max(expected, 1):
            return
        if came and self._complete and not self.strangers:
            self._note_made(expected)
            return
        if self._store_full:
            raise CameraError(Fault.CARD_FULL, "The card is full; the camera could not write the picture.")
        if not came and self._untold:
            text = "The shutter went, and no file was announced; which on the card is the frame's can't be told yet."
            raise CameraError(Fault.NOT_FOUND, text)
        if not came and self._may_be_untrue:
            text = "The camera was busy and told of no file: look whether its shutter went."
            raise CameraError(Fault.NOT_FOUND, text)
        made = f"{came} of {expected} files" if came else "no file"
        raise CameraError(Fault.NOT_FOUND, f"The shutter went, and the camera made {made}.")
