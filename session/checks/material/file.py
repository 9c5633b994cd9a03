"""Is the file whole: as long as the camera said, with its end marker, and decodable."""

from __future__ import annotations

from pathlib import Path

from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.picture.preview import Source

FETCH_AGAIN = Remedy(RemedyKind.BY_HAND, "keep the card and fetch the file again, or release again")


def whole(path: str, source: Source, expected_bytes: int | None) -> tuple[Finding, ...]:
    """Findings on a file whose header could be read; the camera announced `expected_bytes` bytes, None: no size."""
    size_bytes = Path(path).stat().st_size
    if expected_bytes and size_bytes != expected_bytes:
        text = f"The file is {size_bytes} bytes long, the camera said {expected_bytes}."
        return (Finding(CheckId.FILE, Level.CAUTION, text, size_bytes, expected_bytes, "bytes", FETCH_AGAIN),)
    if not source.complete:
        text = f"The file has no end: it is cut short at {size_bytes} bytes."
        return (Finding(CheckId.FILE, Level.CAUTION, text, size_bytes, expected_bytes, "bytes", FETCH_AGAIN),)
    return ()


def unreadable(path: str, clause: str) -> Finding:
    """The finding for a file that gives no picture; `clause` follows its name."""
    return Finding(CheckId.FILE, Level.CAUTION, f"{Path(path).name} {clause}.", remedy=FETCH_AGAIN)
