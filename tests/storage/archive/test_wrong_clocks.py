"""Stations whose clocks are wrong: what was done last, as people saw it, is in force everywhere."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from session.frame.ports import Place, Standing
from session.frame.states import Mark
from storage.archive import clocks
from storage.archive.archive_database import ArchiveUnreachableError
from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.archive.status import status
from storage.reading.json_lines import frame_object
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SetClock, revision
from tests.support.postgres_server import Cable, Server
from tests.support.station_logs import station

FAST = timedelta(days=2)


def marks(log: Path | str) -> dict[str, str | None]:
    reader = LogReader.open(log)
    try:
        return {frame.frame_id: frame.mark for frame in reader.frames()}
    finally:
        reader.close()


def test_what_was_marked_after_seeing_another_stations_mark_stays_everywhere(
    one: Path, tmp_path: Path, archive: str
) -> None:
    send(one, archive)
    two = tmp_path / "two.sqlite"
    fetch(two, archive)
    frame_id = next(iter(marks(one)))
    for path, ahead, mark in ((two, FAST, "hero"), (one, timedelta(0), "kill")):
        fetch(path, archive)
        log = SqlLog.open(path, SetClock(NOON + timedelta(days=3) + ahead))
        log.mark(frame_id, mark)
        log.close()
        send(path, archive)
    for path in (one, two):
        fetch(path, archive)
    assert [marks(log)[frame_id] for log in (archive, one, two)] == ["kill"] * 3


def test_undo_takes_back_what_this_station_did_last_though_the_others_clock_is_ahead(
    one: Path, tmp_path: Path, archive: str
) -> None:
    send(one, archive)
    two = tmp_path / "two.sqlite"
    fetch(two, archive)
    first, second, *_ = marks(one)
    log = SqlLog.open(two, SetClock(NOON + FAST + timedelta(days=3)))
    log.mark(first, "hero")
    log.close()
    send(two, archive)
    fetch(one, archive)
    log = SqlLog.open(one, SetClock(NOON + timedelta(days=3)))
    log.mark(second, "kill")
    log.undo_last(log.open_place("Movement", "Bridge", "three-quarter"))
    log.close()
    assert (marks(one)[first], marks(one)[second]) == ("hero", None)


def test_view_goes_on_with_what_was_chosen_last_though_the_clock_was_set_back(tmp_path: Path) -> None:
    clock = SetClock(NOON + FAST)
    log = SqlLog.open(tmp_path / "one.sqlite", clock)
    place = log.open_place("Movement", "Bridge", "top")
    before = Standing(revision(7, 3), log.save_revision(place, revision(7, 3)))
    log.choose(place, before)
    clock.at = NOON
    chosen = log.arrange(place, before, Standing(revision(8, 1), ""))
    found = log.standing(place)
    assert found is not None and found.revision == chosen.revision != before.revision
    log.close()


def test_times_are_the_clocks_own_where_nothing_later_is_known(tmp_path: Path) -> None:
    clock = SetClock(NOON + FAST)
    log = SqlLog.open(tmp_path / "one.sqlite", clock)
    for job in ("Movement", "Type"):
        place = log.open_place(job, "Bridge", "top")
        log.save_revision(place, revision(7, 3))
        clock.at = NOON + timedelta(hours=1)
    log.close()
    reader = LogReader.open(tmp_path / "one.sqlite")
    times = [event.at for event in reader.events() if event.kind == "revision"]
    reader.close()
    assert sorted(times)[0] < NOON + timedelta(hours=2) < NOON + FAST < sorted(times)[1], (
        "another job's clock is its own"
    )


CUTS, TURNS, SEED = 30, 15, 20261130
CLOCKS = (timedelta(0), timedelta(hours=2), -FAST)
"""How far the three stations' clocks are ahead."""


def surely(step: Callable[[], object]) -> int:
    """Do it again until the connection holds; how often it was lost."""
    lost = 0
    while True:
        try:
            step()
            return lost
        except ArchiveUnreachableError:
            lost += 1


