"""Plane shapes as signed distances in mm (negative inside), on arrays of piece coordinates.

Each takes the coordinates x and y as arrays of one shape, and returns the distance in an array of that shape.
Centres, radii and ends are in mm too.
"""

from __future__ import annotations

import numpy as np

from mock_camera.scene.arrays import Floats


def disc(x: Floats, y: Floats, cx: float, cy: float, radius: float) -> Floats:
    """Distance in mm from a disc round (cx, cy), in the shape of x and y."""
    distance: Floats = np.hypot(x - np.float32(cx), y - np.float32(cy)) - np.float32(radius)
    return distance


def box(x: Floats, y: Floats, cx: float, cy: float, half_w: float, half_h: float, corner: float = 0.0) -> Floats:
    """Distance in mm from a rectangle along the axes round (cx, cy), with rounded corners, in the shape of x and y."""
    dx = np.abs(x - np.float32(cx)) - np.float32(half_w - corner)
    dy = np.abs(y - np.float32(cy)) - np.float32(half_h - corner)
    outside = np.hypot(np.maximum(dx, 0), np.maximum(dy, 0))
    distance: Floats = outside + np.minimum(np.maximum(dx, dy), 0) - np.float32(corner)
    return distance


def capsule(x: Floats, y: Floats, a: tuple[float, float], b: tuple[float, float], radius: float) -> Floats:
    """Distance in mm from a straight bar with round ends from a to b, in the shape of x and y."""
    dx, dy = np.float32(b[0] - a[0]), np.float32(b[1] - a[1])
    px, py = x - np.float32(a[0]), y - np.float32(a[1])
    along = np.clip((px * dx + py * dy) / (dx * dx + dy * dy), 0, 1)
    return np.hypot(px - along * dx, py - along * dy) - np.float32(radius)


def gear(x: Floats, y: Floats, cx: float, cy: float, radius: float, teeth: int, turn: float) -> Floats:
    """Distance in mm from a wheel with teeth, five spokes and a hub, in the shape of x and y; good near its edges only.

    cx, cy, radius  mm
    turn            radians
    """
    dx, dy = x - np.float32(cx), y - np.float32(cy)
    r, angle = np.hypot(dx, dy), np.arctan2(dy, dx)
    tooth = np.clip(1.6 * np.sin(np.float32(teeth) * angle), -1, 1) * np.float32(0.12)
    rim = np.maximum(r - (np.float32(radius) + tooth), np.float32(radius - 0.75) - r)
    fifth = np.float32(2 * np.pi / 5)
    around = (angle - np.float32(turn)) % fifth
    spoke = np.abs(np.minimum(around, fifth - around)) * r - np.float32(0.22)
    hub = r - np.float32(0.75)
    distance: Floats = np.minimum(np.minimum(rim, hub), np.maximum(spoke, r - np.float32(radius - 0.3)))
    return distance
