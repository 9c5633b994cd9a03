"""A flat printed label, as large as the frame: paper with fibres, printed with a coarse screen and thin rules.

It has detail everywhere and no relief, so that a picture of it shows by itself how it stands to the camera.
"""

from __future__ import annotations

import numpy as np

from mock_camera.scene.grid import Crop, Grid, Pose
from mock_camera.scene.surface import Layer, Surface, Tint

REGION_MM = (-10.0, -6.5, 20.0, 13.0)
PAPER: Tint = (0.42, 0.40, 0.36)
PRINT: Tint = (0.06, 0.075, 0.13)
RULE_MM, PITCH_MM = 0.12, 1.7


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """One level layer; `seed` varies fibres and print."""
    s = Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), 0.0)
    fibres = 0.10 * s.texture(seed + 1, (0.35, 0.05), 25) + 0.08 * s.texture(seed + 2, (0.05, 0.3), 10)
    s.fill(PAPER, np.clip(1 + fibres, 0.3, 1.7))
    screen = s.texture(seed + 3, (0.16, 0.16)) + 0.7 * s.texture(seed + 4, (0.5, 0.5))
    s.paint(np.clip(0.5 + 1.5 * screen, 0, 1), PRINT)
    pitch, half = np.float32(PITCH_MM), np.float32(PITCH_MM / 2)
    rule = np.abs((s.y + np.float32(0.2) * s.x) % pitch - half) - np.float32(RULE_MM / 2)
    s.paint(s.coverage(rule), PAPER)
    return [s.layer(np.ones_like(s.gloss), 0.4)]
