"""The builder of the program: log, camera, judge and controller put together, here alone."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import click

from session.cameras.remote_camera import RemoteCamera
from session.checks.judge.remote_judge import JudgeProcess
from session.frame.camera_messages import SecondPlace
from session.frame.ports import Place, Standing, SystemClock
from session.match.reshoot_steps import Reshoot
from session.optics.ring_down import RingDown
from session.plan.waits import safe_hold_off_s
from session.set.kit import Kit, LensDrive, demo_kit, read_kit
from session.set.lens_in_use import without_stale_confirmation
from session.set.setup import same_arrangement
from session.shoot.acts import Announce
from session.shoot.controller import Shoot
from session.shoot.events import About, Event, KitChanged, PlaceChanged, Said
from session.shoot.going import begin_view, standing_words
from session.shoot.last_log import LastLog
from session.shoot.live_stream import LIVE_MINUTES
from session.shoot.recovery import LATE_FILE_S
from session.shoot.runner import Runner
from session.shoot.state import DriveKeeper, FNumberKeeper, Opened, Outside, SupportKeeper
from session.units.names import name_key
from storage.database.at_rest import Standby
from storage.files import aside
from storage.files.paths import frame_folder, frame_stem, previews_folder
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.writing.log import SqlLog
from tui.shell.choices import Choices, log_to_write
from tui.shell.terminal import OWN_MISTAKE, error_file, write_down
from tui.words.series_words import unfinished_words

FIRST_JOB, FIRST_PIECE, FIRST_VIEW = "first job", "piece 1", "view 1"


class OpenShoot:
    """Everything that is open for a shoot: log, controller, camera and judge in their processes."""

    def __init__(self, choices: Choices) -> None:
        """Open it all; the camera is looked for at once. Raises LogError, KitError, click.UsageError."""
        self.kit = kit_of(choices)
        self._folder = choices.folder
        self._second = second_root(choices)
        self._log_path = log_to_write(choices.log)
        self._log = SqlLog.open(self._log_path)
        self._listeners: list[Callable[[Event], None]] = []
        self._opening_line = ""
        self.reshoot: Reshoot | None = None
        clock = SystemClock()
        self._runner = Runner(clock, self._write_down_fault)
        self.post, self.ask = self._runner.post, self._runner.ask
        self._opening: tuple[Said, ...] = ()
        self._log.keep_at_rest(Standby(*self._second) if self._second else None, self._say_standby)
        try:
            self.reader = LogReader.open(self._log_path)
            left = self.reader.last_place(choices.job)
            self.place = opened_place(self._log, self.reader, choices)
            standing = self._starting(choices, left)
            errors_path = str(error_file(self._log_path))
            self._shoot = Shoot(
                Opened(self.place, standing, self.kit, building=choices.building),
                Outside(
                    log=self._log,
                    clock=clock,
                    emit=self._emit,
                    frame_folder=lambda place: frame_folder(self._folder, place),
                    frame_stem=frame_stem,
                    free_disk_bytes=free_disk_bytes,
                    last_log=LastLog(self._log_path),
                    keep_support=support_keeper(choices),
                    keep_f_number=f_number_keeper(choices),
                    keep_drive=drive_keeper(choices),
                    second_place=self._second_place,
                ),
                make_camera=partial(RemoteCamera, errors_path=errors_path),
                make_judge=partial(
                    JudgeProcess,
                    errors_path=errors_path,
                    previews=previews_folder(self._log_path),
                    tell=self._say_previews,
                ),
                deliver=self._runner.post,
                late_file_s=LATE_FILE_S if choices.late_file_s is None else choices.late_file_s,
                live_minutes=LIVE_MINUTES if choices.live_minutes is None else choices.live_minutes,
                address=choices.camera,
            )
        except BaseException:
            self._log.close()
            raise

    def start(self) -> None:
        """Begin."""
        self._opening = self._opening_words()
        for said in self._opening:
            self._emit(said)
        self._runner.start(self._shoot)

    def _opening_words(self) -> tuple[Said, ...]:
        """The sentences to be known from the beginning by every listener."""
        said = []
        if self._second is not None and self._second[1] == device_of(self._folder):
            text = "Both copies of each file go to one disk; --copy-to a folder on another."
            said.append(Said(text, About.COPIES, True))
        refused = aside.kept_entries(self._log_path)
        if refused:
            path, count = refused
            entries, they = ("entry", "it is") if count == 1 else ("entries", "they are")
            text = f"The log once refused {count} {entries} for good; {they} in {path} until you move that file away."
            said.append(Said(text, About.REFUSED_BEFORE, True))
        passing = " ".join(line for line in (self._opening_line, self._unfinished_series()) if line)
        return (*said, Said(passing)) if passing else tuple(said)

    def _unfinished_series(self) -> str:
        """The sentence on the view's focus series where its last frame is of one that lacks planes; else ""."""
        place = self.place
        here = FrameFilter(job=place.job, piece=place.piece, view=place.view)
        newest = next(self.reader.frames(here, newest_first=True, limit=1), None)
        if newest is None or newest.series is None:
            return ""
        return unfinished_words([shot for row in self.reader.focus_series(place) if (shot := row.shot_plane)])

    def listen(self, listener: Callable[[Event], None]) -> None:
        """Hear every event, in the controller's thread; what was said at the start, at once."""
        self._listeners.append(listener)
        for said in self._opening:
            listener(said)

    def open_place(self, piece: str, view: str) -> Place:
        """A piece and view of this job, begun when new; from any thread."""
        return self._log.open_place(self.place.job, piece, view)

    def close(self, *, at_once: bool = False) -> None:
        """Let go of camera, judge and log, in that order; at once: what is under way is left on the card."""
        self._runner.stop(at_once=at_once)
        self.reader.close()
        self._log.close()

    def _say_standby(self, text: str) -> None:
        """From the thread that makes the copy."""
        self.post(Announce(text, About.STANDBY, True))

    def _say_previews(self, text: str) -> None:
        """From the thread that hears the judge."""
        self.post(Announce(text, About.PREVIEWS, True))

    def _second_place(self, place: Place) -> SecondPlace | None:
        if self._second is None:
            return None
        root, device = self._second
        return SecondPlace(str(frame_folder(root, place)), str(root), device)

    def _emit(self, event: Event) -> None:
        if isinstance(event, KitChanged):
            self.kit = event.kit
        elif isinstance(event, PlaceChanged):
            self.place = event.place
        for listener in self._listeners:
            listener(event)

    def _write_down_fault(self, error: BaseException) -> None:
        """Our own mistake: said on the screen, written in full to the error file, and the shoot goes on."""
        write_down(error)
        self._emit(Said(OWN_MISTAKE, About.OWN_FAULT, True))

    def _starting(self, choices: Choices, left: Place | None) -> Standing:
        """The table at the start: the arrangement with which the view goes on, and the options put in.

        left   the place that was opened last
        """
        log, place = self._log, self.place
        last = log.standing(left) if left is not None and left.job_id == place.job_id else None
        known = log.standing(place)
        if choices.setup:
            found = self.reader.revision(place.job, choices.setup)
            if found is None:
                raise click.UsageError(f"job {place.job!r} has no set-up {choices.setup}")
            known = Standing(*found)
            if choices.building and known.revision_id:  # of a draft no frame can be a reference
                self.reshoot = Reshoot(known.revision, known.revision_id, SystemClock().now())
        standing = known or begin_view(log, place, last, safe_hold_off_s(self.kit.support_for("")))
        wanted = without_stale_confirmation(choices.change(standing.revision, self.kit), standing.revision)
        asked = dict(choices.settings)
        changed = replace(
            standing, revision=wanted, from_camera=tuple(name for name in standing.from_camera if name not in asked)
        )
        if known is None:
            return self._note_opening(log.choose(place, changed), last)
        chosen = log.choose(place, standing)
        if not same_arrangement(wanted, standing.revision):
            chosen = log.arrange(place, chosen, changed)
        return self._note_opening(replace(chosen, piece=standing.piece), last)

    def _note_opening(self, standing: Standing, last: Standing | None) -> Standing:
        """The opening, with a line for the listeners when another set-up was last on the table."""
        if last is not None and last.revision.setup_number != standing.revision.setup_number:
            self._opening_line = standing_words(self.place, standing, last.revision)
        return standing


