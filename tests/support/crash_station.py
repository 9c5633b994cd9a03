"""A whole station that can be stopped between any two of its steps and started again: controller, log, files, camera.

Controller, log (SQLite) and the code that saves files are the real ones. Each operation on the disk, each commit and
each call to the camera is a step, after which a picture of everything durable or not is taken.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import Connection

from session.frame.camera_messages import SecondPlace
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Assignment, Judgement, LogError, Place, Standing
from session.set.kit import demo_kit
from session.set.setup import Revision, Settings
from session.shoot.acts import AskRelease, Revise
from session.shoot.controller import RECONNECT_S, Shoot
from session.shoot.events import Event
from session.shoot.recovery import LATE_FILE_S
from session.shoot.state import Opened, Outside
from storage.database.at_rest import Standby, make_whole
from storage.database.log_database import WritableDatabase, open_for_writing
from storage.files.paths import frame_folder, frame_stem
from storage.writing.log import SqlLog
from tests.support.crash_camera import Card, Killed, SteppedCamera, picture
from tests.support.crash_disk import Image, Loss, Operation, RecordedDisk, surviving
from tests.support.fresh_log import fresh_log

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)
LONG_AFTER_S, SHORTLY_AFTER_S = 3600.0, 2.0
CHANGES = {3: ("card", "card nearer"), 5: ("card farther", "card nearer")}
"""Before the frame of this number → notes that the arrangement gets one after the other."""

STRANGER = b"\xff\xd8\xff\xda\x00\x02somebody else's picture\xff\xd9"


@dataclass(frozen=True)
class Moment:
    """Everything that outlives a stop here. `start` and `operations` are the disk's, see `crash_disk`.

    notes   those of the arrangement in force, and those that the photographer had typed last; none before the start
    """

    step: str
    log: tuple[bytes, bytes]
    start: Image
    operations: list[Operation]
    card: Card
    at_s: float
    notes: tuple[str, ...]

    @property
    def key(self) -> tuple[Any, ...]:
        """Two moments of one key are the same to whoever comes after, but for the disk."""
        return self.log, tuple(self.card.files), tuple(self.card.released), tuple(self.card.unwritten)

    def disk(self, loss: Loss, chance: Random | None = None) -> Image:
        return surviving(self.start, self.operations, loss, chance)

    def with_log_of(self, earlier: Moment) -> Moment:
        """The camera's process had come to here, the controller only to there: they run side by side."""
        return Moment(
            f"{self.step}, log: {earlier.step}",
            earlier.log,
            self.start,
            self.operations,
            self.card,
            self.at_s,
            earlier.notes,
        )


class Clock:
    def __init__(self, now_s: float) -> None:
        self.now_s = now_s

    def monotonic_s(self) -> float:
        return self.now_s

    def now(self) -> datetime:
        return NOON + timedelta(seconds=self.now_s)


class SteppedDatabase:
    """The real database; each commit is a step. `read_only`: SQLite says of each change what it says on such a disk."""

    def __init__(self, database: WritableDatabase, after: Callable[[str], None]) -> None:
        self._database = database
        self._after = after
        self.read_only = False

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        with self._database.transaction() as connection:
            if self.read_only:
                connection.exec_driver_sql("PRAGMA query_only=ON")
            before = connection.connection.dbapi_connection.total_changes  # type: ignore[union-attr]
            yield connection
            changed = connection.connection.dbapi_connection.total_changes != before  # type: ignore[union-attr]
        if changed:
            self._after("commit")

    def must_be_in_place(self) -> None:
        self._database.must_be_in_place()

    def is_in_place(self) -> bool:
        return self._database.is_in_place()

    def close(self) -> None:
        self._database.close()


class InTurn:
    """What `AtRest` does in its thread, done at once, and each thing a step."""

    def __init__(
        self, path: Path, standby: Standby | None, in_place: Callable[[], bool], after: Callable[[str], None]
    ) -> None:
        self._path = path
        self._standby = standby
        self._in_place = in_place
        self._after = after

    def ask(self) -> None:
        if self._in_place():
            make_whole(self._path)
            self._after("checkpoint")
            if self._standby is not None:
                self._standby.renew(self._path)
                self._after("standby")

    def close(self) -> None:
        self.ask()


