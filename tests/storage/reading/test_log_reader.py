"""Looking things up: each field of the filter, words in any alphabet, many frames, and the JSON line."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from session.frame.finding import FocusVerdict
from session.frame.ports import Place
from session.frame.states import FrameState
from storage.reading import frame_search
from storage.reading.json_lines import frame_object, line
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.writing.log import SqlLog
from tests.support.log_samples import MISSED, NOON, READING, SYNC, intent, revision, saved_file, whole_frame

EVERY_WAY = [
    FrameFilter(text="bridge"),
    FrameFilter(text="band"),
    FrameFilter(text="key", verdict=FocusVerdict.MISSED),
    FrameFilter(text="screw bridge", mark="hero"),
    FrameFilter(light="key"),
    FrameFilter(view="top", until=NOON + timedelta(days=4)),
    FrameFilter(piece="bridge", since=NOON + timedelta(days=1), until=NOON + timedelta(days=2)),
    FrameFilter(power_ev_to=-2.5, state=FrameState.LOGGED),
]


@pytest.mark.parametrize("few", [0, 20_000])
@pytest.mark.parametrize("wanted", EVERY_WAY)
def test_newest_few_are_the_end_of_all(
    shoot: LogReader, wanted: FrameFilter, few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(frame_search, "FEW", few)
    every = [frame.frame_id for frame in shoot.frames(wanted, newest_first=True)]
    assert every
    for limit in range(1, 6):
        assert [f.frame_id for f in shoot.frames(wanted, newest_first=True, limit=limit)] == every[:limit]


def test_frames_come_by_number_also_where_the_clock_went_back(log: SqlLog, reader: LogReader, place: Place) -> None:
    other = log.open_place("Type", "Tray", "top")
    of_place = {where: log.save_revision(where, revision()) for where in (place, other)}
    for number, hours in enumerate((3, 0, 2, 1), 1):
        for where, key in of_place.items():
            whole_frame(log, where, number, key, asked_at=NOON + timedelta(hours=hours))
    assert [(frame.job, frame.number) for frame in reader.frames()] == [
        (where.job, number) for where in of_place for number in range(1, 5)
    ]
    assert [frame.number for frame in reader.frames(FrameFilter(job="type"), newest_first=True)] == [4, 3, 2, 1]


def test_newest_come_first_and_as_many_as_asked_for(shoot: LogReader) -> None:
    assert [frame.number for frame in shoot.frames(newest_first=True, limit=2)] == [1, 4]
    movement = FrameFilter(job="movement")
    assert [frame.number for frame in shoot.frames(movement, newest_first=True)] == [4, 3, 2, 1]


def test_frame_is_found_by_job_and_number(shoot: LogReader) -> None:
    frame = shoot.frame_numbered("TYPE", 1)
    assert frame is not None and (frame.piece, frame.setup) == ("Tray", "01.1")
    assert shoot.frame(frame.frame_id) == frame
    assert shoot.frame_numbered("type", 2) is None
    assert shoot.frame("no such frame") is None


def test_jobs_come_with_what_is_in_them_the_last_first(shoot: LogReader) -> None:
    told = [(job.name, job.client, job.piece_count, job.frame_count) for job in shoot.jobs()]
    assert told == [("Type", "", 1, 1), ("Movement", "Uhren Müller", 2, 4)]
    assert shoot.jobs()[0].last_at == NOON + timedelta(days=4)


def test_set_ups_come_with_their_latest_revision_and_references(log: SqlLog, shoot: LogReader) -> None:
    (place,) = [place for place in shoot.places("movement") if place.piece == "Wheel"]
    hero = shoot.frame_numbered("movement", 4)
    assert hero is not None
    log.set_reference(place, 1, hero.frame_id)
    (setup,) = shoot.setups("movement")
    assert (setup.number, setup.latest.label, setup.revision_count, setup.frame_count) == (1, "01.2", 2, 4)
    assert setup.references == {"Wheel": 4}
    approved = shoot.frame(hero.frame_id)
    assert approved is not None and approved.references == (1,)
    assert shoot.setups("no such job") == ()


def test_last_place_is_the_one_opened_last(log: SqlLog, shoot: LogReader) -> None:
    last, last_of_movement = shoot.last_place(), shoot.last_place("movement")
    assert last is not None and (last.job, last.piece) == ("Type", "Tray")
    assert last_of_movement is not None and last_of_movement.piece == "Wheel"
    log.open_place("Movement", "Bridge", "three-quarter")
    again = shoot.last_place()
    assert again is not None and again.piece == "Bridge"
    assert shoot.last_place("no such job") is None


def test_last_place_of_an_empty_log_is_none(reader: LogReader) -> None:
    assert reader.last_place() is None
    assert (reader.jobs(), reader.places(), list(reader.frames())) == ((), (), [])


def test_events_are_told_in_order(shoot: LogReader) -> None:
    assert [event.text for event in shoot.events("revision")] == ["set-up 01.1", "set-up 01.2", "set-up 01.1"]
    times = [event.at for event in shoot.events()]
    assert times == sorted(times) and len(times) > 8


def test_more_frames_than_one_page_come_once_each_and_in_order(log: SqlLog, reader: LogReader, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    with log._database.transaction() as connection:
        from storage.writing import frames

        for number in range(1, 1104):
            frames.begin(connection, intent(number, revision_id), place, NOON)
    assert [frame.number for frame in reader.records()] == list(range(1, 1104))
    assert [frame.number for frame in reader.frames()] == list(range(1, 1104))


def test_frames_that_come_while_a_search_runs_do_not_disturb_it(log: SqlLog, reader: LogReader, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    whole_frame(log, place, 1, revision_id)
    running = reader.frames()
    first = next(running)
    whole_frame(log, place, 2, revision_id)
    assert (first.number, [frame.number for frame in running]) == (1, [])
    assert [frame.number for frame in reader.frames()] == [1, 2]


def test_json_line_says_what_the_log_holds(log: SqlLog, reader: LogReader, place: Place) -> None:
    frame_id = whole_frame(log, place, 42, log.save_revision(place, revision()), overrulings={"sync": "on purpose"})
    log.frame_findings(frame_id, [SYNC])
    log.mark(frame_id, "select")
    log.note(frame_id, "a note")
    frame = reader.frame(frame_id)
    assert frame is not None
    told = json.loads(line(frame))
    assert "\n" not in line(frame)
    assert told == frame_object(frame)
    plain = {name: told[name] for name in ("frame_id", "number", "job", "piece", "view", "setup", "state", "mark")}
    assert plain == {
        "frame_id": frame_id,
        "number": 42,
        "job": "Movement",
        "piece": "Bridge",
        "view": "three-quarter",
        "setup": "07.3",
        "state": "logged",
        "mark": "select",
    }
    assert (told["released_by"], told["released_at"]) == ("tool", "2026-05-04T12:00:42+00:00")
    file = saved_file(42)
    assert told["files"] == [{"path": file.path, "kind": "jpeg", "bytes": 1000, "sha256": file.sha256, "copies": []}]
    assert told["camera"]["exposure_s"] == 1 / 200 and told["camera"]["f_number"] == 11.0
    assert told["lights"][0] == {
        "name": "key",
        "power_ev": -2.0,
        "distance_mm": 620.0,
        "azimuth_deg": 45.0,
        "elevation_deg": 30.0,
        "distance_sd_mm": 5.8,
        "azimuth_sd_deg": 1.2,
        "elevation_sd_deg": 0.8,
        "shaper": "tube",
        "note": "cable to the left",
        "width_mm": 90.0,
        "height_mm": 80.0,
    }
    assert told["findings"][0] == {
        "id": "sync",
        "level": "stop",
        "value": 1 / 500,
        "limit": 1 / 200,
        "unit": "s",
        "text": "1/500 s is shorter than the 1/200 s sync time.",
        "kind": None,
    }
    assert (told["focus"]["verdict"], told["focus"]["blur_px"], told["focus"]["defocus_mm"]) == ("missed", 4.2, 0.31)
    assert told["overrulings"] == [{"id": "sync", "reason": "on purpose"}]
    assert told["notes"] == ["a note"]


def test_json_line_is_plain_ascii_without_numbers_that_json_lacks(log: SqlLog, reader: LogReader, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    log.frame_reading(wish.frame_id, READING)
    log.frame_findings(wish.frame_id, [replace(SYNC, value=float("inf"))])
    log.note(wish.frame_id, "\x1b[2J \x9b31m \N{RIGHT-TO-LEFT OVERRIDE} \udc80 \0")
    log.frame_judged(wish.frame_id, [], MISSED)
    frame = reader.frame(wish.frame_id)
    assert frame is not None
    written = line(frame)
    assert written.isascii() and written.isprintable()
    assert json.loads(written)["notes"] == [frame.notes[0].text]
    assert json.loads(written)["findings"][0]["value"] is None
