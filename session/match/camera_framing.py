"""How the camera stands to the reference's view: shift, turn, distance and tilt, as moves of the camera in mm and °.

Content of the reference at (x, y) from the middle of the picture, mm on the piece, lies in the frame at

    (x, y) + (right, down) + p·(x, y) + q·(−y, x) + a·(x² − ⟨x²⟩, x·y) + b·(x·y, y² − ⟨y²⟩)

p is the growth, q the turn; a and b make what is nearer larger (central projection): a camera turned by a small angle
about an upright or a level axis at the distance u does that, a = tan(angle) / u, and shifts the picture by
u·tan(angle). A camera moved sideways shifts the picture alone. On a flat piece the two therefore part only by a and b.
⟨ ⟩ are means over the picture, so that (right, down) is how far the whole of it lies off: shifted back by that, a
turned camera shows the least that a shift can leave. The six numbers are fitted to the shifts of many tiles, with
Tukey's weights, and each is told with its standard deviation.

Parts at other heights lie off that by parallax: along one direction where the camera stands beside its old place, along
the radius where it stands nearer or farther, however well the picture's middle is framed.

+right, +down in the picture, turn clockwise as seen. Moves are those of the camera that bring the old picture back.
Sources: central projection; turn before shift, in turn, W. Feng, F.-P. Tian, Q. Zhang, J. Sun, CVPR 2016; Tukey's
biweight, Holland and Welsch, Commun. Statist. A6 (1977) 813 (value from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.picture.displacement import (
    TURNS_TRIED_DEG,
    Before,
    Motion,
    Tiles,
    before_of,
    motion_between,
    moved_back,
)
from session.picture.linear_light import block_means
from session.picture.noise import MEDIAN_TO_SD
from session.picture.registration import Shift, contrast_of, shift_between

Values = NDArray[np.float64]
Light = NDArray[np.float32]

TOLD_ACROSS_PX = 1024
"""Displacements are told as in a picture so wide, whatever the sensor's pixels."""

FEWEST_TILES = 8
"""Six unknowns need three tiles; so many contradict. Chosen."""

PARALLAX_PX = 0.2
"""What tiles leave about the fit, root of the mean square, px in a picture TOLD_ACROSS_PX wide, from which on that is
told as parallax: flat pieces of the simulated table left 0.1 at most, two with relief, from 30 % nearer, 0.16 to 0.6
(seed 17). Chosen."""

ALONG_RADIUS = 0.85
"""Share of it along the radius from which on the camera stands at another distance: from there 0.89 to 0.98, moved
sideways or turned 0.7 at most (seed 17). Chosen."""

NEAR_MIDDLE = 0.15
"""Share of the picture's width about its middle where the radius has no direction to tell by. Chosen."""

AGREEING_SHARE = 0.5
"""Of the tiles with detail inside both pictures so many must fit one motion: those that are alike by chance don't.
Chosen."""

TUKEY = 4.685
"""Standard deviations at which Tukey's weight ends: 95 % as sharp as least squares for normal errors."""

FIT_ROUNDS = 8
LEAST_OFF_PX = 0.02
"""What tiles scatter at least, px of the reduced picture: weights need a spread. Chosen."""

SMALL_PX, COARSE_PX = 320, 180
"""Least long sides of the pictures on which the first shift is looked for: as they are; turned and resized. Chosen."""

SCALES_TRIED = (0.7, 0.77, 0.84, 0.92, 1.0, 1.09, 1.19, 1.3, 1.42)
"""Sizes against the reference that are tried where the frame doesn't register as it is: 9 % apart, of which phase
correlation bears half. Chosen."""

SURELY_LIKE, LIKER = 0.8, 0.2
"""A picture so like the reference is laid right; one less like it that is so much liker at another size isn't. Chosen:
a small piece before a grain that stays with the pixels (simulated table, seed 309) came to 0.57 as it lay, and to 0.99
at the right size."""

SHAPES_ALIKE = 0.01
"""Sides may differ by this share between two bodies' pictures that count as of one shape. Chosen."""


@dataclass(frozen=True)
class Distances:
    """Of the piece, as recorded, mm.

    to_pupil_mm  to the entrance pupil: about it a turned camera sees the piece elsewhere
    to_focus_mm  to the front focal point: with the piece in focus its size goes with the inverse (Newton). Where the
                 focus was let alone it goes with the inverse of the longer `to_pupil_mm`, and the move told falls
    short."""

    to_pupil_mm: float
    to_focus_mm: float


@dataclass(frozen=True)
class Effects:
    """How far each part of the motion moves the features, mean px in a picture TOLD_ACROSS_PX wide.

    pan, tilt  what shifts don't bring back
    """

    right: float
    down: float
    turn: float
    farther: float
    farther_sd: float
    pan: float
    tilt: float


