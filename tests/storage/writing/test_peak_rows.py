"""The peak of live view's fine contrast goes into the log and comes out of it again, for its set-up and piece only."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.ports import KeptPeak, LogError, Place
from session.set.setup import Region
from storage.reading.reading import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, revision

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
