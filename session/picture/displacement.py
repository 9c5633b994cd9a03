"""Where the content of one picture lies in another: shift, turn and scale, from the shifts of many tiles.

A motion maps the reference's content onto the frame's: +right, +down, turn clockwise as seen, scale above 1 larger.
Places are in pixels, the first pixel covering 0…1, and turns are about the picture's middle.

Each tile is registered by phase correlation; the motion that most tiles agree on is fitted (four parameters, least
squares with Tukey's weights from a start that no outlier can spoil), the frame is moved back by it, and what is
left is measured again. Tiles that don't agree say that only a part of the picture moved.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.picture.linear_light import ONE_CODE
from session.picture.noise import MEDIAN_TO_SD
from session.picture.registration import Contrast, Shift, contrast_of, shift_between

TILES_ACROSS = 7
"""Columns of tiles; rows follow by the picture's shape, so that tiles are about square. At the overview's 700 to
1400 px a tile has 100 to 200 px: enough for a peak, few enough rows for a turn to stay inside it. Chosen."""

LIKE = 0.35
"""A tile less like its fellow than this is not counted: flat, or showing something else. Above the limit for whole
pictures (`registration.LEAST_LIKENESS`) since a tile has fewer details to agree by. Chosen."""

TEXTURED_EV = 0.15
"""Standard deviation of a tile's light below which it has no detail to register by: noise of 3 codes at mid grey is
0.08 EV (worked out from sRGB). Twice that."""

AGREES_PX = 0.6
"""A tile within this of the fitted motion moved with it: six times the error of one tile's shift. Chosen."""

FEWEST_TILES = 5
"""Four parameters need two tiles; five let three of them contradict. Chosen."""

ROUNDS = 3
CLOSE_PX = 0.15
"""The search ends when what is left moves no corner by more than this."""

TURNS_TRIED_DEG = (0.0, -1.5, 1.5, -3.0, 3.0, -4.5, 4.5)
"""A tile of 150 px turned by 0.75° is smeared by 1 px at its rim, which phase correlation bears. Worked out."""

STILL_PX = 1.0
"""A picture that seems to have moved by less isn't moved back before its tiles are registered, which is as exact that
close and saves the time: a tile of 100 px still holds 99 % of what it held. Worked out."""

COARSE_PX = 200
"""Long side of the picture on which turns are tried. Chosen."""


@dataclass(frozen=True)
class Motion:
    """x' = scale · R(turn) · (x − middle) + middle + (right, down).

    turn_deg  clockwise as seen
    """

    right_px: float = 0.0
    down_px: float = 0.0
    turn_deg: float = 0.0
    scale: float = 1.0

    @property
    def matrix(self) -> NDArray[np.float64]:
        """(2, 2), for columns (right, down)."""
        angle = math.radians(self.turn_deg)
        c, s = self.scale * math.cos(angle), self.scale * math.sin(angle)
        return np.array([[c, -s], [s, c]])

    def move(self, places: NDArray[np.float64], middle: NDArray[np.float64]) -> NDArray[np.float64]:
        """Places (n, 2) of (right, down) in the reference, in the frame."""
        out: NDArray[np.float64] = (places - middle) @ self.matrix.T + middle + (self.right_px, self.down_px)
        return out

    def after(self, first: Motion) -> Motion:
        """The motion `first` and then this motion, as one, about the same middle."""
        right, down = self.matrix @ (first.right_px, first.down_px) + (self.right_px, self.down_px)
        return Motion(float(right), float(down), self.turn_deg + first.turn_deg, self.scale * first.scale)

    def times(self, factor: float) -> Motion:
        """The motion on a picture `factor` times as large."""
        return replace(self, right_px=self.right_px * factor, down_px=self.down_px * factor)


@dataclass(frozen=True, eq=False)
class Tiles:
    """The tiles' measurements at the motion found.

    centres  (n, 2) places of the tiles in the reference, px
    left     (n, 2) what each tile's content moved beyond the motion, px
    alike    (n,) whether the tile shows the same in both pictures, so that its shift counts
    textured (n,) whether the reference has detail there
    size_px  (width, height) of a tile
    """

    centres: NDArray[np.float64]
    left: NDArray[np.float64]
    alike: NDArray[np.bool_]
    textured: NDArray[np.bool_]
    size_px: tuple[int, int]

    @property
    def agreeing(self) -> NDArray[np.bool_]:
        """(n,) whether a tile moved with the motion."""
        near: NDArray[np.bool_] = np.hypot(*self.left.T) < AGREES_PX
        return self.alike & near


