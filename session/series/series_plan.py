"""The planes of a focus series before anything fires: how many, how far apart, how long.

Places along the axis count from the near end of the depth that must be sharp, mm, + = away from the camera. Count and
step are those of `sharp_series`, which the planner and the rule on depth use too.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.series_plane import Approach, MovedBy, SeriesPlane, SeriesToRun
from session.lighting.flash import recycling_time_s
from session.optics.arrangement import EquivalentLens
from session.optics.circle import blur_circle_from_limit_mm
from session.optics.framing import pixel_pitch_um
from session.optics.sharpness import SharpSeries, sharp_series
from session.optics.steps import MOST_FRAMES, EndlessSeriesError, FocusSteps
from session.set.kit import Body, Kit
from session.set.lens_in_use import astigmatism_in_use_mm, lens_in_use
from session.set.setup import Revision
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

RUN_UP_STEPS = 100
"""By which the drive goes past a plane to come to it from one side, where nobody measured its play: the sweep's."""

RUN_UP_PLAYS = 2.0
"""The same, in plays of the drive, where that is more. Chosen."""

ONE_FRAME_MM = 1e-3
"""A depth that any frame covers, for asking what one frame does. Chosen."""


@dataclass(frozen=True)
class SeriesLens:
    """Lens and sensor as a series counts with them.

    lens            in use at the f-number of the series
    pixel_pitch_um  distance between the sensor's pixel centres, µm
    blur_limit_px   radius of the blur that may show, sensor pixels
    astigmatism_mm  of glass before the lens, mm
    """

    lens: EquivalentLens
    pixel_pitch_um: float
    blur_limit_px: float
    astigmatism_mm: float = 0.0

    def sharp(self, needed_mm: float) -> SharpSeries:
        """Depth of one frame, and the frames that cover the depth needed, mm, as planner and rules count them.

        Raises ValueError when an argument is out of range or the series would be absurdly long.
        """
        circle_mm = blur_circle_from_limit_mm(self.blur_limit_px, self.pixel_pitch_um)
        ratio = self.lens.magnification
        return sharp_series(
            needed_mm,
            self.lens.effective_f_number,
            ratio,
            circle_mm / ratio,
            astigmatism_mm=self.astigmatism_mm,
        )


@dataclass(frozen=True)
class SeriesPlan:
    """A focus series that is planned.

    planes_mm  planes of focus, near to far, mm
    sharp      depth of a single frame, and the count and step that follow
    """

    planes_mm: tuple[float, ...]
    sharp: SharpSeries

    @property
    def step_mm(self) -> float:
        """From plane to plane, mm; 0 for a single frame."""
        return self.sharp.steps.step_mm

    @property
    def near_mm(self) -> float:
        """Where the sharp depth of the nearest frame begins, mm."""
        return self.planes_mm[0] - self.sharp.depth_mm / 2

    @property
    def far_mm(self) -> float:
        """Where the sharp depth of the farthest frame ends, mm."""
        return self.planes_mm[-1] + self.sharp.depth_mm / 2

    def end_mm(self, approach: Approach) -> float:
        """The end of the depth that must be sharp, from which the series begins: mm from its first plane."""
        return -self.planes_mm[0] if approach is Approach.NEAR else self.planes_mm[0]

    def first_plane(
        self, series_id: str, moved_by: MovedBy, approach: Approach, steps_per_mm: float | None
    ) -> SeriesPlane:
        """The first plane of the series as the log keeps it; `steps_per_mm` of the drive, None where a hand moves."""
        step_mm = self.step_mm or self.sharp.depth_mm
        depth_mm = self.sharp.depth_mm
        return SeriesPlane(series_id, 0.0, len(self.planes_mm), step_mm, depth_mm, moved_by, approach, steps_per_mm)


