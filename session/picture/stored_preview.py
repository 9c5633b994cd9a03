"""Stored previews: a small JPEG of each frame, which stands in where the frame's own files aren't there.

A preview is the judge's overview, upright, 700 to 1400 px long (of pictures above 11,200 px an eighth of their size),
so that what is compared with it is compared at one scale. Its first segment is a comment (ITU-T T.81, B.2.4.5) with the
frame's key, the size of the picture that it was made of, and a hash of all of it: by it a preview is known as such,
never taken for an original, and known to be whole.
"""

from __future__ import annotations

import errno
import hashlib
import io
import os
import re
import shutil
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.units.file_kinds import JPEG_START, SOI

QUALITY = 88
"""Of the JPEG: some 150 to 300 kB, whose traces of coding stay under those of the noise. Chosen."""

MOST_BYTES = 2_000_000
"""A longer preview is neither written nor read: ten times what a usual one takes. Chosen."""

LEAST_FREE_BYTES = 500_000_000
"""Previews give way to frames where the disk has less room: some eight frames of raw and JPEG. Chosen."""

COMMENT = b"\xff\xfe"
_COMMENT_TEXT = re.compile(
    rb"stillset preview of frame ([\w-]{1,64}), ([1-9]\d{0,5}) x ([1-9]\d{0,5}) px, sha256 ([0-9a-f]{64})"
)
_KEY = re.compile(r"[\w-]{1,64}", re.ASCII)


def preview_path(folder: Path, frame_id: str) -> Path | None:
    """The place of a frame's preview; None for a key that can't be a file's name."""
    return folder / f"{frame_id}.jpg" if _KEY.fullmatch(frame_id) else None


def preview_bytes(pixels: NDArray[np.uint8], frame_id: str, full_px: tuple[int, int]) -> bytes:
    """A picture, (height, width, 3) sRGB codes, upright, as a preview. full_px: the original's width and height, px."""
    with io.BytesIO() as data:
        Image.fromarray(pixels).convert("RGB").save(data, "JPEG", quality=QUALITY)
        return marked_as_preview(data.getvalue(), frame_id, full_px)


def marked_as_preview(jpeg: bytes, frame_id: str, full_px: tuple[int, int]) -> bytes:
    """A JPEG with the comment that makes it the frame's preview. full_px: width and height of the original, px."""
    rest = jpeg.removeprefix(SOI)
    width_px, height_px = full_px
    about = f"stillset preview of frame {frame_id}, {width_px} x {height_px} px, sha256 ".encode()
    text = about + hashlib.sha256(about + rest).hexdigest().encode()
    return SOI + COMMENT + (len(text) + 2).to_bytes(2, "big") + text + rest


def original_size(jpeg: bytes) -> tuple[int, int] | None:
    """Width and height (px) of the picture that a preview was made of; None for a JPEG that isn't a preview."""
    found = _preview_comment(jpeg)
    return (int(found[2]), int(found[3])) if found else None


def is_preview_of(jpeg: bytes, frame_id: str) -> bool:
    """Whether the bytes are the whole preview of this frame."""
    found = _preview_comment(jpeg)
    if found is None or found[1].decode() != frame_id or len(jpeg) > MOST_BYTES:
        return False
    rest = jpeg[found.end() :]
    about = jpeg[found.start() : found.start(4)]
    return rest.startswith(JPEG_START[2:]) and hashlib.sha256(about + rest).hexdigest() == found[4].decode()


def whole_preview(folder: Path, frame_id: str) -> bytes | None:
    """The bytes of a frame's preview; None where the preview is missing or damaged."""
    path = preview_path(folder, frame_id)
    if path is None:
        return None
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
        with os.fdopen(descriptor, "rb") as file:
            jpeg = file.read(MOST_BYTES + 1)
    except OSError:
        return None
    return jpeg if is_preview_of(jpeg, frame_id) else None


def keep_preview(folder: Path, frame_id: str, pixels: NDArray[np.uint8], full_px: tuple[int, int]) -> bool:
    """Write a frame's preview, unless a whole one is there. Raises OSError; a preview that isn't whole is replaced."""
    path = preview_path(folder, frame_id)
    if path is None or whole_preview(folder, frame_id) is not None:
        return False
    if shutil.disk_usage(folder).free < LEAST_FREE_BYTES:
        raise OSError(errno.ENOSPC, f"less than {LEAST_FREE_BYTES // 1_000_000} MB are free")
    path.unlink(missing_ok=True)
    return put_preview(folder, frame_id, preview_bytes(pixels, frame_id, full_px))


def put_preview(folder: Path, frame_id: str, jpeg: bytes) -> bool:
    """Write the bytes as a frame's preview, whole or not at all; False where something has its name. Raises OSError."""
    path = preview_path(folder, frame_id)
    if path is None or os.path.lexists(path):
        return False
    put_whole(path, jpeg)
    return True


def put_whole(path: Path, jpeg: bytes) -> None:
    """Write the bytes into a file of that name, whole or not at all, in the place of what has it. Raises OSError."""
    part = path.with_name(f".{path.name}.part")
    part.unlink(missing_ok=True)  # what a crash left
    try:
        with part.open("xb") as file:
            file.write(jpeg)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise


def _preview_comment(jpeg: bytes) -> re.Match[bytes] | None:
    """The preview's comment, which ends where the rest begins; None for a JPEG without such a comment."""
    if not jpeg.startswith(SOI + COMMENT):
        return None
    length = int.from_bytes(jpeg[4:6], "big")
    return _COMMENT_TEXT.fullmatch(jpeg, 6, 4 + length)
