"""A shoot stopped after each of its steps: log, plan and disk together put it right, whatever the step.

The card is a list and a fetch is a copy; log, plan, files and the look on the disk are the real ones.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from session.cameras.saving import SystemDisk, save
from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.ports import Place
from session.frame.states import UNSETTLED, FrameEvent, FrameState, Intent, ReleasedBy
from session.shoot import reconcile
from session.shoot.disk import clear_leftovers, files_of
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameRecord
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import NOON, SERIAL, SetClock, intent, revision

FOLDER = "/store_00010001/DCIM/100STILL"
KINDS = {"JPG": b"\xff\xd8\xff\xda\x00\x02picture %d%s\xff\xd9", "BIN": b"raw of picture %d"}


def content(ending: str, number: int, one_size: bool) -> bytes:
    """JPEGs differ in size from picture to picture, uncompressed raws don't."""
    padding = b"" if one_size else b"." * (number % 100)
    return KINDS[ending] % ((number, padding) if ending == "JPG" else (number,))


class Shoot:
    """Three frames by the tool and one by the body, as steps that can be stopped between any two."""

    def __init__(self, root: Path, one_size: bool = False) -> None:
        self.root = root
        self.one_size = one_size
        self.card: dict[CardObject, bytes] = {}
        self.clock = SetClock()
        self.released: list[int] = []
        self.log = fresh_log(root / "log.sqlite", self.clock)
        self.place: Place = self.log.open_place("Movement", "Bridge", "top")
        self.revision_id = self.log.save_revision(self.place, revision())
        self.old = self._make(9998)
        self.log.note_card(SERIAL, self.old)

    def _make(self, number: int) -> list[CardObject]:
        """The camera writes raw and JPEG of a release; numbers begin again after 9999."""
        made = []
        for ending in KINDS:
            data = content(ending, number, self.one_size)
            card_object = CardObject(FOLDER, f"STIL{(number - 1) % 9999 + 1:04d}.{ending}", len(data), float(number))
            self.card[card_object] = data
            made.append(card_object)
        return made

    def steps(self) -> list[tuple[str, Callable[[], object]]]:
        found: list[tuple[str, Callable[[], object]]] = []
        for n in (1, 2):
            found += self._frame(n, 9998 + n)
        found.append(("released on the camera", lambda: (self.released.append(10001), self._make(10001))))
        return found + self._frame(3, 10002)

    def _frame(self, number: int, on_card: int) -> list[tuple[str, Callable[[], object]]]:
        wish = self._intent(number)
        files: list[SavedFile] = []

        def fetch(which: int) -> None:
            card_object = list(self.card)[[o.modified_at for o in self.card].index(float(on_card)) + which]
            files.append(self.fetched(card_object, wish.folder, wish.stem))

        def half(which: int) -> None:
            (self.root / "p").mkdir(exist_ok=True)
            (self.root / "p" / f".{wish.stem}.{list(KINDS)[which]}.part").write_bytes(b"half")

        key = wish.frame_id
        return [
            ("row", lambda: self.log.begin_frame(wish, self.place)),
            ("shutter", lambda: (self.released.append(on_card), self._make(on_card))),
            ("fired", lambda: self.log.move_frame(key, FrameEvent.FIRED, released_at=NOON)),
            ("half a JPEG", lambda: half(0)),
            ("JPEG", lambda: (clear_leftovers(wish.folder, wish.stem), fetch(0))),
            ("row of the JPEG", lambda: self.log.frame_file(key, files[0])),
            ("half a raw", lambda: half(1)),
            ("raw", lambda: (clear_leftovers(wish.folder, wish.stem), fetch(1))),
            ("row of the raw", lambda: self.log.frame_file(key, files[1])),
            ("saved", lambda: self.log.move_frame(key, FrameEvent.ALL_SAVED)),
            ("logged", lambda: self.log.move_frame(key, FrameEvent.JUDGED)),
        ]

    def _intent(self, number: int, released_by: ReleasedBy = ReleasedBy.TOOL) -> Intent:
        return intent(
            number,
            self.revision_id,
            folder=str(self.root / "p"),
            stem=f"{number:04d}-top-07.3",
            asked_at=self.clock.now(),
            released_by=released_by,
        )

    def fetched(self, card_object: CardObject, folder: str, stem: str) -> SavedFile:
        (self.root / "p").mkdir(exist_ok=True)
        return save(self.card[card_object], card_object, folder, stem, SystemDisk())

    # --- the next start ---------------------------------------------------------------------------

    def restart(self) -> None:
        """The process is gone; another opens the log and carries the plan out."""
        self.log.close()
        self.log = SqlLog.open(self.root / "log.sqlite", self.clock)
        left = {frame.frame_id: frame for frame in self.log.unsettled_frames(SERIAL)}
        on_disk = {frame.frame_id: files_of(frame.intent.folder, frame.intent.stem) for frame in left.values()}
        for frame in left.values():
            clear_leftovers(frame.intent.folder, frame.intent.stem)
        known = self.log.known_card_objects(SERIAL)
        steps = reconcile.plan(list(left.values()), on_disk, list(self.card), known, self.log.is_new_camera(SERIAL))
        for step in steps:
            self._carry_out(step, {key: (frame.intent.folder, frame.intent.stem) for key, frame in left.items()})

    def _carry_out(self, step: reconcile.Step, where: dict[str, tuple[str, str]]) -> None:
        match step:
            case reconcile.AdoptFile(key, file):
                self.log.frame_file(key, file)
            case reconcile.FetchObjects(key, objects):
                for card_object in objects:
                    self.log.frame_file(key, self.fetched(card_object, *where[key]))
                self._move(step, key)
                self._finish(key)
            case reconcile.Complete(key):
                self._move(step, key)
                self.log.move_frame(key, FrameEvent.JUDGED)
            case reconcile.NotFired(key, text) | reconcile.Missing(key, text) | reconcile.Unsure(key, text):
                self._move(step, key, text)
            case reconcile.BodyFrame(objects):
                wish = self._intent(self.log.next_frame_number(self.place), ReleasedBy.BODY)
                self.log.begin_frame(wish, self.place)
                self.log.move_frame(wish.frame_id, FrameEvent.FIRED)
                for card_object in objects:
                    self.log.frame_file(wish.frame_id, self.fetched(card_object, wish.folder, wish.stem))
                self._finish(wish.frame_id)

    def _move(self, step: reconcile.Step, key: str, text: str = "") -> None:
        (state,) = [frame.state for frame in self.log.unsettled_frames(SERIAL) if frame.frame_id == key]
        for event in reconcile.moves(step, state):
            self.log.move_frame(key, event, text)

    def _finish(self, frame_id: str) -> None:
        self.log.move_frame(frame_id, FrameEvent.ALL_SAVED)
        self.log.move_frame(frame_id, FrameEvent.JUDGED)

    def frames(self) -> list[FrameRecord]:
        reader = LogReader.open(self.root / "log.sqlite")
        found = list(reader.records())
        reader.close()
        return found


