"""Frames that only a person can settle: what is listed, and what each word comes to."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fresh_log import fresh_log

from session.frame.camera import CardObject, Fired
from session.frame.ports import LogError
from session.frame.states import FrameEvent, FrameState, Intent
from session.set.setup import Revision
from storage.writing.log import SqlLog

SERIAL = "invented-1"
JPEG, RAW, OTHER = (CardObject("/card/DCIM/100STILL", name, 1000) for name in ("I07.JPG", "I07.TIF", "I08.JPG"))
WHOLE_JPEG = b"\xff\xd8\xff\xda\x00\x02picture\xff\xd9"


@pytest.fixture
def log(tmp_path: Path) -> SqlLog:
    """One frame that may have fired, with two releases on the card that may be it."""
    log = fresh_log(tmp_path / "log.db")
    place = log.open_place("type", "sort 1", "top")
    revision_id = log.save_revision(place, Revision())
    asked_at = datetime(2026, 5, 4, 12, tzinfo=UTC)
    intent = Intent("018f4a00-0000-7000-8000-000000000001", 1, revision_id, SERIAL, str(tmp_path), "0001", asked_at)
    log.begin_frame(intent, place)
    log.move_frame(intent.frame_id, FrameEvent.LOST, "It may have fired.")
    log.note_card(SERIAL, (JPEG, RAW, OTHER))
    log.move_frame(intent.frame_id, FrameEvent.UNSURE, "It may be among 2 releases.")
    return log


def state(log: SqlLog) -> FrameState | None:
    return next((frame.state for frame in log.unsettled(SERIAL)), None)


def test_frame_is_listed_with_what_may_be_its_own(log: SqlLog) -> None:
    (one,) = log.still_open()
    assert (one.job, one.number, one.said) == ("type", 1, "It may be among 2 releases.")
    assert one.candidates == (JPEG, RAW, OTHER)


def test_frame_that_did_not_fire_is_settled(log: SqlLog) -> None:
    (one,) = log.still_open()
    assert log.settle_not_fired(one) == "Frame 1 did not fire."
    assert (log.still_open(), log.unsettled(SERIAL)) == ((), ())


def test_frame_that_fired_cannot_be_said_not_to_have(log: SqlLog) -> None:
    (one,) = log.still_open()
    log.move_frame(one.frame_id, FrameEvent.NOT_WHOLE, "It fired.")
    with pytest.raises(LogError, match="its shutter went"):
        log.settle_not_fired(replace(one, state=FrameState.MISSING))
    assert state(log) is FrameState.MISSING


def test_file_on_the_card_is_fetched_for_it_at_the_next_connection_with_all_of_its_name(log: SqlLog) -> None:
    (one,) = log.still_open()
    with pytest.raises(LogError, match="no file that could be frame 1's"):
        log.settle_file(one, "I09.JPG")
    assert "I07.JPG, I07.TIF on the card" in log.settle_file(one, "I07.JPG")
    (frame,) = log.unsettled(SERIAL)
    assert frame.expected == (JPEG, RAW)
    assert log.known_card_objects(SERIAL) == {OTHER}


def test_file_on_the_disk_is_its_own_when_it_is_whole_and_nobodys(log: SqlLog, tmp_path: Path) -> None:
    (one,) = log.still_open()
    place = tmp_path / "found.JPG"
    place.write_bytes(WHOLE_JPEG[:-2])
    with pytest.raises(LogError, match="not whole"):
        log.settle_file(one, str(place))
    place.write_bytes(WHOLE_JPEG)
    log.settle_file(one, str(place))
    (frame,) = log.unsettled(SERIAL)
    assert (frame.state, frame.fired, frame.saved) == (FrameState.SAVED, Fired.YES, ("found.JPG",))
