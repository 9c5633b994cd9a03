"""The log as the shoot's writer: what it opens, and what stands in the file after each call."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from session.frame.ports import LogError, Place
from storage.writing.log import SqlLog
from tests.support.log_samples import intent, revision, whole_frame


def test_archive_cant_be_the_log_of_a_shoot() -> None:
    archive = "postgresql://station@127.0.0.1/studio"
    with pytest.raises(LogError, match="for looking only"):
        SqlLog.open(Path(archive))


def test_a_call_is_in_the_file_once_it_has_returned(log: SqlLog, place: Place, path: Path) -> None:
    log.begin_frame(intent(1, log.save_revision(place, revision())), place)
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT count(*) FROM frame").fetchone() == (1,)


def test_a_refused_call_leaves_nothing_and_the_next_one_is_taken(log: SqlLog, place: Place, path: Path) -> None:
    key = log.save_revision(place, revision())
    log.begin_frame(intent(1, key), place)
    with pytest.raises(LogError, match="frame of this number already"):
        log.begin_frame(intent(1, key), place)
    log.begin_frame(intent(2, key), place)
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT number FROM frame ORDER BY number").fetchall() == [(1,), (2,)]


def test_closed_twice_it_lets_the_next_writer_in(log: SqlLog, path: Path) -> None:
    with pytest.raises(LogError, match="open"):
        SqlLog.open(path)
    log.close()
    log.close()
    SqlLog.open(path).close()


def test_it_asks_for_rest_after_each_frame_and_once_when_it_is_told_to(log: SqlLog, place: Place) -> None:
    asked: list[str] = []

    class Counted:
        def ask(self) -> None:
            asked.append("asked")

        def close(self) -> None:
            asked.append("closed")

    log.rest_by(Counted())
    whole_frame(log, place, 1, log.save_revision(place, revision()))
    assert asked.count("asked") > 1 and "closed" not in asked
    log.close()
    assert asked[-1] == "closed"