def act(log: SqlLog, place: Place, frames: list[str], chance: random.Random) -> None:
    """Something that a person does to one of the frames."""
    frame_id = chance.choice(frames)
    match chance.randrange(6):
        case 0 | 1:
            log.mark(frame_id, chance.choice([*Mark, None]))
        case 2:
            log.note(frame_id, f"said {chance.random():.6f}")
        case 3:
            log.set_reference(place, 7, frame_id)
        case 4:
            log.undo_last(place)
        case 5:
            log.redo(place)


def all_that_is_said(log: Path | str) -> object:
    """What acts of people leave in force: marks, notes, references, client, and what the views go on with."""
    reader = LogReader.open(log)
    try:
        frames = {frame.frame_id: (frame_object(frame), frame.references) for frame in reader.records()}
        return frames, [(job.name, job.client) for job in reader.jobs()], reader.setups("movement")
    finally:
        reader.close()


@pytest.fixture
def cable(server: Server) -> Iterator[Cable]:
    made = Cable(server.port, 0, random.Random(SEED), within_bytes=1e4)
    yield made
    made.close()


def test_three_stations_with_three_clocks_end_with_what_the_archive_says_over_a_cable_cut_thirty_times(
    tmp_path: Path, server: Server, database: str, archive: str, cable: Cable, monkeypatch: pytest.MonkeyPatch
) -> None:
    logs = [tmp_path / f"{number}.sqlite" for number in range(3)]
    station(logs[0], "Movement")
    frames = [*marks(logs[0])]
    send(logs[0], archive)
    through, chance, lost, turn = server.address(database, port=cable.port), random.Random(SEED), 0, 0
    started = NOON + timedelta(days=10)
    while turn < TURNS or cable.left > 0:
        log, ahead = logs[turn % 3], CLOCKS[turn % 3]
        cable.left = max(cable.left, 0) + (CUTS // TURNS if turn < TURNS else 0)
        lost += surely(lambda log=log: fetch(log, through))  # type: ignore[misc]
        writing = SqlLog.open(log, SetClock(started + timedelta(minutes=turn) + ahead))
        place = writing.open_place("Movement", "Bridge", "three-quarter", f"client {chance.randrange(3)}")
        for _ in range(3):
            act(writing, place, frames, chance)
        writing.close()
        shown = marks(log)
        lost += surely(lambda log=log: send(log, through))  # type: ignore[misc]
        assert marks(archive) == shown, f"the archive says what the person of turn {turn} saw last"
        turn += 1
    for log in logs:
        fetch(log, archive)
    assert lost >= CUTS // 2, "the others fell on a connection that was done"
    assert [all_that_is_said(log) for log in logs] == [all_that_is_said(archive)] * 3


def test_clock_that_is_off_is_told_with_its_size(one: Path, tmp_path: Path, archive: str) -> None:
    def ahead(days: int) -> SetClock:
        return SetClock(datetime.now(UTC) + timedelta(days=days, hours=3, minutes=30))

    said = "This station's clock is 2 d 3 h ahead of the archive's: set it right."
    assert send(one, archive).told == []
    assert [line.partition(" Acts")[0] for line in send(one, archive, clock=ahead(2)).told] == [said]
    assert (
        fetch(tmp_path / "two.sqlite", archive, clock=ahead(-3))
        .told[0]
        .startswith("This station's clock is 2 d 20 h behind the archive's: set it right.")
    )
    looked = status(one, archive)
    assert looked.told == () and looked.stations[0].clock_ahead_s == pytest.approx(51.5 * 3600, abs=60)
    assert status(one, archive, ahead(2)).told[0].startswith(said)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.4, "0 s"), (-4.2, "4 s"), (128, "2 min 8 s"), (7200, "2 h"), (-183_900, "2 d 3 h"), (86_399.6, "1 d")],
)
def test_size_of_a_difference_is_said_in_its_two_largest_units(seconds: float, words: str) -> None:
    assert clocks.size(seconds) == words
