"""Previews of references and solos on their way: stored beside a log, or made to be sent, and stored where fetched."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import CompoundSelect, or_, select

from session.frame.ports import LogError
from session.picture.jpeg import read_header
from session.picture.preview import Source, UnreadablePicture, decode, open_picture, overview_reduction
from session.picture.stored_preview import (
    MOST_BYTES,
    is_preview_of,
    marked_as_preview,
    original_size,
    preview_bytes,
    put_preview,
    whole_preview,
)
from session.system.own_files import folder_of_ours
from session.units.file_kinds import JPEG_START
from storage.schema.frame_models import FrameTable
from storage.schema.models import ReferenceTable

LEAST_PX = 700
"""Least long side of a preview that is made to be sent: that of the judge's overview, of which the others are made."""


def compared_frames() -> CompoundSelect[str]:
    """The frames that a reshoot is compared with: references, solos, and those of the ambient light."""
    alone = select(FrameTable.frame_id).where(or_(FrameTable.solo != "", FrameTable.ambient))
    return select(ReferenceTable.frame_id).union(alone)


def preview(folder: Path, frame_id: str, path: str) -> bytes | None:
    """The frame's stored preview in the folder, else one made of its file; None when neither can be read."""
    stored = whole_preview(folder, frame_id)
    if stored is not None:
        return stored
    try:
        source = open_picture(path)
        picture = decode(source, reduce=overview_reduction(source, LEAST_PX), colour=True)
    except (OSError, UnreadablePicture):
        return None
    made = preview_bytes(picture.pixels, frame_id, _size(source))
    return made if len(made) <= MOST_BYTES else None


def store(folder: Path, frame_id: str, jpeg: bytes) -> bool:
    """Store an archive's preview; False when something has its name, which is never touched.

    A picture that an earlier version sent becomes a preview of its own size; bytes that are no JPEG, or too many,
    are left out.
    Raises LogError without room or permission.
    """
    if not is_preview_of(jpeg, frame_id):
        if original_size(jpeg) is not None:  # of another frame, or not whole
            return False
        try:
            header = read_header(jpeg)
        except ValueError:
            return False
        jpeg = marked_as_preview(jpeg, frame_id, (header.width_px, header.height_px))
        if not is_preview_of(jpeg, frame_id):  # longer than a preview may be, with its mark
            return False
    try:
        folder_of_ours(folder)
        return put_preview(folder, frame_id, jpeg)
    except OSError as error:
        raise LogError(f"The preview of frame {frame_id} can't be stored in {folder}: {error.strerror}.") from error


def is_small(jpeg: bytes) -> bool:
    """Whether the archive's bytes begin as a JPEG does and aren't more than a preview can come to."""
    return jpeg.startswith(JPEG_START) and len(jpeg) <= MOST_BYTES


def _size(source: Source) -> tuple[int, int]:
    return source.full_width_px, source.full_height_px