class Station:
    """One run of the program, from start to stop. `moments` are the stops that there could have been."""

    def __init__(
        self,
        root: Path,
        card: Card,
        image: Image,
        before: list[Operation] | None = None,
        at_s: float = 0.0,
        *,
        standby: bool = False,
    ) -> None:
        """With a folder `copies` in its root each file is saved twice; with `standby` the log is, whenever at rest."""
        self.root, self.card = root, card
        self.moments: list[Moment] = []
        self.events: list[Event] = []
        self.recording = True
        self.kill_camera_at = -1
        self.camera_steps = 0
        self.steps, self.mishap_at = 0, -1
        self.at_each_step: Callable[[str], object] = lambda what: None
        self.mishap: Callable[[], object] = lambda: None
        self.must_stand: tuple[str, ...] = ()
        self._in_force: Callable[[], tuple[str, ...]] = tuple
        self.clock = Clock(at_s)
        self._disk = RecordedDisk(image, before or [], self.camera_step)
        self.database = SteppedDatabase(open_for_writing(self.log_path), self._record)
        self.log = SqlLog(self.database, self.clock, self.log_path)
        keeper = Standby(root / "copies", root.stat().st_dev) if standby else None
        self.log.rest_by(InTurn(self.log_path, keeper, self.database.is_in_place, self._record))
        self._judged: list[Assignment] = []
        place = self.log.open_place("Movement", "Bridge", "top")
        revision = Revision(settings=Settings(0.005, 11.0, 100, "Flash", "raw+jpeg"), hold_off_s=0.0)
        self.place = place
        standing = self.log.standing(place) or self.log.choose(place, Standing(revision))
        self._typed = standing.revision.notes
        self.shoot = Shoot(
            Opened(place, standing, demo_kit()),
            Outside(
                log=self.log,
                clock=self.clock,
                emit=self.events.append,
                frame_folder=lambda place: frame_folder(root / "pictures", place),
                frame_stem=frame_stem,
                free_disk_bytes=lambda folder: 10**12,
                second_place=self._second_place,
                disk=self._disk,
            ),
            make_camera=lambda receive: self._make_camera(),
            make_judge=lambda answer: self,
            deliver=self._deliver,
        )
        self._in_force = lambda: (self.shoot.shoot_state.revision.notes, self._typed)

    def _second_place(self, place: Place) -> SecondPlace | None:
        copies = self.root / "copies"
        if not copies.is_dir():
            return None
        return SecondPlace(str(frame_folder(copies, place)), str(copies), copies.stat().st_dev)

    @property
    def log_path(self) -> Path:
        return self.root / "log.sqlite"

    def _make_camera(self) -> SteppedCamera:
        self.camera = SteppedCamera(self.card, self._disk, self.camera_step, self._deliver)
        return self.camera

    # --- the judge --------------------------------------------------------------------------------

    def post(self, assignment: Assignment) -> None:
        self._judged.append(assignment)

    def close(self) -> None: ...

    # --- steps ------------------------------------------------------------------------------------

    def camera_step(self, what: str) -> None:
        """Of the camera's process."""
        self._record(what)
        self.camera_steps += 1
        if self.camera_steps == self.kill_camera_at:
            raise Killed

    def _record(self, what: str) -> None:
        self.steps += 1
        if self.steps == self.mishap_at:
            self.mishap()
        self.at_each_step(what)
        if self.recording:
            wal = self.log_path.with_name("log.sqlite-wal")
            log = self.log_path.read_bytes(), wal.read_bytes() if wal.exists() else b""
            operations = list(self._disk.operations)
            card, at_s = self.card.copy(), self.clock.now_s
            self.moments.append(Moment(what, log, self._disk.start, operations, card, at_s, self._in_force()))

    def _deliver(self, message: Any) -> None:
        self.shoot.receive(message)

    # --- a shoot ----------------------------------------------------------------------------------

    def run(self) -> None:
        """Until nothing is left to do at this time."""
        while True:
            self.shoot.tick()
            if self.camera.work():
                continue
            if not self._judged:
                return
            self._deliver(Judgement(self._judged.pop(0).frame_id, (), FocusJudgement(FocusVerdict.SHARP)))

    def wait(self, seconds: float) -> None:
        self.clock.now_s += seconds
        self.run()

    def arrange(self, notes: str) -> None:
        """The photographer changes the arrangement."""
        self._typed = notes
        self.shoot.do(Revise({"notes": notes}))

    def frame(self) -> str:
        wish = AskRelease()
        frame_id = wish.frame_id
        self.shoot.do(wish)
        self.run()
        return frame_id

    def frame_with_camera_killed(self, at_step: int) -> int:
        """The camera's process is killed at this step of its in the frame, and comes again; how many it came to."""
        self.camera_steps, self.kill_camera_at = 0, at_step
        self.frame()
        self.kill_camera_at, came_to = -1, self.camera_steps
        if not self.camera.connected:
            self.reconnect()
        return came_to

    def body_frame(self) -> None:
        """Somebody presses the button on the camera."""
        self.card.expose("")
        self.camera_step("body: release")
        self.camera_writes()
        self.run()

    def camera_writes(self) -> None:
        """What is exposed comes onto the card, and is announced."""
        before = set(self.card.files)
        while self.card.unwritten:
            self.card.write()
        if self.camera.connected:
            self.camera.announce(tuple(one for one in self.card.files if one not in before))

    def reconnect(self) -> None:
        """After a loss: the camera writes what it has, and is found again."""
        self.camera_writes()
        self.wait(RECONNECT_S)
        self.wait(LATE_FILE_S + 1)

    def end(self) -> None:
        self.shoot.close()
        self.log.close()


