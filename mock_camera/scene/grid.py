"""Pixels of a picture from millimetres on the piece: the sampling grid and the pose of the piece.

The picture is upright as seen by the photographer: x to the right, y down, the piece lies in a plane
parallel to the sensor, heights z in mm count towards the camera. Turns are clockwise as seen in the
picture. A higher point lies nearer to the entrance pupil and is drawn larger: central projection.

A piece out of square leans about its own origin: a side is raised, the opposite side lowered. Things on the piece
stay upright, which leaves out a shift of 0.02 mm for each millimetre of relief and degree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from mock_camera.scene.arrays import Floats
from mock_camera.scene.optics import FocusedLens

Place = TypeVar("Place", float, Floats)
"""A coordinate in mm, or one for each pixel."""


@dataclass(frozen=True)
class Placement:
    """Where a thing lies: shift in mm to the right and down, turn in degrees clockwise."""

    right_mm: float = 0.0
    down_mm: float = 0.0
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Lean:
    """How a piece is out of square: by `tilt_deg`, the side at `raised_deg` nearer to the camera.

    raised_deg  clockwise from the piece's right: 90 is its lower edge in the picture
    """

    tilt_deg: float = 0.0
    raised_deg: float = 0.0

    @property
    def uphill(self) -> tuple[float, float]:
        """The way up on the piece, (right, down), of length 1."""
        return _turn(self.raised_deg)

    @property
    def rise(self) -> float:
        """Height gained, mm for each mm along the piece."""
        return math.sin(math.radians(self.tilt_deg))

    @property
    def foreshortening(self) -> float:
        """Length of a mm along the piece as the camera sees it, mm."""
        return math.cos(math.radians(self.tilt_deg))


SQUARE = Lean()


@dataclass(frozen=True)
class Pose:
    """Piece against camera. `away_mm` is the camera's own move back from the piece (rail).

    reference_height_mm  height on the piece of the region's plane: there the magnification holds
    scale                further factor on the picture's size (focus moved: the image breathes)
    lean                 how the piece is out of square
    """

    arrangement: FocusedLens
    piece: Placement
    camera: Placement
    reference_height_mm: float
    away_mm: float = 0.0
    scale: float = 1.0
    lean: Lean = SQUARE

    def magnification(self, height_mm: float) -> float:
        """Image / subject for a level surface at `height_mm` on the piece."""
        pupil_mm = self.arrangement.pupil_distance_mm
        return self.scale * self.arrangement.magnification * pupil_mm / self._distance_mm(height_mm)

    def _distance_mm(self, height_mm: float) -> float:
        """From the entrance pupil to a level surface at that height, mm."""
        return max(self.arrangement.pupil_distance_mm + self.away_of(height_mm), 1.0)

    def away_of(self, height_mm: float) -> float:
        """Distance of that surface behind the plane for which the arrangement was made, mm."""
        return self.away_mm - (height_mm - self.reference_height_mm)

    def to_piece(self, x_mm: Place, y_mm: Place, height_mm: float) -> tuple[Place, Place]:
        """A point of the upright picture (mm at the sensor, from its centre) on the piece, in mm."""
        flat = self.magnification(height_mm)
        c, s = _turn(self.camera.turn_deg)
        ray_x, ray_y = (c * x_mm - s * y_mm) / flat, (s * x_mm + c * y_mm) / flat
        off_x, off_y = self.camera.right_mm - self.piece.right_mm, self.camera.down_mm - self.piece.down_mm
        c, s = _turn(-self.piece.turn_deg)
        ray_x, ray_y = c * ray_x - s * ray_y, s * ray_x + c * ray_y
        off_x, off_y = c * off_x - s * off_y, s * off_x + c * off_y
        if not self.lean.tilt_deg:
            return ray_x + off_x, ray_y + off_y
        # the ray meets the leaning plane at `up` mm along the slope, where it has come nearer by rise * up
        (up_x, up_y), lean = self.lean.uphill, self.lean
        near = lean.rise / self._distance_mm(height_mm)
        ray, off = ray_x * up_x + ray_y * up_y, off_x * up_x + off_y * up_y
        up = (ray + off) / (lean.foreshortening + near * ray)
        x, y = ray_x * (1 - near * up) + off_x, ray_y * (1 - near * up) + off_y
        stretch = up * (1 - lean.foreshortening)
        return x + up_x * stretch, y + up_y * stretch

    def to_sensor(self, x_mm: float, y_mm: float, height_mm: float) -> tuple[float, float]:
        """Place on the sensor, mm, of a point of the piece, mm: the inverse of `to_piece`."""
        (up_x, up_y), lean = self.lean.uphill, self.lean
        up = x_mm * up_x + y_mm * up_y
        m = self.magnification(height_mm + lean.rise * up)
        x_mm, y_mm = (v - u * up * (1 - lean.foreshortening) for v, u in ((x_mm, up_x), (y_mm, up_y)))
        c, s = _turn(self.piece.turn_deg)
        table_x = c * x_mm - s * y_mm + self.piece.right_mm - self.camera.right_mm
        table_y = s * x_mm + c * y_mm + self.piece.down_mm - self.camera.down_mm
        c, s = _turn(-self.camera.turn_deg)
        return m * (c * table_x - s * table_y), m * (s * table_x + c * table_y)

    def to_picture(self, right: float, down: float) -> tuple[float, float]:
        """A direction on the table, no unit, turned to the picture's axes: the lights stay when the camera turns."""
        c, s = _turn(-self.camera.turn_deg)
        return c * right - s * down, s * right + c * down


