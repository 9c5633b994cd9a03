"""Shots of the simulated bench for tests, and measurements on its pictures by simple means."""

from __future__ import annotations

import math
from datetime import datetime, timedelta, timezone

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from mock_camera.scene.grey_card import LATTICE_MM, SLANT_DEG, SQUARE_MM
from mock_camera.scene.grid import Placement, Pose, frame_grid
from mock_camera.scene.optics import FocusedLens
from mock_camera.scene.pieces import PIECES
from mock_camera.scene.surface import Layer
from mock_camera.table.imaging import BLACK_LEVEL, SENSOR_BITS, ReleasedPicture
from mock_camera.table.world import Shot, World

TAKEN_AT = datetime(2026, 11, 3, 9, 30, 15, 250_000, tzinfo=timezone(timedelta(hours=1)))
Values = NDArray[np.float64]
PIECE_GRID = frame_grid(192, 128, 36 / 192)


def piece_layers(name: str, seed: int = 3) -> list[Layer]:
    """The layers of a piece as `PIECE_GRID` sees them, a frame of 36 x 24 mm; the lens stands over the middle."""
    piece = PIECES[name]
    pose = Pose(FocusedLens(), Placement(), Placement(), piece.region_height_mm)
    return piece.draw(PIECE_GRID, pose, seed)


def shot(exposure_s: float = 1 / 200, f_number: float = 11.0, iso: int = 100, number: int = 1) -> Shot:
    return Shot(exposure_s, f_number, iso, TAKEN_AT, number)


def linear(picture: ReleasedPicture) -> Values:
    """Light on the sensor (height, width), 1 = full scale, mean of each 2 x 2 block spread over it."""
    values = (picture.mosaic.astype(np.float64) - BLACK_LEVEL) / ((1 << SENSOR_BITS) - 1 - BLACK_LEVEL)
    blocks = values.reshape(values.shape[0] // 2, 2, values.shape[1] // 2, 2).mean(axis=(1, 3))
    return np.kron(blocks, np.ones((2, 2)))


def green(picture: ReleasedPicture) -> Values:
    """Linear green light (height, width), from the sRGB codes by IEC 61966-2-1; noise of 8 bits included."""
    code = picture.rgb[..., 1] / 255
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def card_world(*, pixels: tuple[int, int] = (768, 512), seed: int = 1) -> World:
    """A grey card under one small light straight above, and no ambient light."""
    world = World(seed=seed, pixels=pixels, piece="card")
    world.do("ambient", lux=0)
    world.do("light", name="key", elevation_deg=90, shaper="tube")
    return world


def grey(picture: ReleasedPicture) -> float:
    """Mean light on the card's ground around the middle of the frame, where the lattice leaves it bare."""
    values = linear(picture)
    row, column = values.shape[0] // 2, values.shape[1] // 2
    return float(values[row - 8 : row + 8, column - 8 : column + 8].mean())


def edge_profile(values: Values, world: World, *, column: int = 0, row: int = 0) -> tuple[Values, Values]:
    """Light across the left edge of a square of the card: px from the edge (to the right) and values.

    Every pixel near the slanted edge is one sample, sorted by its distance from it.
    """
    state = world.state()
    scale = float(state["magnification"]) / float(state["pixel_pitch_mm"])  # type: ignore[arg-type]
    c, s = math.cos(math.radians(SLANT_DEG)), math.sin(math.radians(SLANT_DEG))
    middle = np.array([column + 0.5, row + 0.5]) * LATTICE_MM - SQUARE_MM / 2 * np.array([c, s])
    centre = middle * scale + (np.array(values.shape[::-1]) - 1) / 2
    y, x = np.indices(values.shape)
    across = c * (x - centre[0]) + s * (y - centre[1])
    along = c * (y - centre[1]) - s * (x - centre[0])
    near = (np.abs(along) < 0.3 * SQUARE_MM * scale) & (np.abs(across) < 0.48 * SQUARE_MM * scale)
    order = np.argsort(across[near])
    return across[near][order], values[near][order]


def binned(across: Values, values: Values, step_px: float = 0.25) -> tuple[Values, Values]:
    """Edge profile in even steps."""
    reach = math.floor(float(np.abs(across).max()) / step_px) * step_px
    edges = np.arange(-reach, reach + step_px / 2, step_px)
    total, _ = np.histogram(across, edges, weights=values)
    count, _ = np.histogram(across, edges)
    return (edges[:-1] + edges[1:]) / 2, total / np.maximum(count, 1)


def rise_px(across: Values, values: Values) -> float:
    """Distance between 10 % and 90 % of an edge's step."""
    position, profile = binned(across, values)
    ends = profile[: len(profile) // 8].mean(), profile[-(len(profile) // 8) :].mean()
    share = (profile - ends[0]) / (ends[1] - ends[0])
    low = np.flatnonzero(share > 0.1)[0]
    high = np.flatnonzero(share > 0.9)[0]

    def crossing(index: int, level: float) -> float:
        slope = (share[index] - share[index - 1]) / (position[index] - position[index - 1])
        return float(position[index - 1] + (level - share[index - 1]) / slope)

    return crossing(high, 0.9) - crossing(low, 0.1)


def square_centres(values: Values) -> Values:
    """Centres (x, y) in px of the card's light squares that lie wholly inside the frame, sorted."""
    marks, _ = ndimage.label(values > 0.4 * float(np.percentile(values, 99)) + 0.5 * float(np.median(values)))
    centres = []
    for number, window in enumerate(ndimage.find_objects(marks), 1):
        rows, columns = window
        inside = rows.start > 2 and columns.start > 2
        inside &= rows.stop < values.shape[0] - 2 and columns.stop < values.shape[1] - 2
        if inside and (marks[window] == number).sum() > 50:
            y, x = ndimage.center_of_mass(values * (marks == number))
            centres.append((x, y))
    return np.array(sorted(centres))
