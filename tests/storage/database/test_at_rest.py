"""The log at rest: its main file whole by itself, and a standby copy that holds every frame but the one under way."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from storage.database.at_rest import Standby, make_whole
from storage.files.set_pictures import attach_set_picture, copy_set_pictures, set_pictures_folder
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import revision, whole_frame

KEY = "0192f2d0-0000-7000-8000-000000000001"
"""Of a revision."""


@pytest.fixture
def copies(tmp_path: Path) -> Path:
    folder = tmp_path / "copies"
    folder.mkdir()
    return folder


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


@pytest.fixture
def log(path: Path) -> Iterator[SqlLog]:
    opened = fresh_log(path)
    yield opened
    opened.close()


def standby_in(folder: Path) -> Standby:
    return Standby(folder, folder.stat().st_dev)


def numbers(path: Path) -> list[int]:
    """Of the frames in the main file alone."""
    with closing(sqlite3.connect(f"{path.as_uri()}?immutable=1", uri=True)) as connection:
        return [number for (number,) in connection.execute("SELECT number FROM frame ORDER BY number")]


def shoot(log: SqlLog, count: int) -> None:
    place = log.open_place("Movement", "Bridge", "top")
    first = log.next_frame_number(place)
    key = log.save_revision(place, revision(first))
    for number in range(first, first + count):
        whole_frame(log, place, number, key)


def test_main_file_holds_everything_by_itself_once_the_log_is_at_rest(path: Path, log: SqlLog) -> None:
    shoot(log, 2)
    assert numbers(path) == []  # what stands in the WAL is not in it
    make_whole(path)
    assert numbers(path) == [1, 2]
    assert path.with_name("log.sqlite-wal").stat().st_size == 0
    reader = LogReader.open(path)
    reading = reader.frames()
    next(reading)  # holds a state of the log that is about to be an older one
    shoot(log, 1)
    make_whole(path)
    assert len([*reading]) == 1
    reader.close()
    make_whole(path)
    assert numbers(path) == [1, 2, 3]


def test_standby_copy_is_made_with_each_frame_and_replaced_as_a_whole(path: Path, log: SqlLog, copies: Path) -> None:
    said: list[str] = []
    log.keep_at_rest(standby_in(copies), said.append)
    shoot(log, 3)
    log.close()  # what was asked for is done before
    assert (numbers(copies / "log.sqlite.standby"), said) == ([1, 2, 3], [])
    again = SqlLog.open(path)
    again.keep_at_rest(standby_in(copies), said.append)
    shoot(again, 1)
    again.close()
    assert numbers(copies / "log.sqlite.standby") == [1, 2, 3, 4]
    assert [place.name for place in copies.iterdir()] == ["log.sqlite.standby"]


def test_pictures_of_sets_go_along_once_and_what_was_deleted_beside_the_log_stays_in_the_copy(
    path: Path, log: SqlLog, copies: Path
) -> None:
    shoot(log, 1)
    standby = standby_in(copies)
    first = attach_set_picture(path, KEY, b"one").path
    standby.renew(path)
    attach_set_picture(path, KEY, b"two")
    first.unlink()
    damaged = attach_set_picture(path, KEY, b"three").path
    damaged.write_bytes(b"something else")
    standby.renew(path)
    folder = set_pictures_folder(copies / "log.sqlite.standby")
    assert [file.read_bytes() for file in sorted((folder / KEY).iterdir())] == [b"one", b"two"]
    assert copy_set_pictures(path, copies / "log.sqlite.standby") == 0
    assert numbers(copies / "log.sqlite.standby") == [1]


def test_standby_of_another_log_or_with_more_than_the_log_is_never_replaced(
    path: Path, log: SqlLog, copies: Path, tmp_path: Path
) -> None:
    shoot(log, 2)
    older = log_bytes(path)
    shoot(log, 1)
    standby_in(copies).renew(path)
    log.close()
    path.write_bytes(older)  # the log is taken from an older copy
    standby_in(copies).renew(path)
    assert [numbers(copies / f"log.sqlite.standby{end}") for end in ("", "-2")] == [[1, 2, 3], [1, 2]]
    (tmp_path / "other").mkdir()
    other = fresh_log(tmp_path / "other" / "log.sqlite")
    shoot(other, 1)
    other.close()
    for _ in range(2):
        standby_in(copies).renew(tmp_path / "other" / "log.sqlite")
    assert [numbers(copies / f"log.sqlite.standby{end}") for end in ("", "-2", "-3")] == [[1, 2, 3], [1, 2], [1]]
    assert len([*copies.iterdir()]) == 3


def log_bytes(path: Path) -> bytes:
    make_whole(path)
    return path.read_bytes()


def test_standby_on_a_disk_that_is_not_there_is_told_and_the_log_goes_on(path: Path, log: SqlLog, copies: Path) -> None:
    said: list[str] = []
    log.keep_at_rest(Standby(copies, copies.stat().st_dev + 1), said.append)
    shoot(log, 1)
    log.close()
    assert said == [f"The log's standby copy can't be made: its disk is not at {copies}. The log itself goes on."]
    assert (numbers(path), [*copies.iterdir()]) == ([1], [])


def test_log_that_went_from_its_place_is_not_mistaken_for_the_one_there_now(
    path: Path, log: SqlLog, copies: Path
) -> None:
    shoot(log, 1)
    other = path.with_name("other.sqlite")
    fresh_log(other).close()
    other.replace(path)
    before = path.read_bytes()
    log.keep_at_rest(standby_in(copies), lambda text: None)
    with pytest.raises(Exception, match="was replaced"):
        log.close()
    assert ([*copies.iterdir()], path.read_bytes()) == ([], before)


def test_pictures_of_the_set_that_are_not_copied_are_told_apart_from_the_logs_copy(
    path: Path, log: SqlLog, copies: Path
) -> None:
    said: list[str] = []
    attach_set_picture(path, KEY, b"one")
    (copies / "log.sqlite.standby.set-pictures").write_text("a file in the way")
    log.keep_at_rest(standby_in(copies), said.append)
    shoot(log, 1)
    log.close()
    (told,) = said
    assert told.startswith("The log's standby copy is made, but pictures of the set aren't copied: ")
    assert numbers(copies / "log.sqlite.standby") == [1]