@dataclass(frozen=True, eq=False)
class Before:
    """The reference cut into tiles, as it is registered; worth keeping.

    corners   (n) left and upper edge of each tile, px
    contrasts, textured   of each tile
    """

    light: NDArray[np.float32]
    size_px: tuple[int, int]
    corners: list[tuple[int, int]]
    contrasts: list[Contrast]
    textured: NDArray[np.bool_]


def before_of(light: NDArray[np.float32]) -> Before:
    """The tiles of a reference, (height, width) linear light."""
    height, width = light.shape
    across = width // TILES_ACROSS
    rows = max(1, round(height / across))
    down = height // rows
    corners = [(left * across, top * down) for top in range(rows) for left in range(TILES_ACROSS)]
    tiles = [light[y : y + down, x : x + across] for x, y in corners]
    scatter = [float(np.std(np.log2(tile + np.float32(4 * ONE_CODE)))) for tile in tiles]
    contrasts = [contrast_of(tile) for tile in tiles]
    return Before(light, (across, down), corners, contrasts, np.array(scatter) > TEXTURED_EV)


def motion_between(
    reference: NDArray[np.float32] | Before, frame: NDArray[np.float32] | Before, start: Shift | Motion
) -> tuple[Motion, Tiles] | None:
    """Motion from reference to frame, (height, width) linear light each, and the tiles by which it was measured.

    start  where the whole picture seems to have gone, or how it is likely to have moved, px of these arrays
    None when too few tiles agree on a motion.
    """
    before = reference if isinstance(reference, Before) else before_of(reference)
    after = frame if isinstance(frame, Before) else None
    light = frame.light if isinstance(frame, Before) else frame
    height, width = light.shape
    middle = np.array([width / 2, height / 2])
    corners = np.array([[0, 0], [width, 0], [0, height], [width, height]], np.float64)
    best = _refine(before, light, _first_guess(start), middle, corners, after)
    if best is not None and best[1].agreeing.mean() >= 0.5:
        return best
    return _refine(before, light, _coarse(before.light, light), middle, corners, after)


def _first_guess(start: Shift | Motion) -> Motion:
    if isinstance(start, Motion):
        return start
    near = math.hypot(start.right_px, start.down_px) < STILL_PX
    return Motion(start.right_px, start.down_px) if start.found and not near else Motion()


def _refine(
    before: Before,
    frame: NDArray[np.float32],
    motion: Motion,
    middle: NDArray[np.float64],
    corners: NDArray[np.float64],
    after: Before | None,
) -> tuple[Motion, Tiles] | None:
    """The motion, sought from `motion` on; `after`: the frame's own tiles, which serve while it isn't moved back."""
    for _ in range(ROUNDS):
        as_it_lies = after.contrasts if after is not None and motion == Motion() else None
        tiles = _tiles(before, moved_back(frame, motion), motion, middle, as_it_lies)
        if tiles.alike.sum() < FEWEST_TILES:
            return None
        rest = fit_motion(tiles.centres[tiles.alike], tiles.left[tiles.alike], middle)
        motion = motion.after(rest)
        beyond = tiles.left - (rest.move(tiles.centres, middle) - tiles.centres)
        tiles = replace(tiles, left=beyond)
        if np.abs(rest.move(corners, middle) - corners).max() < CLOSE_PX:
            break
    return (motion, tiles) if tiles.agreeing.sum() >= FEWEST_TILES else None


def moved_back(frame: NDArray[np.float32], motion: Motion) -> NDArray[np.float32]:
    """The frame, (height, width), as it would lie without the motion; black where it shows nothing.

    Bilinear, since Pillow's bicubic puts a coarse wave that is to move by 0.25 px at 0.34 px; what bilinear takes
    from fine detail, registration doesn't use.
    """
    if motion == Motion():
        return frame
    height, width = frame.shape
    a, b, d, e = motion.matrix.ravel()
    c = width / 2 - a * width / 2 - b * height / 2 + motion.right_px
    f = height / 2 - d * width / 2 - e * height / 2 + motion.down_px
    picture = Image.fromarray(frame).transform(
        (width, height), Image.Transform.AFFINE, (a, b, c, d, e, f), Image.Resampling.BILINEAR
    )
    back: NDArray[np.float32] = np.maximum(np.asarray(picture), np.float32(0))
    return back


