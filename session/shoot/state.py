"""The state of a shoot: the set-up in force and all that is known of the camera. The controller's parts share it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import ParamSpec, TypeVar

from session.cameras.saving import Disk, SystemDisk
from session.frame.camera_messages import CameraDescription, DriveFocus, Reading, Request, SecondPlace
from session.frame.moves import Moves
from session.frame.ports import Agreement, Clock, Judge, Log, LogError, Place, Reference, Standing
from session.optics.ring_down import RingDown
from session.rules import Situation
from session.rules.room_rules import mean_frame_bytes
from session.rules.situation import Pop
from session.set.kit import Body, Kit, LensDrive
from session.set.setup import Revision
from session.shoot.events import Event, Said
from session.shoot.last_log import LastLog
from session.shoot.late_files import LateFiles
from session.shoot.writer import Writer

P = ParamSpec("P")
Found = TypeVar("Found")

FNumberKeeper = Callable[[str, float | None], Kit]
"""Raises KitError."""

SupportKeeper = Callable[[str, RingDown], tuple[str, Kit]]
"""Raises KitError."""

DriveKeeper = Callable[[LensDrive], Kit]
"""Raises KitError."""

FRAME_BYTES_AT_FIRST = 60_000_000
"""What a frame is taken to need before the first was seen: a raw of 45 million pixels and its JPEG. Guessed."""


@dataclass(frozen=True)
class Opened:
    """The values that a shoot begins with.

    standing   a draft ("" as its key) goes into the log as a revision with its first frame, and takes the settings
               of `from_camera` as the camera has them; all others are put on the camera, since the photographer
               opened this set-up
    building   an old set-up is being built again; see `ShootState.building`
    """

    place: Place
    standing: Standing
    kit: Kit
    building: bool = False


@dataclass(kw_only=True)
class Outside:
    """The ways out of a shoot, all but those to camera and judge.

    frame_folder(place)          the absolute folder that this place's files go to
    frame_stem(place, number, revision)  the files' base name
    free_disk_bytes(folder)      room on its disk, None when unknown
    last_log                     which log a camera was last used for, None where that isn't kept
    second_place(place)          where this place's files are saved once more, None when they aren't
    disk                         where files of earlier runs are looked at
    keep_f_number(lens, value)   puts a lens's effective f-number at its closest focus into the kit file, None: takes it
                                 out; the kit now. None: no file
    keep_support(name, found)    puts a measured support into the kit file: its name, and the kit now; None: no file
    keep_drive(found)            puts a measured focus drive into the kit file: the kit now; None: no file
    """

    log: Log
    clock: Clock
    emit: Callable[[Event], None]
    frame_folder: Callable[[Place], Path]
    frame_stem: Callable[[Place, int, Revision], str]
    free_disk_bytes: Callable[[Path], int | None]
    last_log: LastLog | None = None
    second_place: Callable[[Place], SecondPlace | None] = lambda place: None
    disk: Disk = field(default_factory=SystemDisk)
    keep_support: SupportKeeper | None = None
    keep_f_number: FNumberKeeper | None = None
    keep_drive: DriveKeeper | None = None


@dataclass(kw_only=True)
class ShootState(Outside):
    """The present table, set-up and camera, and the ways out to log, listeners, camera and judge.

    revision_id                  "" while the arrangement is a draft that no frame has used yet
    from_camera                  settings that the draft takes as the camera has them when it is first connected
    moves                        how the live picture moves, None without one
    frame_sizes                  bytes of the job's frames as they came, newest last
    building                     the set is being built again, until a frame lies as its reference or is a new one
    settings_asked               how many changes of settings the camera has not answered yet
    drives_asked                 how many moves of the focus drive the camera has not answered yet
    late_files                   frames without a file whose files the camera may still bring
    card_asked                   the card is being read to find whose some files are; no release meanwhile
    card_being_read              a folder of the card is read in one go, and the camera does nothing else meanwhile
    halted                       why no further frame is released until a person has looked; "" when nothing is wrong
    too_many                     how many files a frame had, when that is why
    let_pass                     how many files of a frame a person has let pass in this run

    What holds the next release up is no state of a frame: `settings_asked`, `drives_asked`, `card_asked`,
    `card_being_read`, `late_files` and `halted` are about the camera and its card, hold up whichever frame comes next,
    and end with the run.
    """

    place: Place
    revision: Revision
    revision_id: str
    kit: Kit
    writer: Writer
    post: Callable[[Request], None]
    judge: Callable[[], Judge]
    description: CameraDescription | None = None
    reading: Reading = field(default_factory=Reading)
    free_card_bytes: int | None = None
    frame_sizes: list[int] = field(default_factory=list)
    touched_s: float | None = None
    moves: Moves | None = None
    building: bool = False
    settings_asked: int = 0
    drives_asked: int = 0
    late_files: LateFiles = field(default_factory=LateFiles)
    card_asked: bool = False
    card_being_read: bool = False
    halted: str = ""
    too_many: int = 0
    let_pass: int = 0
    pops: dict[str, Pop] = field(default_factory=dict)
    from_camera: tuple[str, ...] = ()

    @property
    def serial(self) -> str:
        return self.description.serial if self.description else ""

    @property
    def model(self) -> str:
        """As the camera names itself; "" while there is none."""
        return self.description.model if self.description else ""

    @property
    def body(self) -> Body | None:
        """The body of the kit that the set-up is worked out with."""
        return self.kit.body_for(self.revision.body, self.serial, self.model)

    def situation(self) -> Situation:
        """The situation that the rules look at, now."""
        return Situation(
            revision=self.revision,
            kit=self.kit,
            reading=self.reading,
            camera_serial=self.serial,
            camera_model=self.model,
            now_s=self.clock.monotonic_s(),
            touched_s=self.touched_s,
            moves=self.moves,
            pops=dict(self.pops),
            frame_bytes=self.frame_bytes,
            free_card_bytes=self.free_card_bytes,
            free_disk_bytes=self.free_disk_bytes(self.frame_folder(self.place)),
        )

    @property
    def frame_bytes(self) -> int:
        """Bytes that a frame takes on card and disk, by the last frames of the job."""
        return mean_frame_bytes(self.frame_sizes) or FRAME_BYTES_AT_FIRST

    @property
    def is_draft(self) -> bool:
        """True when no revision has the arrangement in force yet; the next frame makes a revision of it."""
        return not self.revision_id

    @property
    def is_new_setup(self) -> bool:
        """True when the set-up in force has no frame, and so no row in the log."""
        return self.is_draft and self.revision.revision == 1

    @property
    def standing(self) -> Standing:
        """The arrangement in force, as the log takes it."""
        return Standing(self.revision, self.revision_id, self.from_camera)

    def reference(self, place: Place, setup_number: int) -> Reference | None:
        """The approved frame of this set-up for this piece; None also when the log can't tell, which is said."""
        return self._looked_up(self.log.reference, place, setup_number)

    def expectation(self, place: Place, setup_number: int) -> Reference | None:
        """The set-up's reference for another piece; None also when the log can't tell, which is said."""
        return self._looked_up(self.log.expectation, place, setup_number)

    def agreement(self, place: Place) -> Agreement | None:
        """The client's standard for the view; None also when the log can't tell, which is said."""
        return self._looked_up(self.log.agreement, place)

    def _looked_up(self, look_up: Callable[P, Found | None], *values: P.args, **named: P.kwargs) -> Found | None:
        try:
            return look_up(*values, **named)
        except LogError as error:
            self.writer.say_refused(str(error))
            return None

    def settings_answered(self) -> None:
        """The camera has said what came of the oldest change asked for."""
        self.settings_asked = max(0, self.settings_asked - 1)

    def drive_focus(self, steps: int) -> None:
        """Ask the camera to move the focus; nothing is released before it has answered and the hold-off is over."""
        self.drives_asked += 1
        self.touch()
        self.post(DriveFocus(steps))

    def drive_answered(self) -> None:
        """The camera has answered the oldest move asked for: the drive stands, and the hold-off begins."""
        self.drives_asked = max(0, self.drives_asked - 1)
        self.touch()

    def halt(self, text: str) -> None:
        """No further release before a person has looked: it is not known which frame a file is of."""
        self.halted = text
        self.emit(Said(text))
        self.record("card", text)

    def go_on(self) -> None:
        """A person has looked, and gave a reason to go on."""
        self.halted = ""
        self.let_pass, self.too_many = max(self.let_pass, self.too_many), 0

    def touch(self) -> None:
        """Somebody touched camera, focus, light or table now."""
        self.touched_s = self.clock.monotonic_s()

    def flashes_fired(self, solo: str = "") -> None:
        """Every flash of the set-up fired now, at the power set; with `solo` the flash of that name alone."""
        now_s = self.clock.monotonic_s()
        for name in replace(self.situation(), solo=solo).flashes:
            placed = self.revision.light(name)
            self.pops[name] = Pop(now_s, placed.power_ev if placed else 0.0)

    def write(self, call: Callable[P, None], *values: P.args, **named: P.kwargs) -> None:
        """A call of the log that is kept and tried again when the log refuses."""
        self.writer.write(partial(call, *values, **named), self.clock.monotonic_s())

    def record(self, kind: str, text: str, frame_id: str | None = None) -> None:
        """Append to the log's events."""
        self.write(self.log.record, kind, text, frame_id)
