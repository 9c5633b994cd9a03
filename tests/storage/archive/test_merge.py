"""Where two stations say two things: the later act counts, and taken names and numbers move on."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SetClock, revision, whole_frame
from tests.support.station_logs import FRAMES, station, told


def test_later_act_counts_whichever_station_sends_first(one: Path, tmp_path: Path, archive: str) -> None:
    send(one, archive)
    other = tmp_path / "two.sqlite"
    fetch(other, archive)
    frame_id = next(iter(told(one)))
    for path, day, mark in ((other, 3, "kill"), (one, 2, "hero")):  # the earlier act comes to the archive later
        log = SqlLog.open(path, SetClock(NOON + timedelta(days=day)))
        log.mark(frame_id, mark)
        log.note(frame_id, f"said on day {day}")
        log.close()
        send(path, archive)
    for path in (one, other):
        fetch(path, archive)
    frames = [told(log)[frame_id][0] for log in (archive, one, other)]  # type: ignore[index]
    assert [frame["mark"] for frame in frames] == ["kill"] * 3
    assert {note for note in frames[0]["notes"]} == {note for note in frames[1]["notes"]}
    assert {"said on day 2", "said on day 3"} < set(frames[2]["notes"])


def test_names_and_numbers_that_are_taken_move_on(one: Path, tmp_path: Path, archive: str) -> None:
    send(one, archive, station="table 1")
    namesake = tmp_path / "two.sqlite"
    station(namesake, "MOVEMENT", days=1, frames=3)
    done = send(namesake, archive, station="table 2")
    assert done.told == ["The job MOVEMENT is called MOVEMENT (table 2) there: its name was taken."]
    reader = LogReader.open(archive)
    assert {(job.name, job.frame_count) for job in reader.jobs()} == {("Movement", FRAMES), ("MOVEMENT (table 2)", 3)}
    reader.close()
    fetch(namesake, archive)
    reader = LogReader.open(namesake)
    assert {job.name for job in reader.jobs()} == {"MOVEMENT", "Movement (table 1)"}
    reader.close()


def test_frames_shot_at_two_stations_in_one_job_keep_apart(one: Path, tmp_path: Path, archive: str) -> None:
    send(one, archive)
    other = tmp_path / "two.sqlite"
    fetch(other, archive)
    for path, days in ((one, 2), (other, 3)):
        log = SqlLog.open(path, SetClock(NOON + timedelta(days=days)))
        place = log.open_place("Movement", "Bridge", "three-quarter")
        key = log.save_revision(place, revision(7, 4))
        assert log.next_frame_number(place) == FRAMES + 1
        asked = NOON + timedelta(days=days)
        whole_frame(log, place, FRAMES + 1, key, asked_at=asked, folder=f"/pictures/{path.stem}")
        log.close()
    send(one, archive)
    assert send(other, archive).told == [
        "Revision 4 is 5 there: its number was taken.",
        f"Frame {FRAMES + 1} is {FRAMES + 2} there: its number was taken.",
    ]
    reader = LogReader.open(archive)
    assert [frame.number for frame in reader.frames(FrameFilter(job="movement"))] == list(range(1, FRAMES + 3))
    last = reader.frame_numbered("movement", FRAMES + 2)
    assert last is not None and last.stem.startswith(f"{FRAMES + 1:04d}-") and last.setup == "07.5"
    reader.close()
    fetch(one, archive)
    assert len(told(one)) == FRAMES + 2