def _tiles(
    before: Before,
    back: NDArray[np.float32],
    motion: Motion,
    middle: NDArray[np.float64],
    contrasts: Sequence[Contrast] | None,
) -> Tiles:
    """The tiles' shifts in a frame that was moved back; `contrasts`: of its tiles, where they are known."""
    height, width = back.shape
    across, down = before.size_px
    centres = np.array([(x + across / 2, y + down / 2) for x, y in before.corners])
    left = np.zeros_like(centres)
    alike, textured = np.zeros(len(centres), bool), np.zeros(len(centres), bool)
    for number, (x, y) in enumerate(before.corners):
        rim = motion.move(np.array([(x + i * across, y + j * down) for i in (0, 1) for j in (0, 1)], float), middle)
        if rim.min() < 0 or (rim > (width, height)).any():
            continue  # part of it lies outside the frame
        tile = back[y : y + down, x : x + across] if contrasts is None else contrasts[number]
        shift = shift_between(before.contrasts[number], tile, most_px=min(across, down) / 3)
        left[number] = shift.right_px, shift.down_px
        textured[number] = before.textured[number]
        alike[number] = textured[number] and shift.likeness >= LIKE
    return Tiles(centres, left, alike, textured, before.size_px)


def fit_motion(places: NDArray[np.float64], shifts: NDArray[np.float64], middle: NDArray[np.float64]) -> Motion:
    """The motion that most of the shifts, (n, 2) at places (n, 2), agree on; it turns about the middle, (2,)."""
    from_middle = places - middle
    weights = _start_weights(from_middle, shifts)
    for _ in range(10):
        p, q, right, down = _least_squares(from_middle, shifts, weights)
        turned = np.stack(
            [p * from_middle[:, 0] - q * from_middle[:, 1], q * from_middle[:, 0] + p * from_middle[:, 1]]
        )
        off = np.hypot(*(shifts.T - turned - np.array([[right], [down]])))
        spread = max(AGREES_PX / 2, MEDIAN_TO_SD * float(np.median(off[weights > 0])))
        weights = np.where(off < 3 * spread, (1 - (off / (3 * spread)) ** 2) ** 2, 0.0)
    return Motion(right, down, math.degrees(math.atan2(q, 1 + p)), math.hypot(1 + p, q))


def _least_squares(
    from_middle: NDArray[np.float64], shifts: NDArray[np.float64], weights: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    """(p, q, right, down) of the shift (p·x − q·y + right, q·x + p·y + down)."""
    x, y = from_middle.T
    one, none, root = np.ones_like(x), np.zeros_like(x), np.sqrt(np.tile(weights, 2))
    design = np.concatenate([np.stack([x, -y, one, none], 1), np.stack([y, x, none, one], 1)])
    found = np.linalg.lstsq(design * root[:, None], shifts.T.ravel() * root, rcond=None)[0]
    p, q, right, down = (float(value) for value in found)
    return p, q, right, down


def _start_weights(from_middle: NDArray[np.float64], shifts: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 for the tiles that agree with the motion of that pair of tiles with which most agree."""
    z, d = from_middle @ (1, 1j), shifts @ (1, 1j)
    first, second = np.triu_indices(len(z), 1)
    apart = z[second] - z[first]
    grown = (d[second] - d[first]) / apart
    at = d[first] - grown * z[first]
    off = np.abs(d[None, :] - (grown[:, None] * z[None, :] + at[:, None]))
    within = off < 2 * AGREES_PX
    plausible = np.abs(grown) < 0.12  # a turn of 6° or a tenth in scale; more is a chance pair
    votes = np.where(plausible, within.sum(axis=1) - off.clip(0, 2 * AGREES_PX).mean(axis=1), -1.0)
    agreeing: NDArray[np.float64] = within[int(votes.argmax())].astype(np.float64)
    return agreeing


def _coarse(reference: NDArray[np.float32], frame: NDArray[np.float32]) -> Motion:
    """Turn and shift by trying a few turns on small pictures."""
    times = max(1, max(reference.shape) // COARSE_PX)
    small, other = (_smaller(picture, times) for picture in (reference, frame))
    tried = []
    for turn_deg in TURNS_TRIED_DEG:
        shift = shift_between(small, moved_back(other, Motion(turn_deg=turn_deg)))
        tried.append((shift.likeness, Motion(turn_deg=turn_deg).after(Motion(shift.right_px, shift.down_px))))
    return max(tried, key=lambda one: one[0])[1].times(times)


def _smaller(picture: NDArray[np.float32], times: int) -> NDArray[np.float32]:
    height, width = picture.shape[0] // times * times, picture.shape[1] // times * times
    # trimmed on both sides, so that the middle stays the middle
    top, left = (picture.shape[0] - height) // 2, (picture.shape[1] - width) // 2
    cut = picture[top : top + height, left : left + width]
    means: NDArray[np.float32] = cut.reshape(height // times, times, width // times, times).mean((1, 3), np.float32)
    return means