def opened_place(log: SqlLog, reader: LogReader, choices: Choices) -> Place:
    """The place of `wanted_names`, begun where it is new."""
    return log.open_place(*wanted_names(reader, choices), choices.client)


def wanted_names(reader: LogReader, choices: Choices) -> tuple[str, str, str]:
    """Job, piece and view of the options, else those of last time, else what the order has to go; nothing is begun."""
    last = reader.last_place(choices.job)
    job = choices.job or (last.job if last else next((known.name for known in reader.jobs()), FIRST_JOB))
    progress = reader.progress(job)
    wanted = progress.to_go if progress else ()
    first = wanted[0].piece.name if wanted else FIRST_PIECE
    piece = choices.piece or (last.piece if last else first)
    same_piece = last is not None and name_key(piece) == name_key(last.piece)
    of_piece = (one.view for one in wanted if name_key(one.piece.name) == name_key(piece))
    view = choices.view or (last.view if last and same_piece else next(of_piece, FIRST_VIEW))
    return job, piece, view


def second_root(choices: Choices) -> tuple[Path, int] | None:
    """The folder for second copies and the folder's disk. Raises click.UsageError when the folder is missing."""
    root = choices.copy_to
    if root is None:
        return None
    if not root.is_dir():
        raise click.UsageError(f"there is no folder {root} for second copies; is its disk plugged in?")
    if root.resolve() == choices.folder.resolve():
        raise click.UsageError(f"the second copies need another folder than the first, {root}")
    return root, root.stat().st_dev


