"""The still lifes on the table, each with the region that must be sharp and the heights of its parts.

A piece is drawn for a pose and a raster (see surface.py) as layers from the lowest to the highest. The
lowest fills the raster. Heights in mm above the piece's base, towards the camera.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from mock_camera.scene import bridge, grey_card, label, polished_plate, type_tray
from mock_camera.scene.arrays import Floats
from mock_camera.scene.grid import Grid, Pose
from mock_camera.scene.surface import Layer


@dataclass(frozen=True)
class Piece:
    """A piece before the drawing: name, region, heights, and the function that draws the piece.

    region_mm         left, top, width, height on the piece of what must be sharp
    region_height_mm  its height: the plane on which the magnification and the focus are set up
    relief_mm         lowest to highest part of the piece itself
    draw              (grid, pose, seed) -> layers, lowest first
    """

    name: str
    region_mm: tuple[float, float, float, float]
    region_height_mm: float
    relief_mm: float
    draw: Callable[[Grid, Pose, int], list[Layer]]


PIECES = {
    "bridge": Piece("bridge", bridge.REGION_MM, bridge.BRIDGE_MM, bridge.SCREW_MM, bridge.draw),
    "type": Piece("type", type_tray.REGION_MM, type_tray.FACE_MM[1], type_tray.RELIEF_MM, type_tray.draw),
    "label": Piece("label", label.REGION_MM, 0.0, 0.0, label.draw),
    "card": Piece("card", grey_card.REGION_MM, 0.0, 0.0, grey_card.draw),
    "mirror": Piece("mirror", grey_card.REGION_MM, 0.0, 0.0, polished_plate.draw),
}


def height_map(layers: list[Layer], grid: Grid) -> Floats:
    """Height in mm seen by each pixel of the raster with margin (height, width)."""
    heights = np.zeros((grid.full_height, grid.full_width), np.float32)
    for layer in layers:
        c = layer.crop
        window = heights[c.top : c.top + c.height, c.left : c.left + c.width]
        window[layer.alpha[: window.shape[0], : window.shape[1]] > 0.5] = layer.height_mm
    return heights
