"""A judgement with what was measured on the way, also where nothing was wrong with it."""

from __future__ import annotations

from dataclasses import dataclass

from session.checks.exposure import Exposure
from session.checks.shadow import Band
from session.ports import Judgement


@dataclass(frozen=True)
class Moved:
    """Where the picture as a whole went since the reference: pixels of the file's full size, + right, + down."""

    right_px: float
    down_px: float


@dataclass(frozen=True)
class Examined(Judgement):
    """What the checks found on a frame whose picture could be read.

    exposure  brightness and clipping
    band      None when there is no dark band
    moved     None without a reference, or when the picture doesn't look like it
    """

    exposure: Exposure | None = None
    band: Band | None = None
    moved: Moved | None = None