def _turn(degrees: float) -> tuple[float, float]:
    angle = math.radians(degrees)
    return math.cos(angle), math.sin(angle)


@dataclass(frozen=True)
class Grid:
    """A raster of pixels on the sensor: `width` x `height` px of `pitch_mm`, with a margin on all sides.

    centre_mm  of the raster from the sensor's centre, upright picture coordinates.
    The margin holds real scene, so that blur and shake bring in what lies outside the frame.
    """

    width: int
    height: int
    pitch_mm: float
    centre_mm: tuple[float, float] = (0.0, 0.0)
    margin_x: int = 0
    margin_y: int = 0

    @property
    def full_width(self) -> int:
        return self.width + 2 * self.margin_x

    @property
    def full_height(self) -> int:
        return self.height + 2 * self.margin_y

    def sensor_mm(self, column: float, row: float) -> tuple[float, float]:
        """Sensor position, mm, of a pixel index of the raster with margin (0, 0 = centre of the first pixel)."""
        return (
            (column - (self.full_width - 1) / 2) * self.pitch_mm + self.centre_mm[0],
            (row - (self.full_height - 1) / 2) * self.pitch_mm + self.centre_mm[1],
        )

    def pixel(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """The inverse of `sensor_mm`."""
        return (
            (x_mm - self.centre_mm[0]) / self.pitch_mm + (self.full_width - 1) / 2,
            (y_mm - self.centre_mm[1]) / self.pitch_mm + (self.full_height - 1) / 2,
        )


def frame_grid(
    width: int,
    height: int,
    pitch_mm: float,
    centre_mm: tuple[float, float] = (0.0, 0.0),
    *,
    reach_mm: float = 0.0,
) -> Grid:
    """A grid with a margin of about 4 % of the width on each side, in sizes that transform quickly.

    reach_mm  at the sensor: how far the margin should reach at least, up to 15 % of the width
    """
    wanted = max(24, round(0.042 * width), min(round(reach_mm / pitch_mm), round(0.15 * width)))
    return Grid(
        width=width,
        height=height,
        pitch_mm=pitch_mm,
        centre_mm=centre_mm,
        margin_x=_margin(width, wanted),
        margin_y=_margin(height, wanted),
    )


def sensor_places_mm(grid: Grid) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sensor positions of the columns and of the rows of the frame, without the margin, mm: (width,), (height,)."""
    left, top = grid.sensor_mm(grid.margin_x, grid.margin_y)
    steps = np.arange(max(grid.width, grid.height), dtype=np.float64) * grid.pitch_mm
    return left + steps[: grid.width], top + steps[: grid.height]


def _margin(side: int, wanted: int) -> int:
    """An even margin, so that colour at half the resolution keeps its place."""
    margin = (quick_size(side + 2 * wanted) - side) // 2
    return margin + margin % 2


def places_down(grid: Grid, zoom: float) -> NDArray[np.float64]:
    """Where each row of the raster with margin falls in the frame, from 0 to 1, top to bottom edge (rows,).

    `zoom` enlarges the finished picture about the optical axis, so the rows spread by it.
    """
    axis = grid.pixel(0.0, 0.0)[1]
    row = axis + (np.arange(grid.full_height) - axis) * zoom
    places: NDArray[np.float64] = (row - grid.margin_y + 0.5) / grid.height
    return places


def quick_size(at_least: int) -> int:
    """The next multiple of 4 with no prime factor above 7: sizes at which a Fourier transform is quick."""
    size = (at_least + 3) // 4 * 4
    while True:
        rest = size
        for prime in (2, 3, 5, 7):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return size
        size += 4


@dataclass(frozen=True)
class Crop:
    """A window of the raster with margin, in pixels; corners at multiples of 4, so that a quarter is exact."""

    left: int
    top: int
    width: int
    height: int


def crop_of(grid: Grid, pose: Pose, box_mm: tuple[float, float, float, float], height_mm: float) -> Crop | None:
    """The window that holds a box of the piece (left, top, right, bottom in mm), or None if outside."""
    left, top, right, bottom = box_mm
    corners = [grid.pixel(*pose.to_sensor(x, y, height_mm)) for x in (left, right) for y in (top, bottom)]
    x0 = max(0, math.floor(min(x for x, _ in corners)) - 2) // 4 * 4
    y0 = max(0, math.floor(min(y for _, y in corners)) - 2) // 4 * 4
    x1 = min(grid.full_width, math.ceil(max(x for x, _ in corners)) + 3)
    y1 = min(grid.full_height, math.ceil(max(y for _, y in corners)) + 3)
    if x1 - x0 < 4 or y1 - y0 < 4:
        return None
    return Crop(x0, y0, (x1 - x0 + 1) // 2 * 2, (y1 - y0 + 1) // 2 * 2)


def piece_coordinates(grid: Grid, pose: Pose, crop: Crop, height_mm: float) -> tuple[Floats, Floats, float]:
    """Piece coordinates of each pixel of a window at one height: x, y (height, width) in mm, and mm per px."""
    x0, y0 = pose.to_piece(*grid.sensor_mm(crop.left, crop.top), height_mm)
    xr, yr = pose.to_piece(*grid.sensor_mm(crop.left + 1, crop.top), height_mm)
    px_mm = math.hypot(xr - x0, yr - y0)
    column = np.arange(crop.width, dtype=np.float32)[None, :]
    row = np.arange(crop.height, dtype=np.float32)[:, None]
    if pose.lean.tilt_deg:
        left, top = grid.sensor_mm(crop.left, crop.top)
        across, along = np.broadcast_arrays(left + grid.pitch_mm * column, top + grid.pitch_mm * row)
        leaning_x, leaning_y = pose.to_piece(across, along, height_mm)
        return leaning_x.astype(np.float32), leaning_y.astype(np.float32), px_mm
    xd, yd = pose.to_piece(*grid.sensor_mm(crop.left, crop.top + 1), height_mm)
    x = (x0 + (xr - x0) * column + (xd - x0) * row).astype(np.float32)
    y = (y0 + (yr - y0) * column + (yd - y0) * row).astype(np.float32)
    return x, y, px_mm
