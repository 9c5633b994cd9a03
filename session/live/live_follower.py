"""Shift, turn and scale of a live picture against a key picture of the same light, fast enough for every frame.

As `motion`, with two more unknowns: a turn φ and a growth e about the middle, x and y counted from there:

    F ≈ g·K + o − right·K_x − down·K_y − φ·(x·K_y − y·K_x) − e·(x·K_x + y·K_y)

The motion found is taken out of the frame and the rest is looked for again. It follows what hands do from frame to
frame; how the key picture itself lies against a reference of other light is for `against`.
"""

from __future__ import annotations

import math

import numpy as np

from session.live.decode import Floats, LiveGrey
from session.live.motion import LEAST_LIKENESS, smooth
from session.picture.displacement import Motion, moved_back
from session.units.refusals import UnlikeShapesError

ROUNDS = 8
CLOSE_PX = 0.02
"""At hand, at the picture's rim; a round that changes less is the last."""

RIM_PX = 6
"""Left out all around: what a motion brings in there isn't in the key picture."""


class Follower:
    """A key picture, worked out once for all frames that are compared with it."""

    def __init__(self, picture: LiveGrey) -> None:
        self.shape, self._times = picture.shape, picture.times
        key = smooth(picture.small)
        height, width = key.shape
        down, right = np.gradient(key)
        y, x = (np.arange(n, dtype=np.float32) - (n - 1) / 2 for n in (height, width))
        turn = x[None] * down - y[:, None] * right
        grow = x[None] * right + y[:, None] * down
        self._inner = slice(RIM_PX, height - RIM_PX), slice(RIM_PX, width - RIM_PX)
        parts = [key - key.mean(), np.ones_like(key), -right, -down, -turn, -grow]
        columns = np.stack([part[self._inner].ravel() for part in parts]).astype(np.float64)
        # each unknown by its own size, so that what holds an undetermined one doesn't bend the others
        size = np.maximum(np.sqrt((columns**2).sum(axis=1)), 1e-6)
        scaled = columns / size[:, None]
        solve = np.linalg.solve(scaled @ scaled.T + 1e-6 * np.eye(6), scaled) / size[:, None]
        self._solve: Floats = solve.astype(np.float32)
        self._columns: Floats = columns.astype(np.float32)
        self._radius_px = math.hypot(height, width) / 2

    def motion(self, picture: LiveGrey, start: Motion) -> Motion | None:
        """The motion, live px, of the key picture's content to this picture; None when the search finds no motion.

        start   the motion from which the search begins

        Raises ValueError when the shapes differ.
        """
        if picture.shape != self.shape:
            raise UnlikeShapesError(self.shape, picture.shape)
        frame = smooth(picture.small)
        motion = start.times(1 / self._times)
        for _ in range(ROUNDS):
            back = moved_back(frame, motion)[self._inner].ravel()
            found = self._solve @ back
            gain, right, down, turn, grow = (float(found[k]) for k in (0, 2, 3, 4, 5))
            if gain < 1e-3:
                return None
            rest = Motion(right / gain, down / gain, math.degrees(turn / gain), 1 + grow / gain)
            motion = motion.after(rest)
            far_px = math.hypot(right, down) + self._radius_px * math.hypot(turn, grow)
            if far_px < CLOSE_PX * gain:
                break
        left = float((back - found @ self._columns).var())
        likeness = 1 - left / max(float(back.var()), 1e-9)
        return motion.times(self._times) if likeness >= LEAST_LIKENESS else None
