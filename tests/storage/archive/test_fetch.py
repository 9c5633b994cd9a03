"""What is fetched can be looked at and shot again, and is the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from session.frame.ports import KeptPeak
from session.frame.states import FrameEvent
from session.frame.step_said import StepWord
from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.reading.log_reader import LogReader
from storage.reading.verify import Trouble, digest_of, verify
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SetClock, intent, revision, saved_file
from tests.support.station_logs import FRAMES, station, told


def test_set_up_fetched_to_an_empty_station_is_the_same(one: Path, tmp_path: Path, archive: str) -> None:
    send(one, archive, station="table 1")
    empty = tmp_path / "three.sqlite"
    heard: list[tuple[int, int]] = []
    fetched = fetch(empty, archive, job="movement", tell=lambda done, of: heard.append((done, of)))
    assert fetched.frames == FRAMES and heard[-1] == (FRAMES, FRAMES)
    assert told(empty) == told(one)
    reader = LogReader.open(empty)
    found = reader.revision("movement", "07.3")
    assert found is not None and found[0] == revision(7, 3)
    assert reader.setups("movement")[0].references == {"Bridge": FRAMES}
    reader.close()
    again = fetch(empty, archive)
    assert (again.frames, again.told) == (0, [])
    assert not any(send(empty, archive).new.values())
    assert told(archive) == told(one)


def test_files_of_another_station_are_held_against_the_log_only_where_they_lie(tmp_path: Path, archive: str) -> None:
    log = SqlLog.open(tmp_path / "one.sqlite", SetClock())
    place = log.open_place("Movement", "Bridge", "top")
    key = log.save_revision(place, revision())
    files = [tmp_path / "theirs" / f"{number:04d}.JPG" for number in (1, 2)]
    files[0].parent.mkdir()
    for number, file in enumerate(files, 1):
        wish = intent(number, key)
        log.begin_frame(wish, place)
        log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=NOON)
        file.write_bytes(b"picture")
        saved = replace(saved_file(number, size=7), path=str(file), sha256=digest_of(file))
        log.frame_file(wish.frame_id, saved)
        log.move_frame(wish.frame_id, FrameEvent.ALL_SAVED)
    log.close()
    send(tmp_path / "one.sqlite", archive)
    fetch(tmp_path / "two.sqlite", archive)
    assert list(verify(tmp_path / "two.sqlite")) == []
    files[0].write_bytes(b"changed")
    files[1].unlink()
    found = [(trouble.trouble, trouble.number) for trouble in verify(tmp_path / "two.sqlite")]
    assert found == [(Trouble.CHANGED, 1)], "the second may lie at its own station alone"
    found = [(trouble.trouble, trouble.number) for trouble in verify(tmp_path / "one.sqlite")]
    assert found == [(Trouble.CHANGED, 1), (Trouble.MISSING, 2)]


def test_peak_of_live_view_and_words_on_steps_come_along_with_their_set_up(
    one: Path, tmp_path: Path, archive: str
) -> None:
    log = SqlLog.open(one, SetClock(NOON + timedelta(days=2)))
    place = log.open_place("movement", "bridge", "top")
    peak = KeptPeak(4.25, revision().region, 1024, NOON)
    log.keep_peak(place, 7, peak)
    reader = LogReader.open(one)
    found = reader.revision("movement", "07.3")
    reader.close()
    assert found is not None
    key = found[1]
    log.say_of_step(place, key, "light key", StepWord.SKIPPED, "no grid")
    log.close()
    send(one, archive)
    empty = tmp_path / "three.sqlite"
    fetch(empty, archive, job="movement")
    log = SqlLog.open(empty, SetClock())
    assert log.kept_peak(log.open_place("movement", "bridge", "top"), 7) == peak
    (said,) = log.steps_said(log.open_place("movement", "bridge", "top"), key)
    assert (said.step, said.word, said.reason) == ("light key", StepWord.SKIPPED, "no grid")
    log.close()


def test_fetch_that_is_cut_keeps_what_was_renamed(one: Path, tmp_path: Path, archive: str) -> None:
    send(one, archive, station="table 1")
    namesake = tmp_path / "two.sqlite"
    station(namesake, "MOVEMENT", days=1, frames=3)
    told = fetch(namesake, archive).told
    assert told == ["The job Movement is called Movement (table 1) here: its name was taken."]
    reader = LogReader.open(namesake)
    assert [event.text for event in reader.events() if event.kind == "fetched"] == told
    reader.close()