def device_of(folder: Path) -> int:
    """The disk that the folder is or will be on."""
    return next(place for place in (folder, *folder.parents) if place.is_dir()).stat().st_dev


def kit_of(choices: Choices) -> Kit:
    """The kit of the options. Raises KitError."""
    return kit_at(choices.kit)


def kit_at(path: Path | None) -> Kit:
    """The kit in a file, without one the invented kit of the demo. Raises KitError."""
    return read_kit(path) if path else demo_kit()


def named_kit(path: Path | None) -> Kit:
    """The kit in a file; without one an empty kit, where nothing may be made up. Raises KitError."""
    return read_kit(path) if path else Kit()


def support_keeper(choices: Choices) -> SupportKeeper | None:
    """Puts a measured support into the kit file chosen; None for the demo's kit, which is part of the program."""
    path = choices.kit
    if path is None:
        return None

    def keep(name: str, found: RingDown) -> tuple[str, Kit]:
        from session.set.kit_file import keep_support  # noqa: PLC0415 - tomlkit, for the one act that writes a kit

        return keep_support(path, name, found)

    return keep


def f_number_keeper(choices: Choices) -> FNumberKeeper | None:
    """Puts a lens's effective f-number into the kit file chosen; None for the demo's kit, likewise."""
    path = choices.kit
    if path is None:
        return None

    def keep(lens: str, closest_effective_f_number: float | None) -> Kit:
        from session.set.kit_file import keep_closest_f_number  # noqa: PLC0415 - tomlkit, as above

        return keep_closest_f_number(path, lens, closest_effective_f_number)

    return keep


def drive_keeper(choices: Choices) -> DriveKeeper | None:
    """Puts a measured focus drive into the kit file chosen; None for the demo's kit, likewise."""
    path = choices.kit
    if path is None:
        return None

    def keep(found: LensDrive) -> Kit:
        from session.set.kit_file import keep_drive  # noqa: PLC0415 - tomlkit, as above

        return keep_drive(path, found)

    return keep


def free_disk_bytes(folder: Path) -> int | None:
    """Room in bytes on the disk that the folder is or will be on."""
    for place in (folder, *folder.parents):
        if place.is_dir():
            try:
                return shutil.disk_usage(place).free
            except OSError:
                return None
    return None
