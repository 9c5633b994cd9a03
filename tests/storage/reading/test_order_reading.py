"""How far an order is: its views with what was shot for them, whenever the order was read."""

from __future__ import annotations

from session.frame.finding import FocusVerdict
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import revision, whole_frame
from tests.support.order_samples import ORDER, shown


def test_an_order_finds_what_was_shot_before_it_was_read(log: SqlLog, reader: LogReader) -> None:
    place = log.open_place("SPRING line", "Ring 1", "FRONT")
    log.mark(whole_frame(log, place, 1, log.save_revision(place, revision())), "select")
    log.keep_order(ORDER)
    assert shown(reader)[0] == ("Ring 1", "FRONT", 1, True, True)
    assert len(reader.places("spring line")) == 3


def test_frames_come_by_number_with_what_was_found_and_chosen(log: SqlLog, reader: LogReader) -> None:
    log.keep_order(ORDER)
    place = log.open_place("spring line", "ring 2", "front")
    key = log.save_revision(place, revision())
    first = whole_frame(log, place, 1, key)
    whole_frame(log, place, 2, key)
    log.mark(first, "kill")
    progress = reader.progress("Spring Line")
    assert progress is not None
    (view,) = (view for view in progress.views if view.piece.name == "ring 2")
    assert [(frame.number, frame.mark, frame.focus_verdict) for frame in view.frames] == [
        (1, "kill", FocusVerdict.MISSED),
        (2, None, FocusVerdict.MISSED),
    ]
    assert not view.is_done


def test_what_another_job_shot_is_not_counted_and_a_job_without_an_order_has_no_progress(
    log: SqlLog, reader: LogReader
) -> None:
    log.keep_order(ORDER)
    other = log.open_place("another job", "ring 1", "front")
    whole_frame(log, other, 1, log.save_revision(other, revision()))
    assert all(frames == 0 for _, _, frames, _, _ in shown(reader))
    assert reader.progress("another job") is None and reader.progress("no such job") is None
