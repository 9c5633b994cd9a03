"""Acts are never dated before what they replace, whatever the clocks say; and events keep their words."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import create_engine, select

from session.frame.ports import Place
from storage.reading.log_reader import LogReader
from storage.schema.models import EventTable
from storage.writing import event_rows
from storage.writing.event_rows import OF_PEOPLE, TICK, record, time_of_act
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, intent, revision


@pytest.fixture
def frame_id(log: SqlLog, place: Place) -> str:
    revision_id = log.save_revision(place, revision())
    wish = intent(1, revision_id)
    log.begin_frame(wish, place)
    return wish.frame_id


@pytest.mark.parametrize("back_s", [0.0, 5.0, 3600.0, 365 * 86400.0])
def test_an_act_after_a_clock_went_back_still_comes_after_the_last_one(
    log: SqlLog, reader: LogReader, frame_id: str, back_s: float
) -> None:
    log.mark(frame_id, "hero")
    clock = log._clock
    clock.at -= timedelta(seconds=back_s)  # type: ignore[attr-defined]
    log.mark(frame_id, "kill")
    log.note(frame_id, "after all")
    times = [event.at for event in reader.events() if event.kind in OF_PEOPLE]
    assert times == sorted(times) and len(set(times)) == len(times)
    frame = reader.frame(frame_id)
    assert frame is not None and frame.mark == "kill"


def test_the_time_of_an_act_is_now_unless_the_log_is_ahead(log: SqlLog, place: Place, frame_id: str) -> None:
    with log._database.transaction() as connection:
        late = NOON + timedelta(days=30)
        assert time_of_act(connection, place.job_id, late) == late
        record(connection, late, event_rows.MARK, "frame 1 marked hero", frame_id, {"old": None, "new": "hero"})
        assert time_of_act(connection, place.job_id, NOON) == late + TICK
        assert time_of_act(connection, "another job", NOON) == NOON, "other jobs have their own time"


def test_an_act_is_not_dated_before_its_job_was_begun(log: SqlLog, place: Place) -> None:
    with log._database.transaction() as connection:
        early = NOON - timedelta(days=1)
        assert time_of_act(connection, place.job_id, early) > early


def test_an_event_of_a_frame_that_the_log_never_took_keeps_its_words(log: SqlLog, reader: LogReader) -> None:
    log.record("camera", "Frame 4 did not fire.", "00000000-0000-4000-8000-000000000004")
    (event,) = reader.events("camera")
    assert (event.text, event.frame_id) == ("Frame 4 did not fire.", None)


def test_what_an_act_replaced_stands_with_it(log: SqlLog, path: Path, frame_id: str) -> None:
    log.mark(frame_id, "hero")
    log.mark(frame_id, "kill")
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as connection:
        query = select(EventTable.payload).where(EventTable.kind == event_rows.MARK).order_by(EventTable.at)
        told = [(payload["old"], payload["new"]) for payload in connection.scalars(query) if payload]
    engine.dispose()
    assert told == [(None, "hero"), ("hero", "kill")]
