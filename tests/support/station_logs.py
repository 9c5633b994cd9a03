"""Logs of two stations, each with a job of some frames, for tests of the archive."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from session.frame.ports import Place
from storage.reading.json_lines import frame_object
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import NOON, SYNC, SetClock, revision, whole_frame

FRAMES = 9


def station(path: Path, job: str, *, days: int = 0, frames: int = FRAMES) -> Place:
    """A station's log with a job of some frames, acts of people and an overruling."""
    log = fresh_log(path, SetClock(NOON + timedelta(days=days)))
    place = log.open_place(job, "Bridge", "three-quarter", "an invented client")
    key = log.save_revision(place, revision(7, 3))
    for number in range(1, frames + 1):
        asked = NOON + timedelta(days=days, minutes=number)
        folder = f"/pictures/{path.stem}"
        frame_id = whole_frame(log, place, number, key, asked_at=asked, folder=folder, overrulings={"sync": "wanted"})
        log.frame_findings(frame_id, [SYNC])
        log.note(frame_id, f"colder, {path.stem} {number} \x1b[2J \udcff \0 \\")
        if number % 3 == 0:
            log.mark(frame_id, "select")
    log.set_reference(place, 7, frame_id)
    log.close()
    return place


def told(log: Path | str, wanted: FrameFilter | None = None) -> dict[str, object]:
    """Frame's key → all that the JSON line says, and the numbers of set-ups whose reference it is."""
    reader = LogReader.open(log)
    try:
        found = reader.records(wanted or FrameFilter())
        return {frame.frame_id: (frame_object(frame), frame.revision, frame.references) for frame in found}
    finally:
        reader.close()
