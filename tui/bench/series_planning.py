"""The plan of a focus series at the bench: what must be sharp, by what the focus is moved, from which side."""

from __future__ import annotations

from contextlib import suppress

from session.frame.series_plane import Approach, MovedBy, SeriesPlane, SeriesToRun
from session.series.series_plan import (
    SeriesLens,
    SeriesPlan,
    least_time_s,
    series_lens,
    series_of_count,
    series_over,
    series_to_run,
)
from session.set.kit import Body
from session.units.ids import new_id
from tui.bench.mode import BenchPort
from tui.bench.series_drive import SeriesDrive
from tui.words.keys import Where, hint


class SeriesPlanning:
    """What was typed, chosen and marked, and the series that follows.

    series_id   of the next series
    needed_mm, frames   what must be sharp, or how many frames, as typed; both None: between the ends, or the set-up's
    moved_by, approach  what moves the focus, and from which end
    like        a plane of the series that is shot again as it was; None once something else was said
    """

    def __init__(self, bench: BenchPort, like: SeriesPlane | None) -> None:
        """like  a plane of a series that is to be shot again as it was: with its count, its step and from its side"""
        self._bench = bench
        self.like = like
        description = bench.model.description
        drives = description is not None and description.focus_drive
        self.moved_by = MovedBy.DRIVE if drives else MovedBy.RAIL
        self.approach = Approach.NEAR
        if like is not None:
            self.approach = like.approach
            if drives or like.moved_by is not MovedBy.DRIVE:
                self.moved_by = like.moved_by
        self.needed_mm: float | None = None
        self.frames: int | None = None
        self.drive = SeriesDrive(bench)
        self.series_id = new_id()
        self._planned: tuple[object, SeriesPlan | None, str] = (None, None, "")

    def forget(self) -> None:
        """Another series is planned, or looked for."""
        self.series_id = new_id()
        self.drive.forget()

    def moved_otherwise(self) -> None:
        """Choose the next of the ways in which this camera's focus can be moved."""
        ways = list(MovedBy)
        description = self._bench.model.description
        if description is not None and not description.focus_drive:
            ways.remove(MovedBy.DRIVE)
        self.moved_by = ways[(ways.index(self.moved_by) + 1) % len(ways)]

    def lens(self) -> SeriesLens:
        """Lens and sensor of the set-up. Raises ValueError with a sentence."""
        revision = self._bench.model.revision
        assert revision is not None
        return series_lens(revision, self._bench.kit, self.body())

    def body(self) -> Body | None:
        """The body in force, as the kit has it."""
        model, told = self._bench.model, self._bench.model.description
        name = model.revision.body if model.revision else ""
        return self._bench.kit.body_for(name, told.serial if told else "", told.model if told else "")

    def plan(self) -> tuple[SeriesPlan | None, str]:
        """The plan, or None with the reason why it can't be made yet."""
        model = self._bench.model
        ends = (*self.drive.ends.items(), model.drive_fails)
        asked = (model.revision, self.needed_mm, self.frames, self.drive.steps_per_mm, ends)
        if self._planned[0] != asked:
            try:
                self._planned = (asked, *self._planned_now())
            except ValueError as error:
                self._planned = (asked, None, str(error))
        return self._planned[1:]

    def series(self) -> SeriesToRun | None:
        """The series as it would be run; None where `plan` gives none."""
        pace = self.drive.steps_per_mm if self.moved_by is MovedBy.DRIVE else None
        if self.like is not None:
            return self.to_run(self.like.again(self.series_id, self.moved_by, self.approach, pace))
        plan, _ = self.plan()
        if plan is None:
            return None
        return self.to_run(plan.first_plane(self.series_id, self.moved_by, self.approach, pace))

    def to_run(self, plane: SeriesPlane) -> SeriesToRun:
        """The series of a plane, with the reach and the play of the lens in force."""
        return series_to_run(plane, self._reach_mm(), self.drive.play_steps)

    def begins_at_mm(self, series: SeriesToRun) -> float:
        """Where the focus stands before a planned series, mm from its first plane.

        At the end of what must be sharp, or as far from it as the drive went since that end was marked.
        """
        plan, _ = self.plan()
        from_depth = plan is not None and self.frames is None and self.like is None
        end_mm = plan.end_mm(series.approach) if plan is not None and from_depth else 0.0
        return end_mm + (self.marked_mm(series) or 0.0)

    def marked_mm(self, series: SeriesToRun) -> float | None:
        """The drive's way since the end was marked that the series begins at, mm; None without a mark."""
        steps = self.drive.steps_since_first(series.approach)
        return None if series.moved_by is not MovedBy.DRIVE or steps is None else series.mm_at(steps)

    def least_time_s(self, series: SeriesToRun) -> float | None:
        """What the series takes at least, s; None where a number is missing."""
        revision = self._bench.model.revision
        return None if revision is None else least_time_s(series.frames, revision, self._bench.kit)

    def _planned_now(self) -> tuple[SeriesPlan | None, str]:
        lens = self.lens()
        if self.frames is not None:
            return series_of_count(self.frames, lens), ""
        needed_mm = self._depth_to_cover()
        if needed_mm is None:
            return None, f"Say what must be sharp: {hint(Where.SERIES, 'type_span', '1.4 mm, or 7 frames')}."
        return series_over(needed_mm, lens), ""

    def _depth_to_cover(self) -> float | None:
        """What must be sharp, mm: as typed, between both ends, or the set-up's; None before a depth is known."""
        if self.needed_mm is not None:
            return self.needed_mm
        near, far, pace = self.drive.steps_since("n"), self.drive.steps_since("m"), self.drive.steps_per_mm
        if near is not None and far is not None and pace:
            series = SeriesToRun("", 1, 1.0, 1.0, MovedBy.DRIVE, steps_per_mm=pace, reach_mm=self._reach_mm())
            return abs(series.mm_at(near - far)) or None
        revision = self._bench.model.revision
        return revision.depth_needed_mm if revision else None

    def _reach_mm(self) -> float | None:
        """How far the lens in force reaches by its drive, mm; None where nobody knows it, or a hand moves."""
        revision = self._bench.model.revision
        if revision is None or self.moved_by is not MovedBy.DRIVE:
            return None
        with suppress(ValueError):
            lens = self.lens().lens
            return lens.focal_length_mm / lens.magnification
        return None