def series_lens(revision: Revision, kit: Kit, body: Body | None, pitch_um: float | None = None) -> SeriesLens:
    """Lens and sensor of a set-up, and the glass before the lens by the kit.

    pitch_um  distance between the sensor's pixel centres, µm, instead of the body's
    Raises ValueError where the set-up lacks a number or its parts don't go together.
    """
    if pitch_um is None:
        if body is None:
            raise ImpossibleNumbersError(f"the kit doesn't know the body {revision.body!r}: how large its pixels are")
        pitch_um = pixel_pitch_um(body.sensor_width_mm, body.pixels_across)
    if not revision.settings.f_number:
        raise ImpossibleNumbersError(f"set-up {revision.label} has no f-number")
    lens = lens_in_use(revision.arrangement, revision.settings.f_number)
    return SeriesLens(lens, pitch_um, revision.blur_limit_px, astigmatism_in_use_mm(revision, kit))


def series_over(needed_mm: float, lens: SeriesLens) -> SeriesPlan:
    """The series that makes a depth sharp, mm, from the near end on; what is sharp beyond lies at both ends alike.

    Raises ValueError when the depth can't be meant or takes absurdly many frames.
    """
    sharp = lens.sharp(needed_mm)
    step_mm, frames = sharp.steps.step_mm, sharp.steps.frames
    first_mm = (needed_mm - (frames - 1) * step_mm) / 2
    return SeriesPlan(tuple(first_mm + k * step_mm for k in range(frames)), sharp)


def series_of_count(frames: int, lens: SeriesLens) -> SeriesPlan:
    """As many frames as are asked for, as far apart as may be, the first one's sharp depth beginning at 0 mm.

    Raises ValueError for a count that isn't from 1 to MOST_FRAMES.
    """
    if not 1 <= frames <= MOST_FRAMES:
        raise EndlessSeriesError(f"{frames} frames make no series: from 1 to {MOST_FRAMES} do.")
    one = lens.sharp(ONE_FRAME_MM)
    # Two frames' step is that of any longer series.
    step_mm = lens.sharp(1.5 * one.depth_mm).steps.step_mm if frames > 1 else 0.0
    steps = FocusSteps(frames, step_mm, one.depth_mm + (frames - 1) * step_mm)
    planes_mm = tuple(one.depth_mm / 2 + k * step_mm for k in range(frames))
    return SeriesPlan(planes_mm, SharpSeries(one.depth_mm, one.by_diffraction, one.by_plate, steps))


def series_to_run(plane: SeriesPlane, reach_mm: float | None, play_steps: int | None = None) -> SeriesToRun:
    """The series of a plane as the controller runs it; `reach_mm` and `play_steps` as of `SeriesToRun`."""
    return SeriesToRun(
        plane.series_id,
        plane.frames,
        plane.step_mm,
        plane.depth_mm,
        plane.moved_by,
        plane.approach,
        plane.steps_per_mm,
        play_steps,
        max(RUN_UP_STEPS, round(RUN_UP_PLAYS * (play_steps or 0))),
        reach_mm,
    )


def least_time_s(frames: int, revision: Revision, kit: Kit) -> float | None:
    """What so many frames of a set-up take at least, s: recycling, hold-off and exposure.

    None where a number is missing.
    """
    lights = [(placed, kit.light_for(placed.name)) for placed in revision.lights]
    flashes = [(placed, light) for placed, light in lights if light is not None and light.kind == "flash"]
    slowest_s = max((recycling_time_s(light.recycling_time_s, placed.power_ev) for placed, light in flashes), default=0)
    try:
        return time_needed_s(frames, slowest_s, revision.hold_off_s, 0.0, 0.0, revision.settings.exposure_s)
    except ValueError:
        return None


def time_needed_s(
    frames: int, recycling_time_s: float, hold_off_s: float, transfer_s: float, moving_s: float, exposure_s: float
) -> float:
    """Time from the first wish to the last file saved, s.

    recycling_time_s  of the slowest flash at its power; it recycles while the file comes and the focus moves
    hold_off_s        wait after each move
    transfer_s        of a frame's files
    moving_s          to the next plane, by drive or hand
    Raises ValueError when an argument is out of range. Worked out from the order in which a frame is taken.
    """
    require(recycling_time_s=recycling_time_s, hold_off_s=hold_off_s, exposure_s=exposure_s)
    between_s = max(recycling_time_s, transfer_s + moving_s + hold_off_s)
    return hold_off_s + frames * exposure_s + (frames - 1) * between_s + transfer_s
