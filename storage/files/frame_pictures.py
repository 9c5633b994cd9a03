"""The files by which a frame is looked at, the best first: JPEG, raw, each with its second copies, stored preview."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from session.picture.stored_preview import preview_path, whole_preview
from session.units.file_kinds import PICTURES


def picture_paths(files: Iterable[tuple[str, str, Sequence[str]]]) -> list[str]:
    """Where a frame may be looked at by its own files, the best first; a file of another kind comes last.

    files   kind, path and paths of the second copies, of each that may be opened, in the order of the frame
    """
    worth = {kind: place for place, kind in enumerate(PICTURES)}
    ordered = sorted(files, key=lambda file: worth.get(file[0], len(worth)))  # type: ignore[call-overload]
    return list(dict.fromkeys(path for _, first, copies in ordered for path in (first, *copies)))


def pictures_there(paths: Iterable[str], previews: Path | None, frame_id: str) -> Iterator[tuple[str, bool]]:
    """The paths that are there, in their order, and then a whole preview; True for the preview.

    previews   the folder of stored previews, if there is one
    The disk is asked for each when its turn comes; one that answers with an error has nothing there.
    """
    yield from ((path, False) for path in paths if is_there(path))
    if previews is not None and whole_preview(previews, frame_id) is not None:
        yield str(preview_path(previews, frame_id)), True


def is_there(path: str) -> bool:
    """Whether a file is at the path; a disk that answers with an error has nothing there."""
    try:
        return Path(path).is_file()
    except (OSError, ValueError):  # no permission, a disk that fails, or no name that a file can have
        return False