def begin(root: Path) -> Image:
    """An empty station in whose folder somebody has left a picture of the name that frame 2 would get."""
    shutil.rmtree(root, ignore_errors=True)
    folder = root / "pictures" / "movement" / "bridge"
    folder.mkdir(parents=True)
    stranger = folder / "0002-top-01.1.JPG"
    stranger.write_bytes(STRANGER)
    return Image({str(place) for place in (root, root / "pictures", folder.parent, folder)}, {str(stranger): STRANGER})


def lay_out(root: Path, log: tuple[bytes, bytes], image: Image) -> None:
    """Make the station's folder what a stop has left of it."""
    shutil.rmtree(root)
    root.mkdir()
    image.lay_out()
    for name, data in zip(("log.sqlite", "log.sqlite-wal"), log, strict=True):
        if data:
            (root / name).write_bytes(data)


def whole_shoot(root: Path, frames: int = 6, *, twice: bool = False) -> Station:
    """A shoot of raw and JPEG, with one more frame released on the camera in the middle.

    Before the third frame the arrangement is changed twice, before the fifth it is changed and put back.

    twice   each file is saved in a second place too
    """
    image = begin(root)
    if twice:
        (root / "copies").mkdir()
        image.folders.add(str(root / "copies"))
    station = Station(root, Card(), image)
    station.run()
    for number in range(1, frames + 1):
        for notes in CHANGES.get(number, ()):
            station.arrange(notes)
        station.frame()
        if number == frames // 2:
            station.body_frame()
        station.wait(1.0)
    return station


def distinct(moments: Iterable[tuple[Moment, Loss, bool]]) -> Iterator[tuple[Moment, Loss, bool]]:
    """Of stops that leave the same behind, the first."""
    seen = set()
    for moment, loss, late in moments:
        image = moment.disk(loss)
        state: Any = (moment.key, frozenset(image.folders), tuple(sorted(image.files.items())), late)
        if state not in seen:
            seen.add(state)
            yield moment, loss, late


def restarted(
    root: Path, moment: Moment, loss: Loss, chance: Random | None = None, *, late: bool = False, record: bool = False
) -> Station:
    """The next run after a stop: the camera is found, what may come has come, and the program is at rest.

    late   the camera writes only once it is connected again, a moment after the stop
    """
    image = moment.disk(loss, chance)
    lay_out(root, moment.log, image)
    at_s = moment.at_s + (SHORTLY_AFTER_S if late else LONG_AFTER_S)
    killed = loss is Loss.NONE
    start, before = (moment.start, moment.operations) if killed else (image, [])
    card = moment.card.copy()
    while card.unwritten and not late:  # while the program is off: no camera needs an hour
        card.write()
    station = Station(root, card, start, before, at_s)
    station.recording, station.must_stand = record, moment.notes
    station.run()
    station.camera_writes()
    station.run()
    station.wait(LATE_FILE_S + 1)
    return station


def rows(log_path: Path, query: str) -> list[tuple[Any, ...]]:
    """Straight from the file, by none of our own code."""
    with closing(sqlite3.connect(log_path)) as connection:
        return connection.execute(query).fetchall()


FRAMES = "SELECT lower(frame_id), number, state, fired, released_by FROM frame ORDER BY number"
FILES = "SELECT lower(frame_id), path, sha256 FROM frame_file"
COPIES = "SELECT lower(frame_id), path, sha256 FROM file_copy"


def _arranged_wrongly(station: Station) -> list[str]:
    found = []
    if rows(station.log_path, "SELECT 1 FROM revision WHERE revision_id NOT IN (SELECT revision_id FROM frame)"):
        found.append("a revision has no frame")
    standing = station.log.standing(station.place)
    stands = standing.revision.notes if standing else ""
    if station.must_stand and stands not in station.must_stand:
        found.append(f"{stands!r} stands, {station.must_stand} was typed")
    return found


