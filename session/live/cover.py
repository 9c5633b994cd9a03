"""Is something in the way: a hand over the region, a lamp moved, another piece; told from the coarse picture.

Focusing blurs fine detail and leaves the coarse picture as it was; a hand changes the coarse picture. So the live
picture is averaged down to blocks, and compared with how the same blocks looked about a second ago. What all blocks
do alike is light, and is taken out; what a block may take over from its neighbours by blur or a small shift is
allowed for. A hand of the piece's own tone is told by the differences between blocks that it takes away.

A change that stays, and stays the same, is a new scene, for which the old scene's best is no measure. When an old
picture comes back, the old scene is back, also when it came so slowly that the new scene's picture went along: a scene
that can't be told from an older scene is the older one. A hand that rests on its way out would otherwise take the best
along.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from session.live.contrast import SRGB_OFFSET_CODES
from session.live.decode import Floats, LiveGrey
from session.picture.linear_light import block_means
from session.set.setup import Region

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


MOST_SCENES = 4
"""As many can come back; of more, the one not seen for longest is forgotten. The set, and a hand, a card or a lamp at
three places beside it. Chosen."""


@dataclass(frozen=True)
class Sight:
    """Whether the region can be judged in this frame, and in which scene: scenes with one number look alike."""

    clear: bool
    scene: int


@dataclass(frozen=True)
class _Look:
    """A coarse picture: logarithms of its blocks, and how far each and its eight neighbours lie apart."""

    blocks: Floats
    unevenness: Floats

    @classmethod
    def of(cls, blocks: Floats) -> _Look:
        return cls(blocks, _unevenness(blocks))


@dataclass
class _Scene:
    """A scene's usual look, and when it was last seen."""

    usual: _Look
    seen_at_s: float


class Cover:
    """Follows the coarse picture. One for each region."""

    def __init__(self, region: Region) -> None:
        self._region = region
        self._scenes: dict[int, _Scene] = {}
        self._scene, self._begun = 0, 0
        self._other: _Look | None = None
        self._other_since_s = 0.0

    def see(self, picture: LiveGrey, now_s: float) -> Sight:
        """Judge a frame; `now_s` only grows."""
        now = _Look.of(np.log(block_means(picture.small, BLOCK, BLOCK) + np.float32(SRGB_OFFSET_CODES)))
        if not self._scenes or self._scenes[self._scene].usual.blocks.shape != now.blocks.shape:
            self._scenes.clear()
            return self._begin(now, now_s)
        # numbers grow, so the oldest that it looks like comes first
        for number, scene in self._scenes.items():
            usual = scene.usual
            if not self._differs(usual, now):
                scene.usual = _Look.of(usual.blocks + np.float32(FOLLOWING) * (now.blocks - usual.blocks))
                scene.seen_at_s = now_s
                self._scene, self._other = number, None
                return Sight(True, number)
        return self._something_else(now, now_s)

    def may_return(self, scene: int) -> bool:
        """Whether a later frame may still be seen in that scene."""
        return scene in self._scenes

    def _something_else(self, now: _Look, now_s: float) -> Sight:
        if self._other is None or self._differs(self._other, now):
            self._other, self._other_since_s = now, now_s
        elif now_s - self._other_since_s >= SETTLED_S:
            if len(self._scenes) == MOST_SCENES:
                del self._scenes[min(self._scenes, key=lambda number: self._scenes[number].seen_at_s)]
            return self._begin(now, now_s)
        return Sight(False, self._scene)

    def _begin(self, now: _Look, now_s: float) -> Sight:
        self._begun += 1
        self._scene, self._other = self._begun, None
        self._scenes[self._scene] = _Scene(now, now_s)
        return Sight(True, self._scene)

    def _differs(self, before: _Look, now: _Look) -> bool:
        change = now.blocks - before.blocks
        changed = np.abs(change - np.median(change)) > CHANGED + FROM_NEIGHBOURS * before.unevenness
        changed |= before.unevenness - now.unevenness > LEVELLED * (before.unevenness + LEAST_UNEVEN)
        height, width = changed.shape
        left, top, right, bottom = self._region.in_pixels(width, height)
        near = changed[max(0, top - 1) : bottom + 1, max(0, left - 1) : right + 1]
        return int(near.sum()) >= FEW_BLOCKS or float(changed.mean()) > MANY_SHARE


def _unevenness(blocks: Floats) -> Floats:
    padded = np.pad(blocks, 1, "edge")
    across = np.stack([padded[:, :-2], padded[:, 1:-1], padded[:, 2:]])
    high, low = across.max(axis=0), across.min(axis=0)
    spread: Floats = np.maximum.reduce([high[:-2], high[1:-1], high[2:]])
    spread -= np.minimum.reduce([low[:-2], low[1:-1], low[2:]])
    return spread