STEPS = 3 * 11 + 1


@pytest.mark.parametrize("one_size", [False, True])
@pytest.mark.parametrize("stop_after", range(STEPS + 1))
def test_shoot_stopped_anywhere_is_put_right_at_the_next_start(tmp_path: Path, stop_after: int, one_size: bool) -> None:
    """With pictures all of one size a file on the disk can't always be told, but no release is lost or doubled."""
    shoot = Shoot(tmp_path, one_size)
    steps = shoot.steps()
    assert len(steps) == STEPS
    for _, step in steps[:stop_after]:
        step()
    shoot.restart()
    check(shoot)
    before = [(frame.frame_id, frame.state, len(frame.files)) for frame in shoot.frames()]
    shoot.restart()
    assert [(frame.frame_id, frame.state, len(frame.files)) for frame in shoot.frames()] == before
    shoot.log.close()


def check(shoot: Shoot) -> None:
    """Every release is exactly one frame with both its files, whole, and nothing else is in the log or on disk."""
    frames = shoot.frames()
    fired = [frame for frame in frames if frame.fired is Fired.YES]
    assert {frame.state for frame in fired} <= {FrameState.LOGGED}
    assert {frame.state for frame in frames if frame not in fired} <= {FrameState.NOT_FIRED}
    held = []
    for frame in fired:
        contents = [Path(file.path).read_bytes() for file in frame.files]
        assert [hashlib.sha256(data).hexdigest() for data in contents] == [file.sha256 for file in frame.files]
        held.append(sorted(contents))
    wanted = [sorted(content(kind, number, shoot.one_size) for kind in KINDS) for number in shoot.released]
    assert sorted(held) == sorted(wanted)
    if shoot.one_size:
        return
    named = sorted(file.path for frame in frames for file in frame.files)
    on_disk = sorted(str(path) for path in (shoot.root / "p").iterdir()) if named else []
    assert on_disk == named
    for frame in fired:
        number = int(frame.stem[:4])
        by_tool = frame.released_by is ReleasedBy.TOOL
        assert number == frame.number and (not by_tool or number in (1, 2, 3))


def test_frames_keep_their_pictures_through_the_restart(tmp_path: Path) -> None:
    """The last step but one of each frame: the picture of frame n is that of the n-th release by the tool."""
    shoot = Shoot(tmp_path)
    for _, step in shoot.steps()[: 11 + 4]:
        step()
    shoot.restart()
    contents = [[Path(file.path).read_bytes() for file in frame.files] for frame in shoot.frames()]
    assert contents == [[content(kind, n, False) for kind in KINDS] for n in (9999, 10000)]
    shoot.log.close()


@pytest.mark.parametrize("sought", [False, True])
@pytest.mark.parametrize("fired", list(Fired))
@pytest.mark.parametrize("state", sorted(UNSETTLED))
@pytest.mark.parametrize("steps_done", [1, 2, 6])
def test_log_of_before_the_table_was_the_only_door_is_put_right(
    tmp_path: Path, state: FrameState, fired: Fired, sought: bool, steps_done: int
) -> None:
    """Earlier programs wrote states past the table; whatever stands there, the next start brings it to an end."""
    shoot = Shoot(tmp_path)
    for _, step in shoot.steps()[:steps_done]:
        step()
    shoot.log.close()
    with closing(sqlite3.connect(tmp_path / "log.sqlite")) as old, old:
        values = (state, fired, "2026-05-04 12:00:00.000000" if sought else None)
        old.execute("UPDATE frame SET state = ?, fired = ?, sought_at = ?", values)
    shoot.log = SqlLog.open(tmp_path / "log.sqlite", shoot.clock)
    shoot.restart()
    (frame, *_) = shoot.frames()
    at_rest = {FrameState.LOGGED, FrameState.NOT_FIRED, FrameState.MISSING}
    ends = at_rest | ({state} if sought else set())  # sought in vain, a frame stays until something of it turns up
    assert frame.state in ends
    shoot.log.close()
