"""A flat polished steel plate with slanted squares let in, of rhodium and of black glass, as a mirror shows its lights.

The squares are those of the grey card, so that ratio and blur are read in the same way. Reflectances are from memory.
"""

from __future__ import annotations

import numpy as np

from mock_camera.scene.grey_card import squares_on
from mock_camera.scene.grid import Grid, Pose
from mock_camera.scene.surface import Layer

STEEL, GLASS, RHODIUM = 0.60, 0.05, 0.78


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """One level layer; the plate looks the same for every seed."""
    del seed
    plate = squares_on(grid, pose, (STEEL, GLASS, RHODIUM))
    return [plate.layer(np.ones_like(plate.gloss), 0.0)]
