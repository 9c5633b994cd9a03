"""A frame that was left in the middle is taken up with the place and set-up it was released for."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, event

from session.frame.ports import LogError, Origin, Place
from storage.writing.log import SqlLog
from tests.support.log_samples import MISS, MISSED, SERIAL, intent, revision


def test_a_frame_left_in_the_middle_knows_its_place_set_up_and_whether_it_was_judged(log: SqlLog, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    wish = intent(1, revision_id, overrulings={"depth": "the edge may go soft"})
    log.begin_frame(wish, place)
    log.open_place("Movement", "another piece", "flat")
    assert log.origin(wish.frame_id) == Origin(wish, place, revision(), judged=False)
    log.frame_judged(wish.frame_id, [MISS], MISSED)
    assert log.origin(wish.frame_id).judged


def test_a_frame_with_the_lights_off_is_still_one_after_a_crash(log: SqlLog, place: Place) -> None:
    wish = intent(1, log.save_revision(place, revision()), ambient=True)
    log.begin_frame(wish, place)
    assert log.origin(wish.frame_id).intent.ambient


def test_the_origin_of_a_frame_that_nobody_knows_is_refused(log: SqlLog) -> None:
    with pytest.raises(LogError, match="knows no frame"):
        log.origin("none")


@contextmanager
def asked() -> Iterator[list[tuple[str, Any]]]:
    """The statements that are run inside the `with`, with their values."""
    heard: list[tuple[str, Any]] = []

    def hear(connection: Any, cursor: Any, statement: str, values: Any, *rest: Any) -> None:
        heard.append((statement, values))

    event.listen(Engine, "before_cursor_execute", hear)
    try:
        yield heard
    finally:
        event.remove(Engine, "before_cursor_execute", hear)


def test_what_is_asked_of_every_frame_without_files_reads_no_table_through(
    log: SqlLog, place: Place, path: Path
) -> None:
    """By SQLite's own plan, whatever the log's size: with 200,000 frames such a question took 0.3 s."""
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    with asked() as statements:
        log.neighbours(wish.frame_id)
        log.known_card_objects(SERIAL)
        log.holders(SERIAL, ["STIL0001"])
    with closing(sqlite3.connect(path)) as connection:
        plans = [
            row[3] for one, values in statements for row in connection.execute(f"EXPLAIN QUERY PLAN {one}", values)
        ]
    assert len(plans) > 3
    assert [step for step in plans if step.startswith("SCAN") and step != "SCAN camera"] == []
    assert not any("ORDER BY" in step for step in plans)
