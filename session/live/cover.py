"""Is something in the way: a hand over the region, a lamp moved, another piece; told from the coarse picture.

Focusing blurs fine detail and leaves the coarse picture as it was; a hand changes the coarse picture. So the live
picture is averaged down to blocks, and compared with how the same blocks looked about a second ago. What all blocks
do alike is light, and is taken out; what a block may take over from its neighbours by blur or a small shift is
allowed for. A hand of the piece's own tone is told by the differences between blocks that it takes away.

A change that stays, and stays the same, is a new scene: what was known of the old one is no measure for it. Comes the
old picture back, it is the old scene again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from session.checks.light import block_means
from session.live.contrast import SRGB_OFFSET_CODES
from session.live.decode import Floats, LiveGrey
from session.setup import Region

BLOCK = 4
"""Of `LiveGrey.small`: 24 live px at 1024 x 680."""

CHANGED, FROM_NEIGHBOURS = 0.1, 0.4
"""A block has changed when its brightness did by more than the first and this share of how far its neighbours differ;
natural logarithm of code + 14, 0.1 is 0.35 EV of light. On four photographs of 512 px blur of 6 px stayed under the
second alone; hands of three tones came to 0.2 and more above it, but on a wall of their own tone."""

LEVELLED, LEAST_UNEVEN = 0.35, 0.15
"""A block's surroundings were levelled when they lost more than this share of their differences, small ones aside. Blur
of 6 px took up to 0.3 of them, a hand 0.4 and more where it hid a fifth of the region. Chosen on both."""

FEW_BLOCKS, MANY_SHARE = 2, 0.3
"""Something is in the way when so many blocks of the region or its rim changed, or this share of the whole picture:
then the median of all blocks no longer tells what light did. A hand beside the region hides nothing. Chosen."""

FOLLOWING = 0.07
"""Share of each clear frame that goes into the picture compared with: at 15 frames a second it is a second old."""

SETTLED_S = 2.0
"""A changed picture that has kept still for so long is a new scene. Longer than a hand's usual reach. Chosen."""


@dataclass(frozen=True)
class Sight:
    """Whether the region can be judged in this frame, and in which scene: scenes with one number look alike."""

    clear: bool
    scene: int


class Cover:
    """Follows the coarse picture. One for each region."""

    def __init__(self, region: Region) -> None:
        self._region = region
        self._scene, self._scenes = 0, 0
        self._usual: Floats | None = None
        self._former: tuple[int, Floats] | None = None
        self._other: Floats | None = None
        self._other_since_s = 0.0

    def see(self, picture: LiveGrey, now_s: float) -> Sight:
        """Judge a frame; `now_s` only grows."""
        coarse: Floats = np.log(block_means(picture.small, BLOCK, BLOCK) + np.float32(SRGB_OFFSET_CODES))
        if self._usual is None or self._usual.shape != coarse.shape:
            self._former = None
            self._begin(coarse)
        elif not self._differs(self._usual, coarse):
            self._usual += np.float32(FOLLOWING) * (coarse - self._usual)
            self._other = None
        elif self._former is not None and not self._differs(self._former[1], coarse):
            self._former, (self._scene, self._usual) = (self._scene, self._usual), self._former
            self._other = None
        else:
            return self._something_else(coarse, now_s)
        return Sight(True, self._scene)

    def _something_else(self, coarse: Floats, now_s: float) -> Sight:
        if self._other is None or self._differs(self._other, coarse):
            self._other, self._other_since_s = coarse, now_s
        elif now_s - self._other_since_s >= SETTLED_S:
            if self._usual is not None:
                self._former = (self._scene, self._usual)
            self._begin(coarse)
            return Sight(True, self._scene)
        return Sight(False, self._scene)

    def _begin(self, coarse: Floats) -> None:
        self._scenes += 1
        self._scene, self._usual, self._other = self._scenes, coarse.copy(), None

    def _differs(self, usual: Floats, coarse: Floats) -> bool:
        change = coarse - usual
        before, now = _unevenness(usual), _unevenness(coarse)
        changed = np.abs(change - np.median(change)) > CHANGED + FROM_NEIGHBOURS * before
        changed |= before - now > LEVELLED * (before + LEAST_UNEVEN)
        height, width = changed.shape
        left, top, right, bottom = self._region.in_pixels(width, height)
        near = changed[max(0, top - 1) : bottom + 1, max(0, left - 1) : right + 1]
        return int(near.sum()) >= FEW_BLOCKS or float(changed.mean()) > MANY_SHARE


def _unevenness(coarse: Floats) -> Floats:
    """How far each block and its eight neighbours lie apart."""
    padded = np.pad(coarse, 1, "edge")
    across = np.stack([padded[:, :-2], padded[:, 1:-1], padded[:, 2:]])
    high, low = across.max(axis=0), across.min(axis=0)
    spread: Floats = np.maximum.reduce([high[:-2], high[1:-1], high[2:]])
    spread -= np.minimum.reduce([low[:-2], low[1:-1], low[2:]])
    return spread
