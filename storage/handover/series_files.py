"""Focus series of a hand-over: a folder for each series, with the frames in the order of their planes, and a table.

A frame with the mark stands for its series: the newest good frame of every plane goes along, near to far, for whoever
merges them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from session.frame.shot_plane import missing_planes, newest_by_plane, newest_outcome, series_preview_key
from session.picture.stored_preview import whole_preview
from storage.handover.leaving_files import Files, leaving_files
from storage.reading.views import FileRow, FrameRecord

FilesOf = Callable[[FrameRecord], tuple[Files, list[str]]]

SERIES = "series"
PLANES = "planes.csv"
PREVIEW = "preview-not-for-delivery.jpg"
NO_PREVIEW = "No preview of these frames is stored: F at the bench makes one."
NOT_LOOKED_AT = "Whether all of the piece was sharp in some frame was not looked at."


@dataclass(frozen=True)
class PlaneFiles:
    """A frame of a series with its files where they can be read, and the name that they get, without an ending."""

    record: FrameRecord
    name: str
    files: Files


@dataclass(frozen=True)
class HandoverSeries:
    """A focus series that is handed over.

    name     of its folder
    planes   near to far
    missing  planes without a good frame, and files that aren't there any more, a sentence each
    told     what the series is
    left_out  some of its files are missing or changed
    preview  bytes of the preview of the whole; None for a series without a stored preview
    """

    name: str
    planes: tuple[PlaneFiles, ...]
    missing: tuple[str, ...]
    told: str
    preview: bytes | None = None
    left_out: bool = False

    @property
    def originals(self) -> Iterator[tuple[FileRow, Path, str, int]]:
        """Each file, the path now, the path in the hand-over, and the number of the frame."""
        for plane in self.planes:
            for file, source, path in leaving_files(plane.files, self._folder, plane.name):
                yield file, source, path, plane.record.number

    @property
    def table_path(self) -> str:
        """Path of the table of planes in the hand-over."""
        return f"{self._folder}/{PLANES}"

    @property
    def preview_path(self) -> str:
        """Path of the preview of the whole in the hand-over."""
        return f"{self._folder}/{PREVIEW}"

    @property
    def rows(self) -> Iterator[dict[str, Any]]:
        """A line for each plane, near to far, as `table_schema` describes it."""
        for position, plane in enumerate(self.planes, 1):
            record = plane.record
            assert record.series is not None
            yield {
                "series_id": record.series.series_id,
                "job": record.job,
                "piece": record.piece,
                "view": record.view,
                "setup": record.setup,
                "position": position,
                "frame": record.number,
                "plane_mm": record.series.plane_mm,
                "step_mm": record.series.step_mm,
                "depth_mm": record.series.depth_mm,
                "moved_by": record.series.moved_by.value,
                "approach": record.series.approach.value,
                "files": [path for *_, path in leaving_files(plane.files, self._folder, plane.name)],
            }

    @property
    def _folder(self) -> str:
        return f"data/{SERIES}/{self.name}"


def handover_series(
    records: Sequence[FrameRecord],
    chosen: Iterable[tuple[FrameRecord, str]],
    files_of: FilesOf,
    outcomes: Mapping[str, str],
) -> tuple[HandoverSeries, ...]:
    """The series of the chosen frames, each once.

    chosen    frames with the mark, with the names of their files
    files_of  gives a frame's files with where they can be read, and sentences on those that can't
    outcomes  frame's key → what its series came to
    """
    found: dict[str, HandoverSeries] = {}
    for record, name in chosen:
        if record.series is None or record.series.series_id in found:
            continue
        series_id = record.series.series_id
        of_series = {one.frame_id: one for one in records if one.series and one.series.series_id == series_id}
        shots = [shot for shot in (one.shot_plane for one in of_series.values()) if shot]
        planes, missing = [], []
        best = newest_by_plane(shots)
        for position, shot in enumerate(best, 1):
            one = of_series[shot.frame_id]
            files, gone = files_of(one)
            missing += [] if one is record else gone
            if files:
                planes.append(PlaneFiles(one, f"{position:03d}_{one.number:04d}", files))
        left_out = bool(missing)
        lacking = missing_planes(record.series.planes_mm, shots)
        if lacking:
            names = ", ".join(replace(record.series, plane_mm=mm).name for mm in lacking)
            missing.append(f"The series of frame {record.number} lacks {names}.")
        count = f"{len(planes)} plane{'s' if len(planes) != 1 else ''}"
        outcome = "" if lacking else f" {newest_outcome(shots, outcomes) or NOT_LOOKED_AT}"
        told = (
            f"Frame {record.number} is one of a series of {count}, which go along in order in {SERIES}/{name};"
            f" merged they make the picture.{outcome}"
        )
        preview = whole_preview(Path(record.previews), series_preview_key(best)) if record.previews and best else None
        if preview is None and not lacking:
            told += f" {NO_PREVIEW}"
        found[series_id] = HandoverSeries(name, tuple(planes), tuple(missing), told, preview, left_out)
    return tuple(one for one in found.values() if one.planes)
