"""The focus series of a set-up and the one shot again, found in a log by piece, view and time."""

from __future__ import annotations

from dataclasses import replace

from session.frame.shot_plane import SERIES_OUTCOME
from tests.support.log_samples import PLANE, whole_frame
from tests.support.written_log import WrittenLog
from tui.shell.repeated_series import repeated_series


def test_of_two_series_of_a_view_the_second_is_the_first_shot_again(looked_back: WrittenLog) -> None:
    log, place, key = looked_back.log, looked_back.place, looked_back.revision_id
    reference = looked_back.reader.frame(looked_back.frame_ids[1])
    assert reference is not None and repeated_series(looked_back.reader, place, reference).then is None
    for number, series_id in ((13, "a"), (14, "b"), (15, "b")):
        series = replace(PLANE, series_id=PLANE.series_id[:-1] + series_id, plane_mm=0.88 * (number % 2), frames=2)
        last = whole_frame(log, place, number, key, series=series)
    log.record(SERIES_OUTCOME, "90 % of what can be told is sharp in 2 frames.", last)
    found = repeated_series(looked_back.reader, place, reference)
    assert found.then is not None and (found.then.numbers, found.then.outcome) == ([13], "")
    assert found.now is not None and found.now.numbers == [14, 15]
    assert found.now.outcome == "90 % of what can be told is sharp in 2 frames."
    assert found.then.preview() is None
