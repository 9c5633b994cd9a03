"""A picture laid onto its reference, and its light by blocks, so that the piece's own tones drop out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.match.camera_framing import at_size_of
from session.match.solo_picture import SoloPicture
from session.picture.displacement import Motion, moved_back
from session.picture.linear_light import ONE_CODE, block_means

Light = NDArray[np.float32]

BLOCK_PX = 24
"""Side of the blocks that are compared. On the simulated table (seed 3, three pieces, camera a pixel off) blocks of 24
px of the same light scatter by 0.007 EV, those of 8 px by 0.03 EV, which hides a light turned by 12°."""

LEAST_LIGHT = 4 * ONE_CODE
"""Blocks and cells with less light are left out: their coding counts for more than their light. Chosen."""

FEWEST_BLOCKS = 40
"""Three lights want so many to contradict them. Chosen: a twentieth of the blocks of a picture of 700 px."""


@dataclass(frozen=True, eq=False)
class LaidPicture:
    """A picture laid onto the reference's pixels: (3, height, width) linear, and (height, width) where it may count."""

    channels: Light
    counted: NDArray[np.bool_]


def lay_picture(picture: SoloPicture, shape: tuple[int, ...], motion: Motion) -> LaidPicture:
    """The picture as it would lie without the motion, at the reference's size."""
    burnt, seen = at_size_of(picture.burnt.astype(np.float32), shape), np.ones(shape, np.float32)
    channels = np.stack([moved_back(at_size_of(channel, shape), motion) for channel in picture.channels])
    counted = (moved_back(burnt, motion) < 1e-3) & (moved_back(seen, motion) > 1 - 1e-3)
    return LaidPicture(channels, counted)


def over_ambient(picture: LaidPicture, ambient: LaidPicture | None) -> Light:
    """The light of a solo, (3, height, width); the ambient light is subtracted where it was shot alone."""
    return picture.channels if ambient is None else picture.channels - ambient.channels


def blocks_of(channels: Light, counted: NDArray[np.bool_], side_px: int = BLOCK_PX) -> Light:
    """(3, rows, columns) means of the blocks."""
    return np.stack([block_means(channel * counted, side_px, side_px) for channel in channels])


def whole_blocks(counted: NDArray[np.bool_], side_px: int = BLOCK_PX) -> NDArray[np.bool_]:
    """(rows, columns) whether every pixel of a block counts."""
    whole: NDArray[np.bool_] = block_means(counted.astype(np.float32), side_px, side_px) > 1 - 1e-3
    return whole
