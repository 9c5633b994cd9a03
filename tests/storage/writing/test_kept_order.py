"""An order read from its rows is the order that went in, without what only dropped views had."""

from __future__ import annotations

from dataclasses import replace

from session.order.order_table import require_table
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import revision, whole_frame
from tests.support.order_samples import AGREED, ORDER, WHITE


def test_an_order_comes_back_as_it_went_in(log: SqlLog, reader: LogReader) -> None:
    kept = log.keep_order(ORDER, "order.csv")
    assert (kept.pieces, kept.views, len(kept.added), kept.dropped, kept.shot) == (2, 3, 3, (), ())
    progress = reader.progress("SPRING LINE")
    assert progress is not None
    assert progress.order == ORDER
    assert [place.piece for place in reader.places("spring line")] == ["ring 1", "ring 1", "ring 2"]
    assert reader.progress("another job") is None


def test_a_standard_that_only_a_dropped_view_has_is_no_part_of_the_order(log: SqlLog, reader: LogReader) -> None:
    key = log.save_revision(log.open_place("Spring line", "ring 1", "top"), revision())
    log.keep_order(AGREED)
    whole_frame(log, log.open_place("Spring line", "ring 1", "top"), 1, key)
    front = replace(AGREED.pieces[0], views=("front",), standards=(("front", "catalogue-white"),))
    log.keep_order(replace(AGREED, pieces=(front,), standards=(WHITE,)))
    log.add_views("spring line", "ring 1", ("side",))
    progress = reader.progress("spring line")
    assert progress is not None
    assert progress.order.pieces == (replace(front, views=("front", "side")),)
    assert progress.order.standards == (WHITE,)
    require_table(progress.order)


def test_standards_are_kept_with_the_views_that_share_them_and_change_when_read_again(
    log: SqlLog, reader: LogReader
) -> None:
    log.keep_order(AGREED)
    progress = reader.progress("spring line")
    assert progress is not None and progress.order == AGREED
    less = replace(
        AGREED,
        pieces=(ORDER.pieces[0], AGREED.pieces[1]),
        standards=(replace(WHITE, name="Catalogue-White", background_ev=1.5),),
    )
    log.keep_order(less)
    progress = reader.progress("spring line")
    assert progress is not None
    assert progress.order.standards == less.standards
    assert [piece.standards for piece in progress.order.pieces] == [(), (("front", "Catalogue-White"),)]
