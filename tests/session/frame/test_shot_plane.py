"""Which frames of a series count, and which planes are still to be shot."""

from __future__ import annotations

from session.frame.finding import CheckId, Finding, Level
from session.frame.series_plane import MovedBy, SeriesToRun
from session.frame.shot_plane import ShotPlane, is_spoilt, missing_planes, newest_by_plane
from session.frame.states import FrameState

SERIES = SeriesToRun("an id", 3, 0.5, 0.7, MovedBy.RAIL)


def shot(number: int, plane_mm: float, state: FrameState = FrameState.LOGGED, *, spoilt: bool = False) -> ShotPlane:
    return ShotPlane(f"frame {number}", number, SERIES.plane(plane_mm), state, spoilt)


def test_the_newest_good_frame_of_a_plane_counts_near_to_far() -> None:
    shots = [shot(1, 1.0), shot(2, 0.0), shot(3, 0.0), shot(4, 0.0, spoilt=True), shot(5, 0.5, FrameState.MISSING)]
    assert [one.number for one in newest_by_plane(shots)] == [3, 1]
    assert missing_planes(SERIES.planes_mm, shots) == (0.5,)


def test_a_frame_that_is_only_saved_counts_and_no_frame_is_every_plane_missing() -> None:
    assert missing_planes(SERIES.planes_mm, [shot(1, 0.5, FrameState.SAVED)]) == (0.0, 1.0)
    assert missing_planes(SERIES.planes_mm, []) == SERIES.planes_mm
    assert newest_by_plane([shot(1, 0.0, FrameState.UNCERTAIN)]) == ()


def test_what_spoils_a_picture_and_the_mark_kill_spoil_a_frame_and_nothing_else_does() -> None:
    flaws = {name: Finding(name, Level.CAUTION, "said") for name in (CheckId.FLASH, CheckId.DRIFT)}
    assert is_spoilt("kill", None) and is_spoilt(None, flaws[CheckId.FLASH])
    assert not is_spoilt(None, None) and not is_spoilt("hero", flaws[CheckId.DRIFT])
