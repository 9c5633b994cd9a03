"""A hand that reaches into the picture, close to the lens and far out of focus."""

from __future__ import annotations

import numpy as np

from mock_camera.scene.arrays import Floats

SIDES = ("right", "left", "top", "bottom")
SKIN = (0.42, 0.27, 0.20)  # reflectance; invented
SOFT = 0.05  # width of its blurred edge, share of the frame
NEAR = 0.6  # it hangs in the light of the subject only in part


def veil(width: int, height: int, reach: float, side: str) -> Floats:
    """Share of each pixel that the hand covers (height, width); `reach` 0..1 across the frame from a side."""
    across = np.linspace(0, 1, width, dtype=np.float32)[None, :]
    down = np.linspace(0, 1, height, dtype=np.float32)[:, None]
    depth, breadth = {
        "left": (across, down),
        "right": (1 - across, down),
        "top": (down, across),
        "bottom": (1 - down, across),
    }[side]
    # a rounded shape, half as broad as the side, with its tip at `reach`
    edge = np.hypot(np.maximum(depth - np.float32(reach) + 0.25, 0), (breadth - np.float32(0.55)) * 0.9) - 0.25
    cover: Floats = 1 / (1 + np.exp(np.clip(edge / np.float32(SOFT / 4), -30, 30)))
    return cover
