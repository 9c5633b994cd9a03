"""The file by which a frame's picture is shown: its own, a second copy, or where none is there its stored preview."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from session.picture.stored_preview import preview_path, whole_preview
from storage.reading.views import FrameRecord

FROM_PREVIEW = "from the stored preview"


@dataclass(frozen=True)
class ShownPicture:
    """A file to open. `told`: FROM_PREVIEW where it stands in for the frame's own files, else ""."""

    path: str
    told: str = ""


def paths_of(record: FrameRecord) -> list[str]:
    """Where the frame's own files may be read, second copies among them, the best first."""
    paths = [path for file in record.files for path in (file.path, *file.copies) if file.here]
    return list(dict.fromkeys([*([record.picture] if record.picture else []), *paths]))


def shown_pictures(record: FrameRecord) -> Iterator[ShownPicture]:
    """The files that are there to show the frame by, the best first; asks the disk for each when its turn comes."""
    yield from (ShownPicture(path) for path in paths_of(record) if _is_there(path))
    if record.previews and whole_preview(Path(record.previews), record.frame_id) is not None:
        yield ShownPicture(str(preview_path(Path(record.previews), record.frame_id)), FROM_PREVIEW)


def shown_picture(record: FrameRecord) -> ShownPicture | None:
    """The best of them, else a path at which nothing is any more; None for a frame without a picture of its own."""
    gone = (ShownPicture(path) for path in paths_of(record)[:1])
    return next(shown_pictures(record), None) or next(gone, None)


def _is_there(path: str) -> bool:
    try:
        return Path(path).is_file()
    except (OSError, ValueError):  # no permission, or no name that a file can have
        return False
