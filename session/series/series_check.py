"""A focus series frame by frame: measured when a frame comes, with what is wrong with it; the map and the preview then.

    run = SeriesRun(lens, step_mm, by_rail=True, for_preview=False)
    run.add(path)                   # for each frame, near to far
    run.faults(), run.coverage()
    run.add(path, at_mm=1.7)        # one more in a gap
    run.again(3, path)              # a frame shot again

Within a series everything but the plane of focus stays as it was. Light that changes between two frames shows in the
merged picture, and a bump tears it. The picture's size changes by focusing alone, and a rail that isn't quite parallel
to the axis shifts each frame alike; only what differs from the other steps is told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.optics.arrangement import EquivalentLens
from session.picture.displacement import Motion
from session.picture.preview import UnreadablePicture
from session.series.breathing import (
    BY_DRIVE,
    ON_RAIL,
    Placing,
    Planes,
    StepMeasured,
    measure_step,
    place_planes,
    size_at,
    way_by_picture,
)
from session.series.coverage_map import Coverage, coverage
from session.series.merged_preview import MergedPreview, merged_preview
from session.series.plane_frame import PlaneFrame, read_plane_frame
from session.series.series_plan import SeriesLens
from session.units.numbers import ev_text

LIGHT_EV = 0.15
"""Flashes keep their light to a tenth of a stop from pop to pop. Common practice, no source; and half of that more."""

NO_FLASH_EV = 2.0
"""Darker by more, the flash is taken to have missed: ambient light lies 5 stops under it, a single light of two 1."""

MOVED_PX = 0.3
"""A shift of the sensor's picture from which on a frame has moved: seams of the merged picture show half a pixel. On 17
series of the simulated camera (seeds 6002 to 6023) clean steps came to 0.09 px at most, bumps of 0.5 px to 0.42 at
least."""

MOVED_SDS = 4.0
"""A shift must also stand out of its own error and the others' by so many standard deviations."""

DRIFT_PX = 0.05
"""Standard deviation of the change of shifts from one usual step to the next, px of the small picture: as the sharp
band goes over a leaning piece, edges hide another part of what lies behind them. As seen on 17 clean series of the
simulated camera (seeds 6002 to 6023)."""

STEPS_BESIDE = 3
"""A step is compared with so many before it and as many after it, over which shifts change evenly. Chosen."""

SAME_PLACE, OTHER_WAY = 0.15, -0.5
"""A step that goes by less of the planned way has gone nowhere, and one that goes so far back the wrong way: a hand
leaves a rail by a fifth of usual steps. Chosen."""

FEWEST_STEPS = 3
"""So many steps tell which of them differs from the others."""


@dataclass(frozen=True)
class SeriesFault:
    """Something wrong with a frame of a series.

    frame  index, from 0
    text   a clause that follows the frame's number: "is 0.9 EV darker than those beside it"
    """

    frame: int
    text: str


@dataclass(frozen=True)
class SetMoved:
    """Camera or piece moved between two frames of a series, and stayed there.

    after  index of the last frame before the move, by the planned places
    right_px, down_px  where the picture's content lies in the frames behind it, sensor px
    usual_px   right and down: where a usual step brings it by itself, sensor px
    """

    after: int
    right_px: float
    down_px: float
    usual_px: tuple[float, float] = (0.0, 0.0)


