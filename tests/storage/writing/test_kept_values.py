"""A view's wish and a set-up's focus peak are kept as events: the newest is in force."""

from __future__ import annotations

from dataclasses import asdict, replace

import pytest

from session.frame.ports import KeptPeak, LogError, Place
from session.plan.wish import Wish
from session.set.setup import Region
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, revision

WISH = Wish(31.0, 22.0, 1.2, blur_radius_on_piece_mm=0.01, lights=("key", "fill"))


def test_the_newest_wish_comes_out_as_it_went_in(log: SqlLog, place: Place, reader: LogReader) -> None:
    assert reader.kept_wish(place) is None
    log.keep_wish(place, asdict(Wish(10.0, 10.0, delivered_pixels=2000.0)))
    log.keep_wish(place, asdict(WISH))
    kept = reader.kept_wish(place)
    assert kept is not None and Wish.from_fields(kept) == WISH


def test_another_view_has_its_own_and_the_same_view_of_another_piece_begins_with_it(
    log: SqlLog, place: Place, reader: LogReader
) -> None:
    log.keep_wish(place, asdict(WISH))
    assert reader.kept_wish(log.open_place(place.job, place.piece, "another view")) is None
    assert reader.kept_wish(log.open_place("Another job", place.piece, place.view)) is None
    same = reader.kept_wish(log.open_place(place.job, "another piece", place.view))
    assert same is not None and Wish.from_fields(same) == WISH


@pytest.mark.parametrize("fields", [{}, {"piece_width_mm": "wide"}, {"piece_width_mm": 10.0, "piece_height_mm": -1.0}])
def test_a_kept_wish_that_can_t_be_meant_is_refused(fields: dict[str, object]) -> None:
    with pytest.raises(ValueError):
        Wish.from_fields(fields)


def test_what_another_version_knew_of_a_wish_is_left_out() -> None:
    assert Wish.from_fields(asdict(WISH) | {"of_a_later_version": 3}) == WISH


PEAK = KeptPeak(4.25, Region(0.1, 0.2, 0.3, 0.4), 1024, NOON)


def test_last_peak_comes_out_as_it_went_in(log: SqlLog, place: Place, reader: LogReader) -> None:
    log.save_revision(place, revision())
    assert log.kept_peak(place, 7) is None
    log.keep_peak(place, 7, replace(PEAK, contrast=3.0))
    log.keep_peak(place, 7, PEAK)
    assert log.kept_peak(place, 7) == PEAK
    assert reader.events("focus peak")[-1].text == "set-up 07, Bridge: fine contrast 4.25 % at best in live view"


def test_other_piece_and_other_set_up_have_their_own(log: SqlLog, place: Place) -> None:
    log.save_revision(place, revision())
    log.save_revision(place, revision(8, 1))
    log.keep_peak(place, 7, PEAK)
    assert log.kept_peak(place, 8) is None
    assert log.kept_peak(log.open_place("Movement", "Plate", "top"), 7) is None
    assert log.kept_peak(log.open_place("Movement", "Bridge", "top"), 7) == PEAK


def test_peak_of_a_set_up_that_isnt_there_is_refused(log: SqlLog, place: Place) -> None:
    with pytest.raises(LogError, match="no set-up 07"):
        log.keep_peak(place, 7, PEAK)