def violations(station: Station) -> list[str]:
    """What is not as it must be; [] when all is well.

    Every release is one frame, with its own pictures; each file in the log is whole and durable; no file is without a
    frame; nothing of others is overwritten; no frame is made up. No revision is without a frame, and the arrangement
    that was in force at a stop is in force again.
    """
    frames, files = rows(station.log_path, FRAMES), rows(station.log_path, FILES)
    states = {"yes": "logged", "no": "not fired"}
    found = [f"frame {number} is {state}" for _, number, state, fired, _ in frames if states.get(fired) != state]
    found += _arranged_wrongly(station)
    released = station.card.released
    fired_frames = [frame for frame in frames if frame[3] == "yes"]
    if len(fired_frames) != len(released):
        found.append(f"{len(released)} releases are {len(fired_frames)} frames")
    lasting = surviving(station._disk.start, station._disk.operations, Loss.ALL)
    of_body = []
    for frame_id, number, _, _, released_by in fired_frames:
        contents = {}
        for path, digest in [(path, digest) for key, path, digest in files if key == frame_id]:
            data = Path(path).read_bytes() if Path(path).exists() else b""
            contents[Path(path).suffix[1:]] = data
            if hashlib.sha256(data).hexdigest() != digest:
                found.append(f"{path} is not what the log says")
            if lasting.files.get(path) != data:
                found.append(f"{path} would not outlive a power cut")
        if released_by == "body":
            of_body.append(contents)
        elif contents not in [picture(made) for key, made in released if UUID(key or frame_id) == UUID(frame_id)]:
            found.append(f"frame {number} has not its own pictures")
    wanted = [picture(number) for key, number in released if not key]
    if sorted(map(repr, of_body)) != sorted(map(repr, wanted)):
        found.append("the frames of the body have not their own pictures")
    copies = rows(station.log_path, COPIES)
    named = {path for _, path, _ in (*files, *copies)}
    if (station.root / "copies").is_dir() and {(key, digest) for key, _, digest in files} != {
        (key, digest) for key, path, digest in copies if path.startswith(str(station.root / "copies"))
    }:
        found.append("a file has no second copy in the log")
    for _, path, digest in copies:
        if hashlib.sha256(lasting.files.get(path, b"")).hexdigest() != digest:
            found.append(f"{path} is not what the log says, or would not outlive a power cut")
    there = {str(path) for path in station.root.rglob("*.*") if path.is_file() and "log.sqlite" not in path.name}
    strangers = {path for path in there if Path(path).read_bytes() == STRANGER}
    found += [f"{path} has no frame" for path in sorted(there - named - strangers)]
    if len(strangers) != 1:
        found.append("somebody else's picture is gone")
    return found


def move_log(log: Path) -> None:
    log.rename(log.with_name("moved-log.sqlite"))


def delete_log(log: Path) -> None:
    log.unlink()


def replace_log(log: Path) -> None:
    other = log.with_name("other-log.sqlite")
    fresh_log(other).close()
    other.replace(log)
    other.with_name("other-log.sqlite.lock").unlink()


MISHAPS = (move_log, delete_log, replace_log)
"""What may happen to the log of a shoot that goes on."""


def with_mishap(root: Path, mishap: Callable[[Path], object], at_step: int) -> tuple[list[str], bool]:
    """A shoot of three frames to whose log this happens at a step of the second, the next run with what was kept of it,
    and one frame more: what is not as it must be, and whether the frame came to that step.
    """
    station = Station(root, Card(), begin(root))
    station.recording = False
    station.run()
    station.frame()
    station.mishap_at, station.mishap = station.steps + at_step, lambda: mishap(station.log_path)
    station.frame()
    came_to = station.steps >= station.mishap_at
    station.mishap_at = -1
    released = len(station.card.released)
    station.frame()
    found = ["a frame was released though its log is gone"] if came_to and len(station.card.released) > released else []
    try:
        station.end()
        found += ["the end says nothing of a log that is gone"] if came_to else []
    except LogError:
        (kept,) = root.glob("log.sqlite.kept*")
        for left in root.glob("log.sqlite-*"):
            left.unlink()
        kept.replace(station.log_path)
    at_s = station.clock.now_s + LONG_AFTER_S
    again = Station(root, station.card, station._disk.start, station._disk.operations, at_s)
    again.recording = False
    again.run()
    again.wait(LATE_FILE_S + 1)
    found += [f"{one}, after the next start" for one in violations(again)]
    again.frame()
    found += [f"{one}, after one more frame" for one in violations(again)]
    again.end()
    return found, came_to


