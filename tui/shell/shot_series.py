"""The frames of a focus series in the log, measured: for the bench and for a series that is run without a screen."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from session.frame.shot_plane import missing_planes, newest_by_plane, series_preview_key
from session.picture.stored_preview import preview_bytes, preview_path, put_whole
from session.series.series_look import SeriesLook, SeriesLooker
from session.series.series_plan import SeriesLens, series_lens
from session.set.kit import Kit
from session.set.setup import Revision
from session.units.refusals import ImpossibleNumbersError
from storage.reading.views import FrameRecord


def lens_of(record: FrameRecord, kit: Kit) -> SeriesLens:
    """Lens and sensor of the set-up that a frame was shot with. Raises ValueError with a sentence."""
    body = kit.body_for(record.revision.body, record.camera_serial, record.camera_model)
    return series_lens(record.revision, kit, body)


def other_set_words(
    shot_with: FrameRecord, revision: Revision, lens: SeriesLens | None, kit: Kit, how_anew: str
) -> str:
    """The sentence that what is in force differs from what a series was shot with; "" when nothing does.

    lens      in force; None where nobody knows the camera
    how_anew  the key or option that plans another series
    Raises ValueError with a sentence.
    """
    if revision.setup_number != shot_with.revision.setup_number:
        return f"The series is of set-up {shot_with.setup}, and {revision.label} is in force."
    if lens is None or lens == lens_of(shot_with, kit):
        return ""
    other = f"The series was shot with {shot_with.setup}, by another lens, ratio, f-number or blur limit"
    return f"{other}: set that again, or plan another ({how_anew})."


def look_at_series(looker: SeriesLooker, records: Sequence[FrameRecord], kit: Kit) -> SeriesLook:
    """What the frames of a series come to, by the lens and sensor that they were shot with; its preview is stored.

    records  all frames of the series as they were begun, one or more
    """
    shots = tuple(shot for shot in (record.shot_plane for record in records) if shot)
    try:
        lens, *others = {lens_of(record, kit) for record in records}
        if others:
            raise ImpossibleNumbersError(
                f"its frames were shot with {1 + len(others)} different lenses, ratios, f-numbers or blur limits"
            )
    except ValueError as error:
        missing = missing_planes(shots[-1].plane.planes_mm, shots)
        return SeriesLook(shots, newest_by_plane(shots), missing, trouble=str(error).rstrip("."))
    look = looker.look(shots, {record.frame_id: record.picture for record in records}, lens)
    if look.preview is not None and records[0].previews:
        with suppress(OSError):  # the preview is made anew from the frames
            _store(Path(records[0].previews), look, look.preview)
    return look


def _store(folder: Path, look: SeriesLook, preview: NDArray[np.uint8]) -> None:
    """Store the preview of these frames in the place of those of the series' frames before. Raises OSError."""
    key, (height, width) = series_preview_key(look.best), preview.shape[:2]
    path = preview_path(folder, key)
    if path is None:
        return
    folder.mkdir(exist_ok=True)
    put_whole(path, preview_bytes(preview, key, (width, height)))
    for other in folder.glob(f"{look.plane.series_id}*.jpg"):
        if other != path:
            other.unlink(missing_ok=True)
