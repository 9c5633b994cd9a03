"""What is wished of a view at the planner goes into the log and comes out again, after a restart too."""

from __future__ import annotations

from dataclasses import asdict

import pytest

from session.frame.ports import Place
from session.plan.wish import Wish
from storage.reading.reading import LogReader
from storage.writing.log import SqlLog

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
