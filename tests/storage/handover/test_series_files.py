"""The series of marked frames: which frames go along, in which order, and what is told of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from session.frame.ports import Place
from storage.handover.series_files import handover_series
from storage.reading.log_reader import LogReader
from storage.reading.views import FileRow, FrameRecord
from storage.writing.log import SqlLog
from tests.support.log_samples import PLANE, revision, whole_frame


def there(record: FrameRecord) -> tuple[tuple[tuple[FileRow, Path], ...], list[str]]:
    """Every file as if it were at its place."""
    return tuple((file, Path(file.path)) for file in record.files), []


def test_two_marked_frames_of_a_series_bring_it_once_and_a_missing_plane_is_told(
    log: SqlLog, place: Place, reader: LogReader
) -> None:
    key = log.save_revision(place, revision())
    for number, mm in enumerate((1.76, 0.0), 1):
        whole_frame(log, place, number, key, series=replace(PLANE, plane_mm=mm, frames=3))
    whole_frame(log, place, 3, key)
    records = list(reader.records())
    (series,) = handover_series(records, [(record, f"name {record.number}") for record in records], there, {})
    assert series.name == "name 1" and [plane.record.number for plane in series.planes] == [2, 1]
    assert [row["position"] for row in series.rows] == [1, 2] and series.preview is None
    outcomes = {records[0].frame_id: "99 % is sharp.", records[1].frame_id: "60 % is sharp. 40 % was never sharp."}
    (lacking,) = handover_series(records, [(records[0], "name 1")], there, outcomes)
    assert lacking.told.endswith("merged they make the picture."), "a plane that it was looked at with may be gone"
    assert series.missing == ("The series of frame 1 lacks plane 2 of 3.",)
    assert handover_series(records, [(records[2], "alone")], there, {}) == ()