@dataclass(frozen=True)
class Framing:
    """What the camera must do to see what the reference shows, and how far the features lie off now.

    right_mm, down_mm   move of the camera along the picture's sides, mm at the piece, as far as it brings the whole
                        picture back
    turn_deg            turn about the lens's axis, clockwise as seen from behind the camera
    farther_mm          away from the piece; negative: nearer
    pan_deg, tilt_deg   turn to the right, and downwards; the picture shifts with it
    *_sd                one standard deviation of each
    effects_px          how far each of them moves the features
    other_distance      parts at other heights lie off along the radius: distance and ratio aren't those of then
    features_px         mean distance of the features from their places, px in a picture TOLD_ACROSS_PX wide
    """

    right_mm: float
    down_mm: float
    turn_deg: float
    farther_mm: float
    pan_deg: float
    tilt_deg: float
    right_sd_mm: float
    down_sd_mm: float
    turn_sd_deg: float
    farther_sd_mm: float
    pan_sd_deg: float
    tilt_sd_deg: float
    features_px: float
    features_sd_px: float
    effects_px: Effects
    other_distance: bool = False


@dataclass(frozen=True, eq=False)
class Laid:
    """A frame laid onto its reference.

    motion  of the content, px of the reference's arrays
    """

    framing: Framing
    motion: Motion


def lay(reference: Light, frame: Light, field_mm: float, distances: Distances) -> Laid | None:
    """The framing of a frame against the reference, each (height, width) linear light; None for pictures unlike.

    field_mm   width of the piece that the reference shows
    distances  as recorded
    """
    frame = at_size_of(frame, reference.shape)
    if frame.shape != reference.shape:
        return None
    before = before_of(reference)
    found = _motion(before, frame)
    if found is None:
        return None
    motion, tiles = found
    framing = _framing(motion, tiles, reference.shape, field_mm, distances)
    return Laid(framing, motion) if framing else None


def _motion(before: Before, frame: Light) -> tuple[Motion, Tiles] | None:
    """The motion from the reference, also where the frame is much larger or smaller, or turned."""
    start = _start(before.light, frame, SMALL_PX, (Motion(),))[0]
    found = motion_between(before, frame, start) if start.found else None
    if found is not None and _is_likeliest(before.light, frame, found[0]):
        return found
    several = tuple(Motion(turn_deg=turn, scale=scale) for scale, turn in product(SCALES_TRIED, TURNS_TRIED_DEG))
    start, first = _start(before.light, frame, COARSE_PX, several)
    found = motion_between(before, moved_back(frame, first), start)
    if found is None:
        return None
    motion = first.after(found[0])
    return (motion, found[1]) if _is_likeliest(before.light, frame, motion) else None


def _is_likeliest(reference: Light, frame: Light, motion: Motion) -> bool:
    """Whether the whole picture, moved back by this motion, is most like the reference, and not at another size.

    A pattern that stays with the sensor (dust, noise, a grain as fine as the pixels) agrees on no motion, and in more
    tiles than a small piece agrees on its own.
    """
    back = moved_back(frame, motion)
    likeness = _start(reference, back, COARSE_PX, (Motion(),))[0].likeness
    if likeness >= SURELY_LIKE:
        return True
    sizes = tuple(Motion(scale=scale) for scale in SCALES_TRIED if scale != 1.0)
    return _start(reference, back, COARSE_PX, sizes)[0].likeness <= likeness + LIKER


