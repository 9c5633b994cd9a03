"""A frame of a focus series as the log has it, and which planes are still to be shot."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from session.frame.finding import SPOILT, Finding
from session.frame.series_plane import SeriesPlane
from session.frame.states import FrameState, Mark

SERIES_OUTCOME = "focus series"
"""The kind of the log's events that tell what a focus series came to, each about a frame of it."""

SAME_PLANE = 1e-3
"""Share of a step within which two places are one plane: places in the log are what was asked for. Chosen."""


@dataclass(frozen=True)
class ShotPlane:
    """A frame of a focus series.

    spoilt  the checks found what spoils the picture, or somebody marked the frame kill
    """

    frame_id: str
    number: int
    plane: SeriesPlane
    state: FrameState
    spoilt: bool

    @property
    def good(self) -> bool:
        """Saved, and nothing known against it."""
        return self.state in (FrameState.SAVED, FrameState.LOGGED) and not self.spoilt


def is_spoilt(mark: str | None, flaw: Finding | None) -> bool:
    """True for a frame whose gravest flaw spoils the picture, and for one that somebody marked kill."""
    return mark == Mark.KILL or (flaw is not None and flaw.id in SPOILT)


def newest_by_plane(shots: Iterable[ShotPlane]) -> tuple[ShotPlane, ...]:
    """The newest good frame of each plane, near to far; a plane without a good frame has none."""
    found: list[ShotPlane] = []
    for shot in shots:
        if shot.good:
            found = [one for one in found if not same_plane(one.plane, shot.plane.plane_mm)]
            found.append(shot)
    return tuple(sorted(found, key=lambda one: one.plane.plane_mm))


def series_preview_key(best: Sequence[ShotPlane]) -> str:
    """The key of the preview that is merged of these frames, one or more, near to far, of one series.

    With another frame in the place of one of them it is another key, so that a preview is never taken for theirs.
    """
    of_frames = hashlib.sha256(" ".join(shot.frame_id for shot in best).encode()).hexdigest()[:16]
    return f"{best[0].plane.series_id}-{of_frames}"


def newest_outcome(shots: Iterable[ShotPlane], outcomes: Mapping[str, str]) -> str:
    """What a series came to with its newest frame, in words; "" for a series that nobody looked at since.

    shots     the frames of the series
    outcomes  frame's key → what its series came to when that frame was its newest
    """
    newest = max(shots, key=lambda shot: shot.number, default=None)
    return outcomes.get(newest.frame_id, "") if newest else ""


def missing_planes(planes_mm: Sequence[float], shots: Sequence[ShotPlane]) -> tuple[float, ...]:
    """Those of the planes, mm from the first, that have no good frame, in their order."""
    good = newest_by_plane(shots)
    return tuple(mm for mm in planes_mm if not any(same_plane(one.plane, mm) for one in good))


def same_plane(plane: SeriesPlane, plane_mm: float) -> bool:
    """True if a frame's plane and a place, mm, are the same plane of the series."""
    return abs(plane.plane_mm - plane_mm) < SAME_PLANE * plane.step_mm