class SeriesRun:
    """A series while its frames come in.

    step_mm  as planned, + = each plane farther than the one before
    by_rail  the camera moves; else the focus turns
    placing  how surely planes come to lie where they were wanted; else by a hand on the rail, or by the drive
    for_preview  the frames' colours are kept, to merge them

    frames, planned_mm  in the order of their planned places, along the step; places from the first frame's, mm
    """

    def __init__(
        self,
        lens: SeriesLens,
        step_mm: float,
        *,
        by_rail: bool,
        for_preview: bool,
        placing: Placing | None = None,
    ) -> None:
        self.lens = lens
        self.placing = placing or (ON_RAIL if by_rail else BY_DRIVE)
        self._for_preview = for_preview
        self._step_mm = step_mm
        self.frames: list[PlaneFrame] = []
        self.planned_mm: list[float] = []
        self.steps: list[StepMeasured] = []

    def add(self, path: str, at_mm: float | None = None) -> int:
        """Measure a frame and put it among the others; returns its index in `frames`.

        at_mm  where it was meant to be focused, in the places of `planned_mm`; else a step after the last one
        Raises UnreadablePicture, for a frame of another size too; the series stays as it was.
        """
        if at_mm is None:
            at_mm = self.planned_mm[-1] + self._step_mm if self.planned_mm else 0.0
        frame = self._read(path)
        way = math.copysign(1.0, self._step_mm)
        number = sum(way * planned <= way * at_mm for planned in self.planned_mm)
        self.frames.insert(number, frame)
        self.planned_mm.insert(number, at_mm)
        if len(self.frames) > 1:
            self.steps.insert(max(0, number - 1), StepMeasured.unknown(0.0))
            self._register_beside(number)
        return number

    def again(self, number: int, path: str) -> None:
        """Put a frame that was shot again, at the same place, in the place of another. Raises as `add` does."""
        self.frames[number] = self._read(path)
        self._register_beside(number)

    def leave_out(self, number: int) -> None:
        """Take a frame out of the series; the frames beside it are neighbours then."""
        del self.frames[number], self.planned_mm[number]
        if self.steps:
            del self.steps[max(0, number - 1)]
            self._register_beside(number)

    def _read(self, path: str) -> PlaneFrame:
        frame = read_plane_frame(path, self.lens.blur_limit_px, keep_colours=self._for_preview)
        if self.frames and frame.full_px != self.frames[0].full_px:
            ours, theirs = (f"{width} × {height} px" for width, height in (frame.full_px, self.frames[0].full_px))
            raise UnreadablePicture(f"measures {ours}, and the frames before it {theirs}: it can't be laid on them")
        return frame

    def _register_beside(self, number: int) -> None:
        """Register a frame on the frame before, and the frame after on this frame."""
        for step in (number - 1, number):
            if 0 <= step < len(self.steps):
                way_mm = self.planned_mm[step + 1] - self.planned_mm[step]
                likely = Motion(scale=size_at(self.lens.lens, way_mm, self.placing.by_rail))
                self.steps[step] = measure_step(self.frames[step], self.frames[step + 1], way_mm, likely)

    def coverage(self) -> Coverage:
        """The map of the frames so far. Raises ValueError for fewer than two."""
        return coverage(self.frames, self.planes(), self.lens)

    def preview(self, found: Coverage) -> MergedPreview:
        """The merged preview of the frames so far. Raises ValueError for a run that keeps no colours."""
        return merged_preview(self.frames, self.planes().scales, found)

    def faults(self) -> tuple[SeriesFault, ...]:
        """What is wrong with single frames, by their order."""
        px = self._px_per_small
        faults = (
            *light_faults(self.frames),
            *moved_faults(self.steps, px),
            *order_faults(self.steps, self.lens.lens, by_rail=self.placing.by_rail),
        )
        return tuple(sorted(faults, key=lambda one: one.frame))

    @property
    def _px_per_small(self) -> float:
        """Sensor pixels in a pixel of the small pictures."""
        if not self.frames:
            return 1.0
        frame = self.frames[0]
        return float(frame.reduced * frame.measured_px[0] / frame.small.shape[1])

    def set_moved(self) -> SetMoved | None:
        """Where something moved between two frames and stayed where it was then; None where all lies as it lay.

        The frames beside both must agree on it: a single frame may have been taken while something swung.
        """
        px = self._px_per_small
        off = dict(off_steps(self.steps, px))
        usual = [_shift_px(step) for number, step in enumerate(self.steps) if step.motion and number not in off]
        middle = np.median(usual, axis=0) if len(usual) >= FEWEST_STEPS else np.zeros(2)
        for number in sorted(off):
            least_px = off[number] / 2 / px
            over = [(number, number + 2), *([(number - 1, number + 1)] if number else [])]
            if number + 2 < len(self.frames) and all(self._agrees(number, *two, middle, least_px) for two in over):
                right, down = (_shift_px(self.steps[number]) - middle) * px
                return SetMoved(number, float(right), float(down), (float(middle[0] * px), float(middle[1] * px)))
        return None

    def _agrees(self, number: int, before: int, after: int, usual: NDArray[np.float64], within_px: float) -> bool:
        """Whether two frames with a step between them lie to each other as the step alone says, px of the small one."""
        motion = measure_step(self.frames[before], self.frames[after], 0.0)
        if motion.motion is None:
            return False
        apart = _shift_px(motion) - _shift_px(self.steps[number]) - usual
        return float(np.hypot(*apart)) < within_px

    def planes(self) -> Planes:
        """Where the frames so far were focused, by plan and picture."""
        return place_planes(self.steps, self.lens.lens, self.placing, self.planned_mm[0] if self.planned_mm else 0.0)


