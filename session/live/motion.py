"""Where a live picture went since a key picture: least squares on the pixels, coarse to fine.

A frame is the key picture moved by (right, down), with another brightness g and another black o:

    F(x, y) = g · K(x − right, y − down) + o  ≈  g·K + o − g·right·∂K/∂x − g·down·∂K/∂y

which is linear in its four unknowns for shifts of up to a third of a pixel. So the key picture is moved by whole and
half pixels to where the frame is guessed to be, and only the rest is solved for; where that is too much, it is the next
guess. The moved key picture, its slopes and its pseudo-inverse are worked out once, and a frame costs one product
a round, without being interpolated. The pictures are averaged down first (`LiveGrey.small`), which takes noise and
coding out; what is left is a few thousandths of a live pixel on a still set, and shifts are right to about a hundredth
of themselves.

Source: Lucas and Kanade, An iterative image registration technique, IJCAI 1981 (value from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.live.decode import Floats, LiveGrey
from session.picture.linear_light import block_means
from session.units.refusals import UnlikeShapesError

COARSER = 3
"""The first look is at a picture averaged down by this once more."""

REACH_PX, COARSE_REACH_PX = 6, 4
"""How far a shift is followed at each scale: 36 px of a live picture of 1024 x 680, and, less closely, 72 px, where
detail is coarse enough. A picture that goes farther isn't swinging but was moved. The room is cut from the picture."""

ROUNDS = 6
NEAR_PX = 0.3
"""From the half pixel that the key picture was moved to; a step within this is the last."""

HALF = np.array([-5, 49, -245, 1225, 1225, -245, 49, -5]) / 2048
"""Weights of the eight pixels around for the value between two (Lagrange). Symmetric: all detail moves alike."""

SLOPE = np.array([-1, 9, -45, 0, 45, -9, 1]) / 60
"""Central difference of sixth order: right to a hundredth for detail down to six pixels. Worked out."""

FAINT_CODES_PER_PX = 0.1
"""Slope of the averaged-down picture that counts as none: twice what noise of 2 codes leaves of itself there at
1024 x 680. Worked out."""

LEAST_LIKENESS = 0.6
"""Share of the frame's contrast that the moved key picture must explain; below it shows something else. Chosen."""


@dataclass(frozen=True)
class Displacement:
    """Where the content went, live px, and how much of the frame's contrast is explained by that, ≤ 1."""

    right_px: float
    down_px: float
    likeness: float

    @property
    def found(self) -> bool:
        return self.likeness >= LEAST_LIKENESS


class KeyPicture:
    """A picture on which live pictures are registered, worked out once."""

    def __init__(self, picture: LiveGrey) -> None:
        self.shape, self._times = picture.shape, picture.times
        fine = smooth(picture.small)
        coarse = smooth(block_means(fine, COARSER, COARSER))
        self._fine, self._coarse = _Level(fine, REACH_PX), _Level(coarse, COARSE_REACH_PX)

    def displacement(self, picture: LiveGrey) -> Displacement:
        """Where the key picture's content lies in a live picture. Raises ValueError when the shapes differ."""
        if picture.shape != self.shape:
            raise UnlikeShapesError(self.shape, picture.shape)
        fine = smooth(picture.small)
        right, down, _ = self._coarse.shift(smooth(block_means(fine, COARSER, COARSER)), 0.0, 0.0)
        right, down, likeness = self._fine.shift(fine, right * COARSER, down * COARSER)
        return Displacement(right * self._times, down * self._times, likeness)


class _Level:
    """The key picture at one scale; its rim is room for the shift."""

    def __init__(self, key: Floats, reach_px: int) -> None:
        self._key, self._reach = key, min(reach_px, (min(key.shape) - 1) // 4)
        self._moved: dict[tuple[float, float], tuple[Floats, Floats]] = {}

    def shift(self, frame: Floats, right: float, down: float) -> tuple[float, float, float]:
        """Shift at hand and likeness, beginning at a guess."""
        m, (height, width) = self._reach, self._key.shape
        for _ in range(ROUNDS):
            near_right, near_down = (math.floor(2 * min(max(value, -m), m) + 0.5) / 2 for value in (right, down))
            whole_right, whole_down = math.floor(near_right), math.floor(near_down)
            columns, solve = self._parts_at(near_right - whole_right, near_down - whole_down)
            part = frame[m + whole_down : height - m + whole_down, m + whole_right : width - m + whole_right].ravel()
            found = solve @ part
            gain = float(found[0])
            if gain < 1e-3:
                return near_right, near_down, 0.0
            step = float(found[2]) / gain, float(found[3]) / gain
            right, down = near_right + step[0], near_down + step[1]
            if max(abs(step[0]), abs(step[1])) < NEAR_PX:
                break
        contrast = float(part.var())
        likeness = 1 - float((part - found @ columns).var()) / contrast if contrast > 0 else 0.0
        return right, down, likeness

    def _parts_at(self, right: float, down: float) -> tuple[Floats, Floats]:
        """The key picture's parts of which a frame is the sum, (4, pixels of the inner part), and their pseudo-inverse.

        right, down  0, or half a pixel by which the parts lie off
        """
        if (right, down) not in self._moved:
            m = self._reach
            key = _along(self._key, HALF, 0) if down else self._key
            key = _along(key, HALF, 1) if right else key
            slopes = (_along(key, SLOPE, axis)[m:-m, m:-m] for axis in (1, 0))
            inner = key[m:-m, m:-m]
            parts = [inner - inner.mean(), np.ones_like(inner), *(-slope for slope in slopes)]
            columns = np.stack([part.ravel() for part in parts]).astype(np.float64)
            # where there is no more detail than this one way, nothing is seen of a shift that way; it counts as none
            held = columns.shape[1] * np.diag([1e-3, 1e-3, FAINT_CODES_PER_PX**2, FAINT_CODES_PER_PX**2])
            solve = np.linalg.solve(columns @ columns.T + held, columns)
            self._moved[right, down] = columns.astype(np.float32), solve.astype(np.float32)
        return self._moved[right, down]


def _along(values: Floats, taps: NDArray[np.float64], axis: int) -> Floats:
    """Each value's neighbours along the axis times the taps, the one in the middle, or next after it, being its own."""
    before = len(taps) // 2
    room = [(0, 0), (0, 0)]
    room[axis] = before, len(taps) - 1 - before
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(values, room, "reflect"), len(taps), axis)
    moved: Floats = windows @ taps.astype(np.float32)
    return moved


def smooth(values: Floats) -> Floats:
    """Binomial low pass of five pixels each way, (height, width) to (height - 4, width - 4).

    Detail that differences of neighbours would misjudge is gone after it.
    """
    for _ in range(2):
        values = values[:-2] + 2 * values[1:-1] + values[2:]
        values = values[:, :-2] + 2 * values[:, 1:-1] + values[:, 2:]
    return values * np.float32(1 / 256)
