"""What the frames of a focus series come to: which planes are good, what they make sharp, the preview of the whole.

A look at pictures takes seconds, so screens have it made outside their thread. Measured pictures are kept, so that a
new frame costs one picture more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from session.frame.series_plane import MovedBy, SeriesPlane
from session.frame.shot_plane import ShotPlane, missing_planes, newest_by_plane
from session.picture.preview import UnreadablePicture
from session.series.breathing import BY_DRIVE, BY_HAND_ON_RING, ON_RAIL
from session.series.coverage_map import FEWEST_FRAMES, Coverage, Gap, gaps
from session.series.merged_preview import label
from session.series.plane_frame import PlaneFrame
from session.series.series_check import SeriesRun
from session.series.series_plan import SeriesLens

LEAST_STEP = 0.25
"""Share of a planned step below which a frame was rather taken twice than a step too short. Chosen."""

PREVIEW_LABEL = "PREVIEW of {frames} frames, merged small. Not for delivery."


@dataclass(frozen=True, eq=False)
class MovedSeries:
    """A series in which camera or piece moved for good.

    before, since  its frames from before the move, and those from after it
    right_px, down_px  where the picture's content lies since then, sensor px
    mm_per_px  of that on the piece
    last   the last frame before the move, as it was measured
    usual_px_per_mm  right and down: where a mm of the plane's way, + = away, brings the content by itself, sensor px
    """

    before: tuple[ShotPlane, ...]
    since: tuple[ShotPlane, ...]
    right_px: float
    down_px: float
    mm_per_px: float
    last: PlaneFrame
    usual_px_per_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, eq=False)
class SeriesLook:
    """A focus series as the log has it.

    shots    all its frames, as they were begun; `best` the newest good one of each plane, near to far
    missing_mm  planes of the plan without a good frame, in the order in which they are shot
    faults   frame's key → what is wrong with it beside the others, a clause
    found    the map of a whole series, None before, or where `trouble` says why not
    more_mm  planes that close the gaps of the map, in the places of the plan, by which drive and hand count
    moved    camera or piece moved while the series was shot, and stayed there; None where they didn't
    is_measured  False while its pictures are still to be looked at: only what the log says is known
    preview  the merged preview with its doubtful places outlined, (height, width, 3) uint8
    """

    shots: tuple[ShotPlane, ...]
    best: tuple[ShotPlane, ...]
    missing_mm: tuple[float, ...]
    faults: dict[str, str] = field(default_factory=dict)
    found: Coverage | None = None
    gaps: tuple[Gap, ...] = ()
    more_mm: tuple[float, ...] = ()
    preview: NDArray[np.uint8] | None = None
    trouble: str = ""
    is_measured: bool = True
    moved: MovedSeries | None = None

    @property
    def plane(self) -> SeriesPlane:
        """The plan, by the newest frame."""
        return self.shots[-1].plane

    @property
    def largest_gap(self) -> Gap:
        """The gap in which most of the piece lies. Only where there is a gap."""
        return max(self.gaps, key=lambda gap: gap.share)

    @property
    def again_mm(self) -> tuple[float, ...]:
        """Planes, mm, whose frame is to be shot again: it differs from those beside, or was shot after a move."""
        if self.moved is not None:
            return tuple(shot.plane.plane_mm for shot in self.moved.since)
        return tuple(shot.plane.plane_mm for shot in self.best if shot.frame_id in self.faults)

    @property
    def todo_mm(self) -> tuple[float, ...]:
        """All planes, mm, that are still to be shot: missing planes, planes whose frame differs, and planes in gaps."""
        return (*self.missing_mm, *self.again_mm, *self.more_mm)

    @property
    def whole(self) -> bool:
        """True if every plane has a good frame, and no place that can be told was left blurred."""
        return self.found is not None and self.found.judged > 0 and not self.todo_mm


class SeriesLooker:
    """Looks at one series as often as frames come."""

    def __init__(self) -> None:
        self._run: SeriesRun | None = None
        self._paths: list[str] = []  # of the run's frames, in their order
        self._of = ""
        self._one_at_a_time = Lock()  # another frame may come while one is still measured

    def look(self, shots: Sequence[ShotPlane], paths: Mapping[str, str | None], lens: SeriesLens) -> SeriesLook:
        """Look at a series by its frames, one or more, in the order in which they were begun.

        paths  frame's key → its picture, None where it can't be opened
        lens   of the set-up that they were shot with
        """
        with self._one_at_a_time:
            return self._look(tuple(shots), paths, lens)

    def _look(self, shots: tuple[ShotPlane, ...], paths: Mapping[str, str | None], lens: SeriesLens) -> SeriesLook:
        best, plan = newest_by_plane(shots), shots[-1].plane
        missing = missing_planes(plan.planes_mm, shots)
        try:
            run = self._measure(best, paths, lens, plan)
            faults = {best[one.frame].frame_id: one.text for one in run.faults()} if len(best) > 1 else {}
            if missing or faults or len(best) < FEWEST_FRAMES:
                return SeriesLook(shots, best, missing, faults, moved=_move_of(run, best, lens))
            found = run.coverage()
            sheet = label(run.preview(found), PREVIEW_LABEL.format(frames=len(best)))
        except UnreadablePicture as error:
            return SeriesLook(shots, best, missing, trouble=str(error))
        except ValueError as error:
            return SeriesLook(shots, best, missing, trouble=str(error))
        told = gaps(found, plan.step_mm)
        more = tuple(mm for gap in told for mm in planned_places(gap, found.planes_mm, run.planned_mm))
        return SeriesLook(shots, best, missing, faults, found, told, more, np.asarray(sheet.convert("RGB")))

    def _measure(
        self, best: Sequence[ShotPlane], paths: Mapping[str, str | None], lens: SeriesLens, plan: SeriesPlane
    ) -> SeriesRun:
        """The frames as a series, near to far; measured frames stay. Raises UnreadablePicture that names the frame."""
        run = self._run
        planes = [shot.plane.plane_mm for shot in best]
        if run is None or self._of != plan.series_id or run.lens != lens:
            placing = {MovedBy.RAIL: ON_RAIL, MovedBy.DRIVE: BY_DRIVE, MovedBy.RING: BY_HAND_ON_RING}[plan.moved_by]
            by_rail = plan.moved_by is MovedBy.RAIL
            run = SeriesRun(lens, plan.step_mm, by_rail=by_rail, for_preview=True, placing=placing)
            self._run, self._paths, self._of = run, [], plan.series_id
        for number in reversed(range(len(run.frames))):
            if run.planned_mm[number] not in planes:  # its frame was marked kill since
                run.leave_out(number)
                del self._paths[number]
        for shot in best:
            path = paths[shot.frame_id]
            if path is None:
                raise UnreadablePicture(f"frame {shot.number} has no picture here")
            try:
                self._put(run, shot.plane.plane_mm, path)
            except UnreadablePicture as error:
                raise UnreadablePicture(f"the picture of frame {shot.number} {error}") from None
        return run

    def _put(self, run: SeriesRun, plane_mm: float, path: str) -> None:
        if plane_mm not in run.planned_mm:
            self._paths.insert(run.add(path, plane_mm), path)
            return
        number = run.planned_mm.index(plane_mm)
        if self._paths[number] != path:
            run.again(number, path)
            self._paths[number] = path


def _move_of(run: SeriesRun, best: Sequence[ShotPlane], lens: SeriesLens) -> MovedSeries | None:
    """What moved for good while these frames were shot, near to far; None where nothing did."""
    moved = run.set_moved()
    if moved is None:
        return None
    nearer, farther = tuple(best[: moved.after + 1]), tuple(best[moved.after + 1 :])
    mm_per_px = lens.pixel_pitch_um / 1000 / lens.lens.magnification
    turned = max(shot.number for shot in nearer) > max(shot.number for shot in farther)
    before, since = (farther, nearer) if turned else (nearer, farther)
    right, down = (-moved.right_px, -moved.down_px) if turned else (moved.right_px, moved.down_px)
    last = run.frames[moved.after + 1 if turned else moved.after]
    step_mm = float(np.median(np.diff(run.planned_mm)))
    usual = (moved.usual_px[0] / step_mm, moved.usual_px[1] / step_mm)
    return MovedSeries(before, since, right, down, mm_per_px, last, usual)


def planned_places(gap: Gap, measured_mm: Sequence[float], planned_mm: Sequence[float]) -> tuple[float, ...]:
    """Where the frames that close a gap lie in the places of the plan, mm, near to far.

    measured_mm, planned_mm  of the series' frames, near to far: where the pictures tell that each was, and where it was
                             meant to be; at two frames at least
    Between two planes the way is shared as the pictures tell it; beyond an end the usual step tells how much farther
    than planned a step went. So a place never falls on that of another frame, though a hand or a drive slipped.
    """
    if 0 <= gap.after < len(measured_mm) - 1:
        measured, planned = (places[gap.after : gap.after + 2] for places in (measured_mm, planned_mm))
        return tuple(float(np.interp(mm, measured, planned)) for mm in gap.planes_mm)
    share = float(np.median(np.diff(planned_mm) / np.maximum(np.diff(measured_mm), LEAST_STEP * np.diff(planned_mm))))
    end = 0 if gap.after < 0 else -1
    return tuple(planned_mm[end] + (mm - measured_mm[end]) * share for mm in gap.planes_mm)
