"""Kinds of picture files, told by the name or by the first bytes."""

from __future__ import annotations

from enum import StrEnum
from pathlib import PurePath

SOI = b"\xff\xd8"
JPEG_START = SOI + b"\xff"
"""Start of image, and with it the first byte of the marker that follows (ITU-T T.81)."""

JPEG_SUFFIXES = frozenset({".jpg", ".jpeg"})


class FileKind(StrEnum):
    """The kind of a frame's file; the values stand in logs."""

    JPEG = "jpeg"
    RAW = "raw"
    OTHER = "other"


PICTURES = (FileKind.JPEG, FileKind.RAW)
"""Kinds that hold a picture to look at, best first: a raw file has a smaller one inside."""

FORMATS: dict[str, tuple[FileKind, ...]] = {
    "jpeg": (FileKind.JPEG,),
    "raw": (FileKind.RAW,),
    "raw+jpeg": (FileKind.RAW, FileKind.JPEG),
}
"""The setting `file_format` → the files that a frame then has."""


def is_jpeg_name(name: str) -> bool:
    """Whether a file is a JPEG by the ending of its name; its content is not looked at."""
    return PurePath(name).suffix.casefold() in JPEG_SUFFIXES