def _start(reference: Light, frame: Light, long_side_px: int, tried: Sequence[Motion]) -> tuple[Shift, Motion]:
    """The motion by which the frame, moved back, is most like the reference, and the shift that is left, px."""
    times = max(1, max(frame.shape) // long_side_px)
    small, other = (block_means(light, times, times) for light in (reference, frame))
    contrast = contrast_of(small)
    found = [(shift_between(contrast, moved_back(other, motion)), motion) for motion in tried]
    shift, motion = max(found, key=lambda one: one[0].likeness)
    return replace(shift, right_px=shift.right_px * times, down_px=shift.down_px * times), motion


def at_size_of(frame: Light, shape: tuple[int, ...]) -> Light:
    """A picture at the size of another one, (height, width); as it is where the two differ in shape.

    Another body's pixels are smaller or larger, but framed alike the picture shows the same from side to side.
    """
    if frame.shape == shape or not alike_in_shape(frame.shape, shape):
        return frame
    picture = Image.fromarray(frame).resize((shape[1], shape[0]), Image.Resampling.BOX)
    return np.asarray(picture, np.float32)


def alike_in_shape(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Whether two pictures, (height, width), have sides in the same ratio."""
    return abs(one[0] * other[1] / (one[1] * other[0]) - 1) <= SHAPES_ALIKE


def _framing(
    motion: Motion, tiles: Tiles, shape: tuple[int, ...], field_mm: float, distances: Distances
) -> Framing | None:
    height, width = shape
    middle = np.array([width / 2, height / 2])
    shifts = (motion.move(tiles.centres, middle) - tiles.centres + tiles.left)[tiles.alike]
    places = tiles.centres[tiles.alike] - middle
    if len(places) < FEWEST_TILES:
        return None
    found, covariance, trust = _fit(_columns(places, shape), shifts)
    right, down, growth, turn, across, along = found
    mm, u, x = field_mm / width, distances.to_pupil_mm, distances.to_focus_mm
    sds = np.sqrt(np.diag(covariance))
    times = TOLD_ACROSS_PX / width
    at_x, at_y = np.meshgrid(np.linspace(-width / 2, width / 2, 9), np.linspace(-height / 2, height / 2, 7))
    grid = np.stack([at_x.ravel(), at_y.ravel()], 1)
    columns = _columns(grid, shape)
    at_fit = columns @ found
    each = [float(np.hypot(*(columns[:, n] * found[n]).reshape(2, -1)).mean()) * times for n in range(6)]
    by_fit = float(np.hypot(*at_fit.reshape(2, -1)).mean())
    seen = trust > 0
    moved = motion.move(tiles.centres, middle)
    inside = ((moved > 0) & (moved < (width, height))).all(axis=1)
    if seen.sum() < max(FEWEST_TILES, AGREEING_SHARE * (tiles.textured & inside).sum()):
        return None
    by_tiles = float(np.hypot(*shifts[seen].T).mean()) if seen.any() else by_fit
    return Framing(
        right_mm=float(right) * mm,
        down_mm=float(down) * mm,
        turn_deg=math.degrees(math.atan2(float(turn), 1 + float(growth))),
        farther_mm=x * float(growth) / (1 + float(growth)),
        pan_deg=math.degrees(math.atan(float(across) / mm * u)),
        tilt_deg=math.degrees(math.atan(float(along) / mm * u)),
        right_sd_mm=float(sds[0]) * mm,
        down_sd_mm=float(sds[1]) * mm,
        turn_sd_deg=math.degrees(float(sds[3])),
        farther_sd_mm=x * float(sds[2]),
        pan_sd_deg=math.degrees(float(sds[4]) / mm * u),
        tilt_sd_deg=math.degrees(float(sds[5]) / mm * u),
        features_px=max(by_fit, by_tiles) * times,
        features_sd_px=float(np.sqrt(np.diag(columns @ covariance @ columns.T).mean())) * times,
        effects_px=Effects(
            right=each[0],
            down=each[1],
            turn=each[3],
            farther=each[2],
            farther_sd=each[2] * float(sds[2]) / max(abs(float(growth)), 1e-12),
            pan=each[4],
            tilt=each[5],
        ),
        other_distance=_is_from_other_distance(
            places, shifts - (_columns(places, shape) @ found).reshape(2, -1).T, width
        ),
    )


def _is_from_other_distance(places: Values, left: Values, width: int) -> bool:
    """Whether what the fit leaves, (n, 2) px at places (n, 2) from the middle, is parallax along the radius."""
    radius = np.hypot(*places.T)
    aside = radius > NEAR_MIDDLE * width
    if aside.sum() < FEWEST_TILES:
        return False
    whole = float((left[aside] ** 2).sum())
    along = float(((left[aside] * places[aside]).sum(axis=1) ** 2 / radius[aside] ** 2).sum())
    spread_px = math.sqrt(float((left**2).sum(axis=1).mean())) * TOLD_ACROSS_PX / width
    return spread_px >= PARALLAX_PX and along >= ALONG_RADIUS * whole


def _columns(places: Values, shape: tuple[int, ...]) -> Values:
    """(2n, 6) motion of every place by each unknown, right and then down.

    places  (n, 2) from the middle of a picture of that shape, (height, width), px
    """
    x, y = places.T
    one, none = np.ones_like(x), np.zeros_like(x)
    squared_x, squared_y = (values * values - side**2 / 12 for values, side in ((x, shape[1]), (y, shape[0])))
    return np.concatenate(
        [np.stack([one, none, x, -y, squared_x, x * y], 1), np.stack([none, one, y, x, x * y, squared_y], 1)]
    )


def _fit(design: Values, shifts: Values) -> tuple[Values, Values, Values]:
    """(6,) unknowns, (6, 6) their covariance, (n,) the tiles' weights.

    design  as of `_columns`; shifts (n, 2) px
    """
    wanted = shifts.T.ravel()
    trust = np.ones(len(shifts))
    found: Values = np.zeros(6)
    covariance: Values = np.eye(6)
    for _ in range(FIT_ROUNDS):
        both = np.tile(trust, 2)
        matrix = design.T @ (design * both[:, None])
        inverse = np.linalg.pinv(matrix)
        found = np.asarray(inverse @ (design.T @ (wanted * both)), np.float64)
        off = np.hypot(*(wanted - design @ found).reshape(2, -1))
        spread = max(MEDIAN_TO_SD * float(np.median(off)), LEAST_OFF_PX)
        free = max(2 * trust.sum() - 6, 1.0)
        covariance = np.asarray(inverse * float((trust * off**2).sum() / free), np.float64)
        trust = np.where(off < TUKEY * spread, (1 - (off / (TUKEY * spread)) ** 2) ** 2, 0.0)
    return found, covariance, trust
