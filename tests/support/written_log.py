"""A real log with a few invented frames in it, for tests of what looks back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from session.frame.camera_messages import CardObject, Reading, SavedFile
from session.frame.finding import Finding, FocusJudgement, FocusVerdict, Level
from session.frame.ports import Clock, Place, SystemClock
from session.frame.states import FrameEvent, Intent
from session.set.setup import Revision
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log

SERIAL = "invented-1"


@dataclass
class WrittenLog:
    """The writer, its reader, and the keys of the frames in it by number."""

    log: SqlLog
    reader: LogReader
    place: Place
    revision: Revision
    revision_id: str
    frame_ids: dict[int, str]

    def close(self) -> None:
        self.reader.close()
        self.log.close()


def written_log(
    path: Path,
    revision: Revision,
    reading: Reading,
    verdicts: Sequence[FocusVerdict],
    picture: Path | None = None,
    clock: Clock | None = None,
) -> WrittenLog:
    """One job with a frame for each verdict; every third one on a second revision with the key light a stop up."""
    log = fresh_log(path, clock)
    place = log.open_place("Invented movements", "barrel 6 of 24", "three-quarter", "Invented Client & Daughters")
    first = log.save_revision(place, revision)
    lights = tuple(replace(light, power_ev=light.power_ev + 1) if i == 0 else light
                   for i, light in enumerate(revision.lights))  # fmt: skip
    second = log.save_revision(place, replace(revision, revision=revision.revision + 1, lights=lights))
    frame_ids = {}
    for number, verdict in enumerate(verdicts, 1):
        frame_id = f"00000000-0000-4000-8000-{number:012d}"
        frame_ids[number] = frame_id
        key = second if number % 3 == 0 else first
        file = picture or path.parent / f"{number:04d}.jpg"
        _write_frame(log, place, frame_id, number, key, reading, verdict, file, path.parent, clock)
    return WrittenLog(log, LogReader.open(path), place, revision, first, frame_ids)


def _write_frame(
    log: SqlLog,
    place: Place,
    frame_id: str,
    number: int,
    revision_id: str,
    reading: Reading,
    verdict: FocusVerdict,
    file: Path,
    folder: Path,
    clock: Clock | None = None,
) -> None:
    now = (clock or SystemClock()).now()
    log.begin_frame(Intent(frame_id, number, revision_id, SERIAL, str(folder), f"{number:04d}", now), place)
    log.frame_reading(frame_id, reading)
    log.move_frame(frame_id, FrameEvent.FIRED, released_at=now)
    name = f"IMG{number:04d}.JPG"
    path = str(file) if number == 1 else f"{file}.{number}.jpg"
    log.frame_file(frame_id, SavedFile(path, "jpeg", 1000 + number, f"{number:064x}", CardObject("/card", name, 1000)))
    log.move_frame(frame_id, FrameEvent.ALL_SAVED)
    off = verdict in (FocusVerdict.SOFT, FocusVerdict.MISSED)
    blur_px = {FocusVerdict.SHARP: 0.4, FocusVerdict.SOFT: 3.1, FocusVerdict.MISSED: 7.3}.get(verdict)
    text = f"blur {blur_px} px in the region against a limit of 2.0 px."
    found = (Finding("focus", Level.CAUTION, text, blur_px, 2.0, "px"),) if off else ()
    log.frame_judged(frame_id, found, FocusJudgement(verdict, blur_px, 0.2, 0.31 if off else None, 0.5))
    log.move_frame(frame_id, FrameEvent.JUDGED)


def add_frame(
    log: WrittenLog,
    number: int,
    verdict: FocusVerdict,
    reading: Reading,
    picture: Path,
    clock: Clock | None = None,
) -> None:
    """One more frame of the first revision."""
    frame_id = log.frame_ids[number] = f"00000000-0000-4000-8000-{number:012d}"
    _write_frame(
        log.log, log.place, frame_id, number, log.revision_id, reading, verdict, picture, picture.parent, clock
    )
