"""`stillset log settle`: lists what only a person can settle, and takes one answer a frame."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from session.frame.camera_messages import CardObject
from session.frame.states import FrameEvent, FrameState, Intent
from session.set.setup import Revision
from storage.reading.log_reader import LogReader
from tests.support.fresh_log import fresh_log
from tests.support.in_process import stillset

ONE, OTHER = (CardObject("/card/DCIM/100STILL", name, 1000) for name in ("I07.JPG", "I08\x1b[2J.JPG"))


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log with one frame that may have fired, and two files on the card that may be its own."""
    path = tmp_path / "log.db"
    with closing(fresh_log(path)) as log:
        place = log.open_place("type", "sort 1", "top")
        at = datetime(2026, 5, 4, 12, tzinfo=UTC)
        wish = Intent(
            "018f4a00-0000-7000-8000-000000000001",
            1,
            log.save_revision(place, Revision()),
            "invented-1",
            str(tmp_path),
            "0001",
            at,
        )
        log.begin_frame(wish, place)
        log.move_frame(wish.frame_id, FrameEvent.LOST, "It may have fired.")
        log.note_card("invented-1", (ONE, OTHER))
        log.move_frame(wish.frame_id, FrameEvent.UNSURE, "It may be among 2 releases.")
    return path


def settle(log: Path, *words: str, exit_code: int = 0) -> str:
    return stillset("log", "settle", "--log", str(log), *words, exit_code=exit_code)


def state(log: Path) -> FrameState:
    with LogReader.looking(str(log)) as reader:
        (frame,) = reader.frames()
    return frame.state


def test_what_is_open_is_listed_with_the_files_that_may_be_its_own(log: Path) -> None:
    listed = settle(log)
    assert "type, frame 1" in listed and "It may be among 2 releases." in listed
    assert "on the card: I07.JPG  1000 bytes" in listed and "\x1b" not in listed


def test_one_answer_settles_it_and_then_nothing_is_open(log: Path) -> None:
    assert settle(log, "1", "--not-fired") == "Frame 1 did not fire.\n"
    assert state(log) is FrameState.NOT_FIRED
    assert "no frames to be settled" in settle(log)
    assert "Frame 1 is settled." in settle(log, "1", "--none", exit_code=1)


@pytest.mark.parametrize(
    "words", [("1", "--none", "--not-fired"), ("1", "--file", "I07.JPG", "--none"), ("--none",), ("--open",)]
)
def test_two_answers_or_one_for_no_frame_settle_nothing(log: Path, words: tuple[str, ...]) -> None:
    assert "Give a frame's number with one of" in settle(log, *words, exit_code=2)
    assert state(log) is FrameState.UNCERTAIN


def test_a_file_that_is_none_of_them_is_refused_in_a_sentence(log: Path) -> None:
    said = settle(log, "1", "--file", "I99.JPG", exit_code=1)
    assert "I99.JPG" in said and len(said.splitlines()) == 1
    assert state(log) is FrameState.UNCERTAIN


def test_shown_without_a_camera_it_says_how_the_cards_pictures_are_seen(log: Path) -> None:
    shown = settle(log, "1")
    assert "What is on the card is shown with --camera ADDRESS." in shown and "--not-fired" in shown
