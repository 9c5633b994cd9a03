"""The file by which a frame's picture is shown: an own file, a second copy, else the stored preview."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from storage.files.frame_pictures import picture_paths, pictures_there
from storage.reading.views import FrameRecord

FROM_PREVIEW = "from the stored preview"


@dataclass(frozen=True)
class ShownPicture:
    """A file to open. `told`: FROM_PREVIEW where it stands in for the frame's own files, else ""."""

    path: str
    told: str = ""


def shown_pictures(record: FrameRecord) -> Iterator[ShownPicture]:
    """The files that are there to show the frame by, the best first; asks the disk for each when its turn comes."""
    previews = Path(record.previews) if record.previews else None
    for path, is_preview in pictures_there(_paths_of(record), previews, record.frame_id):
        yield ShownPicture(path, FROM_PREVIEW if is_preview else "")


def shown_picture(record: FrameRecord) -> ShownPicture | None:
    """The best of them, else a path at which nothing is any more; None for a frame without a picture of its own."""
    gone = (ShownPicture(path) for path in _paths_of(record)[:1])
    return next(shown_pictures(record), None) or next(gone, None)


def _paths_of(record: FrameRecord) -> list[str]:
    return picture_paths((file.kind, file.path, file.copies) for file in record.files if file.here)
