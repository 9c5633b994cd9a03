"""Several stations, one archive: what is sent is there once and whole, and what is fetched can be shot again."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Engine, event

from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.reading.log_reader import LogReader
from tests.support.postgres_server import Server
from tests.support.station_logs import station, told


def test_archive_shows_what_the_log_shows(one: Path, archive: str) -> None:
    send(one, archive)
    assert told(archive) == told(one)
    here, there = LogReader.open(one), LogReader.open(archive)
    assert [(job.name, job.frame_count, job.last_at) for job in there.jobs()] == [
        (job.name, job.frame_count, job.last_at) for job in here.jobs()
    ]
    assert there.setups("movement") == here.setups("movement")
    assert there.notes() == here.notes() and there.events() == here.events()
    assert there.stats() == here.stats()
    assert there.last_place() == here.last_place()
    here.close()
    there.close()


def test_preview_of_a_reference_comes_along(tmp_path: Path, archive: str) -> None:
    from PIL import Image

    picture = tmp_path / "picture.jpg"
    Image.effect_mandelbrot((3000, 2000), (-2, -1, 1, 1), 20).convert("RGB").save(picture)
    path = tmp_path / "one.sqlite"
    place = station(path, "Movement", frames=1)
    (frame_id,) = told(path)
    connection = sqlite3.connect(path)
    connection.execute("UPDATE frame_file SET path = ?", (str(picture),))
    connection.commit()
    connection.close()
    assert place.job == "Movement"
    assert send(path, archive, previews=True).new["preview"] == 1
    assert "preview" not in send(path, archive, previews=True).new
    assert fetch(tmp_path / "two.sqlite", archive, previews=True).previews == 1
    with Image.open(tmp_path / "two.sqlite.previews" / f"{frame_id}.jpg") as small:
        assert small.format == "JPEG" and max(small.size) == 750


@contextmanager
def questions() -> Iterator[list[str]]:
    """The statements that are sent to any database meanwhile."""
    asked: list[str] = []

    def note(*given: object) -> None:
        asked.append(str(given[2]))

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield asked
    finally:
        event.remove(Engine, "before_cursor_execute", note)


def test_more_jobs_with_nothing_new_are_no_more_questions(tmp_path: Path, server: Server, archive: str) -> None:
    counts: list[list[int]] = []
    for jobs, address in ((2, archive), (6, server.address(server.new_database()))):
        log, empty = tmp_path / f"{jobs}.sqlite", tmp_path / f"of {jobs}.sqlite"
        for job in range(jobs):
            station(log, f"Movement {job}", frames=2)
        counts.append([])
        for step in (lambda: send(log, address), lambda: fetch(empty, address)):  # noqa: B023 - called in the loop
            step()
            with questions() as asked:
                step()
            counts[-1].append(len(asked))
    assert counts[0] == counts[1]


def test_more_frames_are_no_more_questions_for_each(tmp_path: Path, server: Server, archive: str) -> None:
    counts: list[list[int]] = []
    for frames, address in ((5, archive), (40, server.address(server.new_database()))):
        log = tmp_path / f"{frames}.sqlite"
        station(log, "Movement", frames=frames)
        counts.append([])
        for step in (lambda: send(log, address), lambda: fetch(tmp_path / f"of {log.name}", address)):  # noqa: B023
            with questions() as asked:
                step()
            counts[-1].append(len(asked))
    assert counts[0] == counts[1], "what is asked is asked for a batch, not for each frame"
