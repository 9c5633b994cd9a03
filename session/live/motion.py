"""Where a live picture went since a key picture: least squares on the pixels, coarse to fine.

A frame is the key picture moved by (right, down), with another brightness g and another black o:

    F(x, y) = g · K(x − right, y − down) + o  ≈  g·K + o − g·right·∂K/∂x − g·down·∂K/∂y

which is linear in its four unknowns, so the key picture's pseudo-inverse is worked out once and a frame costs one
product a round. The shift found is taken out of the frame and the rest is looked for again. The pictures are
averaged down first (`LiveGrey.small`), which takes noise and coding out; what is left is a few thousandths of a live
pixel on a still set. Interpolating between pixels makes shifts of about a live pixel read a few hundredths too
large (tests/session/live/test_motion.py).

Source: Lucas and Kanade, An iterative image registration technique, IJCAI 1981 (value from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from session.checks.light import block_means
from session.live.decode import Floats, LiveGrey

COARSER = 3
"""The first look is at a picture averaged down by this once more."""

REACH_PX = 4
"""How far a shift is followed at each scale: 72 px of a live picture of 1024 x 680, where detail is coarse enough. What
goes farther isn't swinging but was moved."""

ROUNDS = 6
CLOSE_PX = 0.02
"""At hand; a round that changes less is the last. The rest is under a hundredth of a live pixel's blur limit."""

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
    """A picture that others are registered on, worked out once."""

    def __init__(self, picture: LiveGrey) -> None:
        self.shape, self._times = picture.shape, picture.times
        fine = smooth(picture.small)
        self._fine, self._coarse = _Level(fine), _Level(smooth(block_means(fine, COARSER, COARSER)))

    def displacement(self, picture: LiveGrey) -> Displacement:
        """Where the key picture's content lies in this one. Raises ValueError when the shapes differ."""
        if picture.shape != self.shape:
            raise ValueError(f"shapes differ: {self.shape} and {picture.shape}")
        fine = smooth(picture.small)
        right, down, _ = self._coarse.shift(smooth(block_means(fine, COARSER, COARSER)), 0.0, 0.0)
        right, down, likeness = self._fine.shift(fine, right * COARSER, down * COARSER)
        return Displacement(right * self._times, down * self._times, likeness)


class _Level:
    """The key picture at one scale; its rim is room for the shift."""

    def __init__(self, key: Floats) -> None:
        m = self._reach = min(REACH_PX, (min(key.shape) - 1) // 4)
        inner = key[m:-m, m:-m]
        right = (key[m:-m, m + 1 : key.shape[1] - m + 1] - key[m:-m, m - 1 : -m - 1]) / 2
        down = (key[m + 1 : key.shape[0] - m + 1, m:-m] - key[m - 1 : -m - 1, m:-m]) / 2
        parts = [inner - inner.mean(), np.ones_like(inner), -right, -down]
        columns = np.stack([part.ravel() for part in parts]).astype(np.float64)
        # where there is no more detail than this one way, nothing is seen of a shift that way, and it counts as none
        held = columns.shape[1] * np.diag([1e-3, 1e-3, FAINT_CODES_PER_PX**2, FAINT_CODES_PER_PX**2])
        self._columns: Floats = columns.astype(np.float32)
        self._solve: Floats = np.linalg.solve(columns @ columns.T + held, columns).astype(np.float32)
        self._size = inner.shape

    def shift(self, frame: Floats, right: float, down: float) -> tuple[float, float, float]:
        """Shift at hand and likeness, beginning at a guess."""
        likeness = 0.0
        for _ in range(ROUNDS):
            right, down = (min(max(value, -self._reach), self._reach) for value in (right, down))
            moved = self._moved_back(frame, right, down)
            found = self._solve @ moved
            gain = float(found[0])
            if gain < 1e-3:
                return right, down, 0.0
            step = float(found[2]) / gain, float(found[3]) / gain
            right, down = right + step[0], down + step[1]
            if max(abs(step[0]), abs(step[1])) < CLOSE_PX:
                break
        contrast = float(moved.var())
        if contrast > 0:
            likeness = 1 - float((moved - found @ self._columns).var()) / contrast
        return right, down, likeness

    def _moved_back(self, frame: Floats, right: float, down: float) -> Floats:
        """The frame's part that lies under the key picture's inner part, flat; bilinear between pixels."""
        height, width = self._size
        top, left = int(np.floor(down)), int(np.floor(right))
        b, a = np.float32(down - top), np.float32(right - left)
        top, left = top + self._reach, left + self._reach
        part = frame[top : top + height + 1, left : left + width + 1]
        missing = height + 1 - part.shape[0], width + 1 - part.shape[1]
        if any(missing):  # at the end of the reach, where the share of the pixel beyond is none
            part = np.pad(part, ((0, missing[0]), (0, missing[1])), "edge")
        across = part[:, :-1] + a * (part[:, 1:] - part[:, :-1])
        return (across[:-1] + b * (across[1:] - across[:-1])).ravel()


def smooth(values: Floats) -> Floats:
    """Binomial low pass of five pixels each way, two pixels shorter at each edge; detail that differences of
    neighbours would misjudge is gone after it."""
    for _ in range(2):
        values = values[:-2] + 2 * values[1:-1] + values[2:]
        values = values[:, :-2] + 2 * values[:, 1:-1] + values[:, 2:]
    return values * np.float32(1 / 256)
