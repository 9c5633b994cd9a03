"""Small pictures of the ledger: made one at a time, the latest looked at kept, and words where there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any
from unittest.mock import Mock

import pytest

from storage.reading.views import FrameRow
from tests.support.written_log import WrittenLog
from tui.ledger import thumbnails
from tui.ledger.thumbnails import COMING, NO_PICTURE, THUMBNAIL_PX, Thumbnails


class Later:
    """The app's background, where a test does the work that waits."""

    def __init__(self) -> None:
        self.work: list[Callable[[], Callable[[], None]]] = []

    def in_background(self, work: Callable[[], Callable[[], None]], name: str) -> None:
        self.work.append(work)

    def do(self) -> None:
        self.work.pop(0)()()


@pytest.fixture
def later() -> Later:
    return Later()


@pytest.fixture
def made(later: Later, looked_back: WrittenLog) -> Thumbnails:
    app: Any = later
    return Thumbnails(app, looked_back.reader, lambda: None)


@pytest.fixture
def rows(looked_back: WrittenLog) -> list[FrameRow]:
    return list(looked_back.reader.frames(newest_first=True))


def test_one_is_made_at_a_time_and_none_twice(later: Later, made: Thumbnails, rows: list[FrameRow]) -> None:
    made.want(rows[:3])
    assert made.of(rows[0]) == (None, COMING) and len(later.work) == 1
    for _ in range(3):
        later.do()
    assert later.work == []
    picture, words = made.of(rows[0])
    assert picture is not None and words == "" and max(picture.pixels.shape[:2]) == THUMBNAIL_PX
    made.want(rows[:3])
    assert later.work == []


def test_a_wish_that_was_dropped_is_not_made(later: Later, made: Thumbnails, rows: list[FrameRow]) -> None:
    made.want(rows[:5])
    made.want(rows[5:6])
    later.do()
    later.do()
    assert later.work == [] and made.of(rows[1]) == (None, COMING)
    assert made.of(rows[5])[0] is not None


def test_a_frame_whose_files_come_later_is_looked_at_again(
    later: Later, made: Thumbnails, rows: list[FrameRow]
) -> None:
    made.want(rows[:1])
    later.do()
    moved = replace(rows[0], facts=replace(rows[0].facts, state=type(rows[0].state).RECEIVING))
    assert made.of(moved) == (None, COMING)


def test_without_a_picture_a_word_stands_in_its_place(later: Later, rows: list[FrameRow]) -> None:
    app: Any = later
    reader = Mock()
    reader.frame.return_value = None
    bare = Thumbnails(app, reader, lambda: None)
    bare.want(rows[:1])
    later.do()
    assert bare.of(rows[0]) == (None, NO_PICTURE)


def test_the_latest_looked_at_are_kept(
    later: Later, made: Thumbnails, rows: list[FrameRow], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(thumbnails, "MOST_KEPT", 2)
    made.want(rows[:2])
    later.do()
    later.do()
    made.of(rows[0])
    made.want(rows[2:3])
    later.do()
    assert made.of(rows[1]) == (None, COMING) and made.of(rows[0])[0] is not None
