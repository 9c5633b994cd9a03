"""A flat grey card with slanted squares: for measuring exposure, magnification and blur in the pictures.

The ground reflects 18 %, without gloss. Squares of 1.5 mm, 5 degrees off the axes, stand on a lattice of
4 mm, alternately of 4 % and 60 % reflectance.
"""

from __future__ import annotations

import math

import numpy as np

from mock_camera.grid import Crop, Grid, Pose
from mock_camera.surface import Layer, Surface, box

GREY, DARK, LIGHT = 0.18, 0.04, 0.60
LATTICE_MM, SQUARE_MM, SLANT_DEG = 4.0, 1.5, 5.0
REGION_MM = (-3.0, -3.0, 6.0, 6.0)


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """One level layer; the card looks the same for every seed."""
    del seed
    s = Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), 0.0)
    column, row = np.floor(s.x / LATTICE_MM), np.floor(s.y / LATTICE_MM)
    x, y = s.x - (column + 0.5) * LATTICE_MM, s.y - (row + 0.5) * LATTICE_MM
    c, sn = math.cos(math.radians(SLANT_DEG)), math.sin(math.radians(SLANT_DEG))
    square = s.coverage(box(c * x + sn * y, -sn * x + c * y, 0, 0, SQUARE_MM / 2, SQUARE_MM / 2))
    tone = np.where((column + row) % 2 == 0, np.float32(DARK), np.float32(LIGHT))
    grey = np.float32(GREY) + square * (tone - np.float32(GREY))
    colour = np.repeat(grey[..., None], 3, axis=2)
    return [s.layer(s.flat(1.0), colour, s.flat(), (s.flat(), s.flat()), 0.4)]
