"""Focus series: how many frames cover a depth, how far apart, and what a focus ring does to the scale.

On a rail the camera moves and the ratio at the plane of focus stays; steps are equal on the piece. On the
ring the steps are equal at the sensor, grow on the piece, and the picture changes size from frame to frame.
Above about life size move the camera (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.optics.arrangement import bare
from session.optics.depth import depth_of_lens
from session.optics.framing import positive_magnification
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

# The quotient of two depths is rounded to this before it is rounded up: (0.36 + 3·0.252 − 0.36)/0.252 comes
# out as 3.0000000000000004 in floats and must not cost a frame.
QUOTIENT_DIGITS = 9

# A series longer than this is a slip in a number, not a plan. Common practice, no source.
MOST_FRAMES = 10_000


class EndlessSeriesError(ValueError):
    """A series would take more frames than anybody would; the text says how many are the most."""


@dataclass(frozen=True)
class FocusSteps:
    """A series of equal steps on the piece.

    frames   how many
    step_mm  from one plane of focus to the next; 0 for a single frame
    span_mm  depth covered, at least the relief
    """

    frames: int
    step_mm: float
    span_mm: float


@dataclass(frozen=True)
class RingStep:
    """One plane of focus of a ring series; distances from the front principal plane, mm."""

    subject_distance_mm: float
    magnification: float
    near_limit_mm: float
    far_limit_mm: float


@dataclass(frozen=True)
class Refocus:
    """The effects of turning the ring to a plane farther away.

    magnification  at the new plane
    ring_shift_mm  how much nearer the lens comes to the sensor, mm
    scale          ratio at the new plane / at the old one, <= 1
    still_scale    new size / old of whatever has not moved, <= 1: by so much the frames of a series differ
    """

    magnification: float
    ring_shift_mm: float
    scale: float
    still_scale: float


def focus_steps(relief_mm: float, depth_mm: float, overlap: float = 0.25) -> FocusSteps:
    """Frames and step that cover the relief, each frame sharp over depth_mm.

    step = depth·(1 − overlap); frames = 1 when one depth covers, else ceil((relief − depth)/step) + 1

    relief_mm  depth of the piece that must be sharp, mm
    depth_mm   depth of field of one frame, mm
    overlap    share of each depth that the next one covers again, 0 to 0.95; 0.2 to 0.3 is usual (common
               practice, no source)
    Raises ValueError when an argument is out of range or the series would be absurdly long.
    Source: covering argument.
    """
    require(relief_mm=relief_mm, depth_mm=depth_mm, overlap=overlap)
    step_mm = depth_mm * (1 - overlap)
    beyond = round((relief_mm - depth_mm) / step_mm, QUOTIENT_DIGITS)
    frames = 1 if beyond <= 0 else math.ceil(beyond) + 1
    if frames > MOST_FRAMES:
        raise EndlessSeriesError(
            f"relief_mm is {relief_mm:.4g} mm, but at a depth of {depth_mm:.4g} mm that takes {frames} frames: "
            f"at most {MOST_FRAMES} make a series."
        )
    if frames == 1:
        return FocusSteps(1, 0.0, depth_mm)
    return FocusSteps(frames, step_mm, depth_mm + (frames - 1) * step_mm)


def planes_of_focus_mm(relief_mm: float, depth_mm: float, overlap: float = 0.25) -> tuple[float, ...]:
    """Where to focus, mm behind the nearest point of the relief, the surplus shared by both ends.

    Raises ValueError as focus_steps does.
    """
    series = focus_steps(relief_mm, depth_mm, overlap)
    first = (relief_mm - (series.frames - 1) * series.step_mm) / 2
    return tuple(first + k * series.step_mm for k in range(series.frames))


def ring_step_mm(effective_f_number: float, blur_circle_mm: float, overlap: float = 0.25) -> float:
    """Step of the lens towards the sensor for a ring series, mm: 2·N_e·c·(1 − overlap).

    On the piece it is about 1/m² of that. Raises ValueError. Source: Smith, Modern Optical Engineering,
    ch. 9, eqs 9.7 and 9.8.
    """
    require(effective_f_number=effective_f_number, blur_circle_mm=blur_circle_mm, overlap=overlap)
    return 2 * effective_f_number * blur_circle_mm * (1 - overlap)


def ring_series(
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    blur_circle_mm: float,
    behind_mm: float,
    overlap: float = 0.25,
    pupil_magnification: float = 1.0,
) -> tuple[RingStep, ...]:
    """Planes of focus of a ring series, nearest first, until the last far limit reaches behind_mm.

    magnification  at the first plane, m > 0
    behind_mm      how far behind the first plane the piece still has to be sharp, mm
    The front principal plane is taken as fixed; each step is taken at the ratio reached so far.
    Raises ValueError when an argument is out of range or the series would be absurdly long. Derived.
    """
    require(focal_length_mm=focal_length_mm, behind_mm=behind_mm, overlap=overlap)
    ratio = positive_magnification(magnification)
    last_mm = focal_length_mm * (1 + 1 / ratio) + behind_mm
    planes: list[RingStep] = []
    while ratio > 0 and len(planes) < MOST_FRAMES:
        lens = bare(focal_length_mm, f_number, ratio, pupil_magnification)
        depth = depth_of_lens(lens, blur_circle_mm)
        at_mm = lens.subject_distance_mm
        planes.append(RingStep(at_mm, ratio, at_mm - depth.near_mm, at_mm + depth.far_mm))
        if at_mm + depth.far_mm >= last_mm - 10**-QUOTIENT_DIGITS:
            return tuple(planes)
        ratio -= ring_step_mm(lens.effective_f_number, blur_circle_mm, overlap) / focal_length_mm
    raise ImpossibleNumbersError(
        f"behind_mm is {behind_mm:.4g} mm, but at f/{f_number:.3g} no ring series of up to {MOST_FRAMES} frames "
        "reaches that far."
    )


def refocus(
    focal_length_mm: float, magnification: float, farther_mm: float, pupil_magnification: float = 1.0
) -> Refocus:
    """The ring's effects between a plane at ratio m and a plane farther_mm behind.

    Exact for a lens of fixed focal length whose front stays where it is; the small-step rule Δv = m²·Δu
    overstates the shift. A thing that stays where it is keeps its place before the entrance pupil, and its image
    shrinks only as the exit pupil comes nearer to the sensor: still_scale = (m' + P)/(m + P).
    Raises ValueError when an argument is out of range. Source: derived from u = f·(1 + 1/m) and v_X = f·(m + P).
    """
    require(focal_length_mm=focal_length_mm, farther_mm=farther_mm, pupil_magnification=pupil_magnification)
    ratio = positive_magnification(magnification)
    new_ratio = focal_length_mm / (focal_length_mm / ratio + farther_mm)
    still_scale = (new_ratio + pupil_magnification) / (ratio + pupil_magnification)
    return Refocus(new_ratio, focal_length_mm * (ratio - new_ratio), new_ratio / ratio, still_scale)