def light_faults(frames: list[PlaneFrame]) -> list[SeriesFault]:
    """Frames whose light differs from the most of the five around them; of two frames, the second is told.

    Blur spreads light and keeps its sum, so that means are compared.
    """
    light = [float(np.log2(max(1e-6, float(np.mean(frame.small))))) for frame in frames]
    found = []
    for number, ev in enumerate(light):
        first = max(0, min(number - 2, len(light) - 5))
        around = light[: number or 1] if len(light) == 2 else light[first : first + 5]
        off_ev = ev - float(np.median(around))
        if off_ev < -NO_FLASH_EV:
            found.append(SeriesFault(number, f"shows no flash: {ev_text(off_ev)} beside the others"))
        elif abs(off_ev) > LIGHT_EV:
            side = "brighter" if off_ev > 0 else "darker"
            found.append(SeriesFault(number, f"is {abs(off_ev):.1f} EV {side} than those beside it"))
    return found


def moved_faults(steps: list[StepMeasured], px_per_small: float) -> list[SeriesFault]:
    """Frames that lie elsewhere than the steps beside theirs make them lie, in sensor pixels per small pixel."""
    found = [
        SeriesFault(
            number + 1, "can't be laid on the one before it: something else is in the picture, or it is blurred"
        )
        for number, step in enumerate(steps)
        if step.motion is None
    ]
    return found + [
        SeriesFault(number + 1, f"lies {off_px:.1f} px beside the one before it: something moved")
        for number, off_px in off_steps(steps, px_per_small)
    ]


def off_steps(steps: Sequence[StepMeasured], px_per_small: float) -> list[tuple[int, float]]:
    """Steps whose shift isn't that of the steps beside them, and by how much, sensor px; the worst first."""
    found = []
    known = [(number, step) for number, step in enumerate(steps) if step.motion is not None]
    while len(known) >= FEWEST_STEPS:
        off = [_off_px(number, known) for number, _ in known]
        worst = max(range(len(known)), key=lambda k: off[k][0] / off[k][1])
        off_px, sd_px = (px * px_per_small for px in off[worst])
        if off_px <= max(MOVED_PX, MOVED_SDS * sd_px):
            break
        number, _ = known.pop(worst)
        found.append((number, off_px))
    return found


def _shift_px(step: StepMeasured) -> NDArray[np.float64]:
    """Right and down, px of the small picture; of a step with a motion."""
    assert step.motion is not None
    return np.array([step.motion.right_px, step.motion.down_px])


def _off_px(number: int, known: Sequence[tuple[int, StepMeasured]]) -> tuple[float, float]:
    """How far the shift of a step is from that which the steps beside it tell, and its standard deviation, small px.

    known  number and step, of at least two more; shifts are taken to grow with the way that a step went, by the change
           of size, and that share to change evenly from step to step
    """
    beside = [
        (other - number, step) for other, step in known if other != number and abs(other - number) <= STEPS_BESIDE
    ] or [(other - number, step) for other, step in known if other != number]
    away = np.array([other for other, _ in beside], np.float64)
    sds = np.array([step.shift_sd_px for _, step in beside])
    grown = {other: step.motion.scale - 1 for other, step in known if step.motion}
    usual = float(np.median(list(grown.values())))
    told = abs(usual) > MOVED_SDS * float(np.median([step.scale_sd for _, step in known]))
    ways = {other: change / usual if told else 1.0 for other, change in grown.items()}
    way = np.array([ways[number + other] for other, _ in beside])
    design = np.stack([way, away * way], 1) / sds[:, None]
    spread = np.linalg.inv(design.T @ design + np.diag([0.0, 1 / DRIFT_PX**2]))
    shifts = np.array([_shift_px(step) for _, step in beside])
    expected = ways[number] * (spread @ design.T @ (shifts / sds[:, None]))[0]
    (step,) = (step for other, step in known if other == number)
    off = _shift_px(step) - expected
    return float(np.hypot(*off)), math.hypot(step.shift_sd_px, ways[number] * math.sqrt(float(spread[0, 0])))


def order_faults(steps: list[StepMeasured], lens: EquivalentLens, *, by_rail: bool) -> list[SeriesFault]:
    """Frames whose picture's size says that the focus did not move on from the frame before, or moved back."""
    found = []
    for number, step in enumerate(steps):
        way = way_by_picture(step, lens, by_rail)
        if way is None or not step.planned_mm:
            continue
        share, sd = way[0] / step.planned_mm, abs(way[1] / step.planned_mm)
        if share + MOVED_SDS * sd < OTHER_WAY:
            found.append(SeriesFault(number + 1, "lies before the one before it: by its size it is out of order"))
        elif abs(share) + sd < SAME_PLACE:
            found.append(SeriesFault(number + 1, "lies where the one before it lies: by its size it was taken twice"))
    return found
