"""A flat grey card with slanted squares: for measuring exposure, magnification and blur in the pictures.

The ground reflects 18 %, without gloss. Squares of 1.5 mm, 5 degrees off the axes, stand on a lattice of
4 mm (centres at 2, 6, 10 … mm from the middle), alternately of 4 % and 60 % reflectance.
"""

from __future__ import annotations

import math

import numpy as np

from mock_camera.scene.grid import Crop, Grid, Pose
from mock_camera.scene.shapes import box
from mock_camera.scene.surface import Layer, Surface

GREY, DARK, LIGHT = 0.18, 0.04, 0.60
LATTICE_MM, SQUARE_MM, SLANT_DEG = 4.0, 1.5, 5.0
REGION_MM = (-4.0, -4.0, 8.0, 8.0)


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """One level layer; the card looks the same for every seed."""
    del seed
    card = squares_on(grid, pose, (GREY, DARK, LIGHT))
    return [card.layer(np.ones_like(card.gloss), 0.4)]


def squares_on(grid: Grid, pose: Pose, tones: tuple[float, float, float]) -> Surface:
    """A level surface with the lattice of squares: reflectance of the ground, the dark squares, the light ones."""
    s = Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), 0.0)
    ground, dark, light = (np.float32(tone) for tone in tones)
    lattice, half = np.float32(LATTICE_MM), np.float32(0.5)
    column, row = np.floor(s.x / lattice), np.floor(s.y / lattice)
    x, y = s.x - (column + half) * lattice, s.y - (row + half) * lattice
    c, sn = np.float32(math.cos(math.radians(SLANT_DEG))), np.float32(math.sin(math.radians(SLANT_DEG)))
    square = s.coverage(box(c * x + sn * y, c * y - sn * x, 0, 0, SQUARE_MM / 2, SQUARE_MM / 2))
    tone = np.where((column + row) % 2 == 0, dark, light)
    s.fill((1.0, 1.0, 1.0), ground + square * (tone - ground))
    return s
