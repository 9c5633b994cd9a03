"""A file's Exif (CIPA DC-008), read by exifread behind a guard.

Cut or hostile files make the reader raise almost anything, rarely even run for seconds; so it is called
only in the judge's process, which has a time limit, and whatever it raises means 'no Exif'.
"""

from __future__ import annotations

import logging
import re
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import exifread

ISO_IN_LONGER_FIELDS = 65535
"""PhotographicSensitivity holds two bytes; this value refers to the longer fields. CIPA DC-008."""

LONGEST_EXPOSURE_S = 86_400.0
LARGEST_F_NUMBER = 1000.0
"""Beyond these a value is damage, not a setting."""

_ISO_FIELDS = ("EXIF ISOSpeed", "EXIF RecommendedExposureIndex", "EXIF StandardOutputSensitivity")
_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)$")


@dataclass(frozen=True)
class Exif:
    """Exif values of a file; None for a value that is missing or makes no sense.

    f_number     as marked on the lens; None for a lens without contacts, which bodies record as 0
    taken_at     with its zone where the file tells the offset, without one where it doesn't
    flash_fired  what the body knows; a flash on a cord or radio leaves False, so it proves nothing
    """

    exposure_s: float | None = None
    f_number: float | None = None
    iso: int | None = None
    taken_at: datetime | None = None
    focal_length_mm: float | None = None
    flash_fired: bool | None = None
    orientation: int | None = None
    body_serial: str | None = None


def read_exif(path: str | Path) -> Exif:
    """The Exif of a JPEG or TIFF-based raw; all values None when the file has no readable Exif."""
    logging.getLogger("exifread").setLevel(logging.CRITICAL)  # it reports each oddity of a damaged file
    try:
        with Path(path).open("rb") as file:
            tags = exifread.process_file(file, details=False, extract_thumbnail=False)
        return Exif(
            exposure_s=_number(tags, "EXIF ExposureTime", LONGEST_EXPOSURE_S),
            f_number=_number(tags, "EXIF FNumber", LARGEST_F_NUMBER),
            iso=_iso(tags),
            taken_at=_taken_at(tags),
            focal_length_mm=_number(tags, "EXIF FocalLength", 1e5),
            flash_fired=_flash_fired(tags),
            orientation=_orientation(tags),
            body_serial=_text(tags, "EXIF BodySerialNumber") or None,
        )
    except Exception:  # noqa: BLE001 — see the module's docstring
        return Exif()


def _values(tags: dict[str, Any], name: str) -> Any:
    tag = tags.get(name)
    return tag.values if tag is not None else ()


def _text(tags: dict[str, Any], name: str) -> str:
    values = _values(tags, name)
    return values.strip("\0 ") if isinstance(values, str) else ""


def _number(tags: dict[str, Any], name: str, most: float) -> float | None:
    """A positive number up to `most`; 0 and 0/0 are how a body writes 'unknown'."""
    values = _values(tags, name)
    if not values or isinstance(values, str) or not getattr(values[0], "denominator", 1):
        return None
    number = float(values[0])
    return number if 0 < number <= most else None


def _iso(tags: dict[str, Any]) -> int | None:
    iso = _number(tags, "EXIF ISOSpeedRatings", ISO_IN_LONGER_FIELDS)
    if iso == ISO_IN_LONGER_FIELDS:
        iso = next((found for name in _ISO_FIELDS if (found := _number(tags, name, 1e8))), None)
    return int(iso) if iso else None


def _flash_fired(tags: dict[str, Any]) -> bool | None:
    values = _values(tags, "EXIF Flash")
    return bool(int(values[0]) & 1) if values and not isinstance(values, str) else None


def _orientation(tags: dict[str, Any]) -> int | None:
    values = _values(tags, "Image Orientation")
    return int(values[0]) if values and not isinstance(values, str) and 1 <= int(values[0]) <= 8 else None


def _taken_at(tags: dict[str, Any]) -> datetime | None:
    """DateTimeOriginal with its fraction ("5" is half a second, "05" a twentieth) and zone."""
    try:
        moment = datetime.strptime(_text(tags, "EXIF DateTimeOriginal"), "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
    digits = _text(tags, "EXIF SubSecTimeOriginal")
    if digits.isdecimal():
        moment += timedelta(seconds=float(f"0.{digits}"))
    offset = _OFFSET.match(_text(tags, "EXIF OffsetTimeOriginal"))
    if not offset:
        return moment
    span = timedelta(hours=int(offset[2]), minutes=int(offset[3]))
    return moment.replace(tzinfo=timezone(-span if offset[1] == "-" else span))