def killed_after_move(root: Path, at_step: int) -> tuple[list[str], bool]:
    """The log is moved at a step of the second frame, and the program killed at its next one. Nobody begins a new log
    over what was written last; once the log is moved back the next run has everything.
    """
    station = Station(root, Card(), begin(root))
    station.recording = False
    station.run()
    station.frame()
    left: dict[Path, bytes] = {}

    def remember(what: str) -> None:
        if station.steps > station.mishap_at and not left:
            left.update((path, path.read_bytes()) for path in root.glob("*log.sqlite*"))

    station.mishap_at, station.mishap = station.steps + at_step, lambda: move_log(station.log_path)
    station.at_each_step = remember
    station.frame()
    came_to = station.steps >= station.mishap_at
    station.mishap_at, station.at_each_step = -1, lambda what: None
    if came_to:  # when that was the frame's last step, it is killed here
        remember("")
    with suppress(LogError):
        station.end()
    for path in root.glob("*log.sqlite*") if came_to else ():
        path.unlink()
    for path, data in left.items():
        path.write_bytes(data)
    found = _begun_anew(station.log_path) if came_to else []
    if came_to:
        (root / "moved-log.sqlite").replace(station.log_path)
    (root / "log.sqlite-shm").unlink(missing_ok=True)
    at_s = station.clock.now_s + LONG_AFTER_S
    again = Station(root, station.card, station._disk.start, station._disk.operations, at_s)
    again.recording = False
    again.run()
    again.wait(LATE_FILE_S + 1)
    found += [f"{one}, after the next start" for one in violations(again)]
    again.end()
    return found, came_to


def read_only_meanwhile(root: Path, at_step: int) -> tuple[list[str], bool]:
    """From a step of the second frame on the log can't be written, until the next start; likewise."""
    station = Station(root, Card(), begin(root))
    station.recording = False
    station.run()
    station.frame()
    station.mishap_at, station.mishap = station.steps + at_step, lambda: setattr(station.database, "read_only", True)
    station.frame()
    came_to, released = station.steps >= station.mishap_at, len(station.card.released)
    station.mishap_at = -1
    station.frame()
    refused = came_to and len(station.card.released) == released
    found = [] if refused or not came_to else ["a frame was released though its log can't be written"]
    station.end()
    at_s = station.clock.now_s + LONG_AFTER_S
    again = Station(root, station.card, station._disk.start, station._disk.operations, at_s)
    again.recording = False
    again.run()
    again.wait(LATE_FILE_S + 1)
    found += [f"{one}, after the next start" for one in violations(again)]
    again.frame()
    found += [f"{one}, after one more frame" for one in violations(again)]
    again.end()
    return found, came_to


def _begun_anew(log: Path) -> list[str]:
    """Whether a new log is begun where one has gone, over what was written to it last."""
    wal = log.with_name(f"{log.name}-wal")
    last = wal.read_bytes() if wal.exists() else b""
    if not last:
        return []
    with suppress(LogError):
        SqlLog.open(log).close()
        return ["a new log is begun over what was written last"]
    return [] if wal.read_bytes() == last and not log.exists() else ["something was written where the log has gone"]


def wrong_when_read_only(root: Path, moment: Moment) -> list[str]:
    """What a stop has left, on a disk that is read-only now: no shoot begins, and nothing changes."""
    lay_out(root, moment.log, moment.disk(Loss.NONE))
    with read_only(root):
        before = {path: path.read_bytes() for path in root.rglob("*") if path.is_file()}
        try:
            SqlLog.open(root / "log.sqlite").close()
            return ["a shoot begins on a log that can't be written"]
        except LogError as error:
            found = [] if "can't be written" in str(error) else [f"told as {error}"]
        after = {path: path.read_bytes() for path in root.rglob("*") if path.is_file()}
        return found if after == before else [*found, "something was written"]


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """The folder on a read-only mount of its own, which root minds too."""
    if os.geteuid():
        pytest.skip("only root may mount a folder read-only")
    done = subprocess.run(["mount", "--bind", str(folder), str(folder)], capture_output=True, check=False)
    if done.returncode:
        pytest.skip("nothing can be mounted here")
    try:
        subprocess.run(["mount", "-o", "remount,bind,ro", str(folder)], check=True)
        yield
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@contextmanager
def fast_folder(otherwise: Path) -> Iterator[Path]:
    """A folder in memory where there is one: what a power cut takes is worked out, so fsync needn't wait for a disk."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield otherwise / "station"
        return
    folder = Path(tempfile.mkdtemp(dir=memory))
    try:
        yield folder / "station"
    finally:
        shutil.rmtree(folder)
