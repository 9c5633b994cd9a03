"""An order in the log: kept whole, brought up to date when it is read again, and what was shot is never dropped."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.ports import Agreement, LogError
from session.order.client_order import OrderedPiece
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import revision, whole_frame
from tests.support.order_samples import AGREED, ORDER, WHITE, shown


def test_views_are_added_to_the_order_that_the_log_holds(log: SqlLog, reader: LogReader) -> None:
    log.add_views("Spring line", "ring 1", ("front",))
    log.add_views("spring line", "RING 1", ("Front", "top"))
    log.add_views("spring line", "ring 2", ("front",))
    progress = reader.progress("spring line")
    assert progress is not None and progress.order.job == "Spring line"
    assert [(piece.name, piece.views) for piece in progress.order.pieces] == [
        ("ring 1", ("front", "top")),
        ("ring 2", ("front",)),
    ]
    with pytest.raises(LogError, match=r"The order can't be kept: a name holds no \|"):
        log.add_views("spring line", "ring 3", ("front|top",))


def test_a_view_is_compared_with_the_first_accepted_frame_of_its_standard(log: SqlLog) -> None:
    log.keep_order(AGREED)
    first, second = (log.open_place("spring line", f"ring {n}", "front") for n in (1, 2))
    assert log.agreement(first) == log.agreement(second) == Agreement(WHITE)
    assert log.agreement(log.open_place("spring line", "ring 2", "back")) is None
    key = log.save_revision(first, revision())
    for number, place in enumerate((first, second), 1):
        log.set_reference(place, 7, whole_frame(log, place, number, key))
    assert log.agreement(first) == Agreement(WHITE)  # it is the first itself
    told = log.agreement(second)
    assert told is not None and told.example is not None and told.example.number == 1


def test_the_pattern_stays_when_its_reference_is_approved_anew(log: SqlLog) -> None:
    log.keep_order(AGREED)
    first, second = (log.open_place("spring line", f"ring {n}", "front") for n in (1, 2))
    key = log.save_revision(first, revision())
    for number, place in enumerate((first, second, first), 1):
        log.set_reference(place, 7, whole_frame(log, place, number, key))
    assert log.agreement(first) == Agreement(WHITE)
    told = log.agreement(second)
    assert told is not None and told.example is not None and told.example.number == 3


def test_the_same_order_read_again_changes_nothing(log: SqlLog, reader: LogReader) -> None:
    log.keep_order(ORDER)
    again = log.keep_order(ORDER)
    assert (again.added, again.dropped, again.shot) == ((), (), ())
    progress = reader.progress("spring line")
    assert progress is not None and progress.order == ORDER
    assert len(reader.places("spring line")) == 3


def test_what_was_shot_stays_when_a_later_order_does_not_name_it(log: SqlLog, reader: LogReader) -> None:
    log.keep_order(ORDER)
    place = log.open_place("spring line", "ring 1", "top")
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.mark(frame_id, "hero")
    less = replace(ORDER, pieces=(replace(ORDER.pieces[1], views=("front", "back")),))
    kept = log.keep_order(less)
    assert kept.added == (("ring 2", "back"),)
    assert kept.dropped == (("ring 1", "front"),)
    assert kept.shot == (("ring 1", "top"),)
    assert shown(reader) == [
        ("ring 2", "front", 0, True, False),
        ("ring 2", "back", 0, True, False),
        ("ring 1", "top", 1, False, True),
    ]
    assert reader.frame(frame_id) is not None
    log.keep_order(ORDER)
    assert shown(reader) == [
        ("ring 1", "front", 0, True, False),
        ("ring 1", "top", 1, True, True),
        ("ring 2", "front", 0, True, False),
    ]


def test_reading_an_order_leaves_the_place_where_it_was(log: SqlLog, reader: LogReader) -> None:
    place = log.open_place("another job", "type", "top")
    log.keep_order(ORDER)
    assert reader.last_place() == place


@pytest.mark.parametrize("pieces", [(OrderedPiece(" ", views=("front",)),), (OrderedPiece("ring", views=(" ",)),)])
def test_an_order_without_names_is_refused_whole(
    log: SqlLog, reader: LogReader, pieces: tuple[OrderedPiece, ...]
) -> None:
    with pytest.raises(LogError, match="has no name; nothing was kept"):
        log.keep_order(replace(ORDER, pieces=(*ORDER.pieces, *pieces)))
    assert reader.jobs() == ()


def test_four_hundred_pieces_are_kept(log: SqlLog, reader: LogReader) -> None:
    """More than the parameters that a statement of an old SQLite takes (999)."""
    pieces = tuple(
        OrderedPiece(f"ring {number}", f"A-{number}", views=("front", "top", "back")) for number in range(400)
    )
    log.keep_order(replace(ORDER, pieces=pieces))
    assert len(shown(reader)) == 1200
    kept = log.keep_order(replace(ORDER, pieces=pieces[:1]))
    assert len(kept.dropped) == 1197 and len(shown(reader)) == 3
