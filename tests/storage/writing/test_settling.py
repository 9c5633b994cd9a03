"""Frames that only a person can settle: what is listed, and what each word comes to."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.ports import LogError
from session.frame.states import FrameEvent, FrameState, Intent
from session.set.setup import Revision
from session.units.ids import new_id
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log

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
    return next((frame.state for frame in log.unsettled_frames(SERIAL)), None)


def test_frame_is_listed_with_what_may_be_its_own(log: SqlLog) -> None:
    (one,) = log.still_open()
    assert (one.job, one.number, one.text) == ("type", 1, "It may be among 2 releases.")
    assert one.candidates == (JPEG, RAW, OTHER)


def test_frame_that_did_not_fire_is_settled(log: SqlLog) -> None:
    (one,) = log.still_open()
    assert log.settle_not_fired(one) == "Frame 1 did not fire."
    assert (log.still_open(), log.unsettled_frames(SERIAL)) == ((), ())


def test_frame_that_fired_cannot_be_said_not_to_have(log: SqlLog) -> None:
    (one,) = log.still_open()
    log.move_frame(one.frame_id, FrameEvent.NOT_WHOLE, "It fired.")
    with pytest.raises(LogError, match="its shutter went"):
        log.settle_not_fired(replace(one, facts=replace(one.facts, state=FrameState.MISSING)))
    assert state(log) is FrameState.MISSING


def test_file_on_the_card_is_fetched_for_it_at_the_next_connection_with_all_of_its_name(log: SqlLog) -> None:
    (one,) = log.still_open()
    with pytest.raises(LogError, match="no file that could be frame 1's"):
        log.settle_file(one, "I09.JPG")
    assert "I07.JPG, I07.TIF on the card" in log.settle_file(one, "I07.JPG")
    (frame,) = log.unsettled_frames(SERIAL)
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
    (frame,) = log.unsettled_frames(SERIAL)
    assert (frame.state, frame.fired, frame.saved) == (FrameState.SAVED, Fired.YES, ("found.JPG",))


def test_pictures_in_its_folder_that_are_nobodys_are_listed_too_and_those_of_the_frames_around_it(
    log: SqlLog, tmp_path: Path
) -> None:
    (tmp_path / "0002.JPG").write_bytes(WHOLE_JPEG)
    (tmp_path / "other.raw").write_bytes(b"II*\0 a raw of some name")
    (tmp_path / "notes.txt").write_text("no picture")
    (tmp_path / ".0003.JPG.part").write_bytes(WHOLE_JPEG)
    (tmp_path / "link.JPG").symlink_to(tmp_path / "0002.JPG")
    (one,) = log.still_open()
    assert (one.on_disk, one.beside) == ((tmp_path / "0002.JPG", tmp_path / "other.raw"), ())
    place = log.open_place("type", "sort 1", "top")
    revision_id = log.save_revision(place, Revision(setup_number=2))
    later = Intent(new_id(), 2, revision_id, SERIAL, str(tmp_path), "0002", one.asked_at)
    log.begin_frame(later, place)
    file = SavedFile(str(tmp_path / "0002.JPG"), "jpeg", len(WHOLE_JPEG), "ab" * 32, replace(OTHER, name="I09.JPG"))
    log.frame_file(later.frame_id, file)
    (one,) = log.still_open()
    assert (one.on_disk, one.beside) == ((tmp_path / "other.raw",), ((2, tmp_path / "0002.JPG"),))


@pytest.mark.parametrize(("fired", "state"), [(Fired.UNKNOWN, FrameState.NOT_FIRED), (Fired.YES, FrameState.MISSING)])
def test_frame_of_which_none_of_the_files_is_its_own_is_listed_no_more(
    log: SqlLog, fired: Fired, state: FrameState
) -> None:
    if fired is Fired.YES:
        (one,) = log.still_open()
        log.move_frame(one.frame_id, FrameEvent.NOT_WHOLE, "It fired.")
    (one,) = log.still_open()
    assert log.settle_none(one) == "Frame 1 has no file; it is not looked for any more."
    assert log.still_open() == ()
    assert [frame.state for frame in log.unsettled_frames(SERIAL)] == ([state] if state is FrameState.MISSING else [])
