"""What a station sends is in the archive once and whole, over a cable that is cut too."""

from __future__ import annotations

import random
import sqlite3
import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from session.frame.states import FrameEvent
from storage.archive.archive_database import ArchiveUnreachableError
from storage.archive.send import send
from storage.archive.status import status
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SetClock, intent, revision, saved_file, whole_frame
from tests.support.postgres_server import Cable, Server
from tests.support.station_logs import FRAMES, station, told

CUTS = 30
SEED = 20261124


def test_pushing_again_sends_nothing_and_changes_nothing(one: Path, archive: str) -> None:
    heard: list[tuple[int, int]] = []
    first = send(one, archive, tell=lambda done, of: heard.append((done, of)))
    assert first.new["frame"] == FRAMES
    assert len({of for _, of in heard}) == 1 and heard == sorted(heard) and heard[-1][0] == heard[-1][1] > FRAMES
    before = told(archive)
    assert not any(send(one, archive).new.values())
    assert not any(send(one, archive, again=True).new.values())
    assert told(archive) == before


def test_what_went_on_since_the_last_push_follows(tmp_path: Path, archive: str) -> None:
    path = tmp_path / "one.sqlite"
    log = SqlLog.open(path, SetClock())
    place = log.open_place("Movement", "Bridge", "top")
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    send(path, archive)
    rows: Any = told(archive)
    assert [state["state"] for state, *_ in rows.values()] == ["releasing"]
    log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=NOON)
    log.frame_file(wish.frame_id, saved_file(1))
    log.move_frame(wish.frame_id, FrameEvent.ALL_SAVED)
    log.move_frame(wish.frame_id, FrameEvent.JUDGED)
    send(path, archive)
    log.mark(wish.frame_id, "hero")
    log.note(wish.frame_id, "dust")
    send(path, archive)
    assert told(archive) == told(path)
    log.undo_last(place)
    log.undo_last(place)
    send(path, archive)
    assert told(archive) == told(path)
    log.close()


def test_log_taken_from_an_older_copy_sends_what_it_wrote_since(one: Path, tmp_path: Path, archive: str) -> None:
    older = tmp_path / "older.sqlite"
    older.write_bytes(one.read_bytes())
    log = SqlLog.open(one, SetClock(NOON + timedelta(days=2)))
    place = log.open_place("Movement", "Bridge", "three-quarter")
    lost = whole_frame(
        log, place, FRAMES + 1, log.save_revision(place, revision(7, 4)), asked_at=NOON + timedelta(days=2)
    )
    log.close()
    send(one, archive)
    log = SqlLog.open(older, SetClock(NOON + timedelta(days=3)))
    new = whole_frame(
        log, place, FRAMES + 1, log.save_revision(place, revision(8, 1)), asked_at=NOON + timedelta(days=3)
    )
    log.close()
    done = send(older, archive)
    assert done.told == [f"Frame {FRAMES + 1} is {FRAMES + 2} there: its number was taken."]
    assert {lost, new} <= set(told(archive))


@pytest.fixture
def cable(server: Server) -> Iterator[Cable]:
    made = Cable(server.port, CUTS, random.Random(SEED))
    yield made
    made.close()


def test_two_stations_push_over_a_cable_that_is_cut_thirty_times(
    one: Path, two: Path, server: Server, database: str, archive: str, cable: Cable
) -> None:
    """Acceptance: the archive is the union, nothing twice."""
    address = server.address(database, port=cable.port)
    lost = {one: 0, two: 0}
    trouble: list[BaseException] = []

    def keep_pushing(path: Path) -> None:
        try:
            while True:
                try:
                    send(path, address, again=cable.left > 0)  # again, so that there is something to be cut
                    if cable.left <= 0:
                        return
                except ArchiveUnreachableError:
                    lost[path] += 1
        except BaseException as error:  # noqa: BLE001 - shown by the test's own thread
            trouble.append(error)

    threads = [threading.Thread(target=keep_pushing, args=(path,)) for path in (one, two)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not trouble
    assert cable.left <= 0 and sum(lost.values()) >= CUTS * 2 // 3  # the others fell on a connection that was done
    assert told(archive) == told(one) | told(two)
    for table in ("frame", "event", "note", "finding", "judgement", "frame_file", "overruling", "revision"):
        rows = sum(count(path, table) for path in (one, two))
        assert int(server.ask(f"SELECT count(*) FROM {table}", database)) == rows, table


def count(path: Path, table: str) -> int:
    connection = sqlite3.connect(path)
    try:
        return int(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
    finally:
        connection.close()


def test_sending_that_is_cut_keeps_what_it_had_to_tell(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    send(one, archive, station="table 1")
    namesake = tmp_path / "two.sqlite"
    station(namesake, "MOVEMENT", days=1, frames=3)
    cut = "CREATE FUNCTION cut() RETURNS trigger LANGUAGE plpgsql AS"
    server.ask(f"{cut} $$ BEGIN PERFORM pg_terminate_backend(pg_backend_pid()); RETURN NULL; END $$", database)
    server.ask("CREATE TRIGGER cut AFTER INSERT ON frame EXECUTE FUNCTION cut()", database)
    with pytest.raises(ArchiveUnreachableError):
        send(namesake, archive, station="table 2")
    renamed = "The job MOVEMENT is called MOVEMENT (table 2) there: its name was taken."
    assert status(namesake, archive).told == (renamed,)
    assert status(one, archive).told == ()
    server.ask("DROP TRIGGER cut ON frame", database)
    assert send(namesake, archive).told == [renamed]
    assert status(namesake, archive).told == () and send(namesake, archive).told == []
