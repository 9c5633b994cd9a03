"""One level of a piece being drawn: pixel coordinates on the piece, its material, textures.

Shapes (shapes.py) are signed distances in mm, so edges are covered to the fraction of a pixel and a bevel
knows which way it faces, at any scale and turn. Each pose is drawn afresh; nothing is resampled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from PIL import Image

from mock_camera.scene.arrays import Floats, half_size
from mock_camera.scene.grid import Crop, Grid, Pose, crop_of, piece_coordinates

Tint = tuple[float, float, float]
Part = tuple[slice, slice]
WHOLE: Part = (slice(None), slice(None))
TILE_CELLS = 1024


@dataclass(frozen=True, eq=False)
class Layer:
    """A level part of the piece, seen square on: what the light falls on.

    height_mm     above the piece's base, towards the camera
    thickness_mm  how far down it is solid, for the shadow that it casts
    crop          where it lies in the raster with margin
    alpha         (h, w) coverage 0..1
    luma          (h, w) reflectance (R + 2 G + B) / 4, linear, times coverage
    red, blue     (h/2, w/2) R - luma and B - luma, times coverage, at half the resolution
    gloss         (h, w) strength of the mirror-like part, 0..1
    tilt_x/_y     (h, w) slope of the normal to the right and down (0 = faces the camera)
    roughness     width of the highlight in slope; 0.05 polished … 0.4 satin; 0 a mirror, which shows its surroundings
    """

    height_mm: float
    thickness_mm: float
    crop: Crop
    alpha: Floats
    luma: Floats
    red: Floats
    blue: Floats
    gloss: Floats
    tilt_x: Floats
    tilt_y: Floats
    roughness: float

    @property
    def mirrors(self) -> bool:
        """The layer shows its surroundings, with `luma` as its reflectance."""
        return self.roughness == 0


@dataclass
class Surface:
    """A layer in the making; `x`, `y` (h, w) are piece coordinates in mm, `px_mm` the size of a pixel.

    colour (3, h, w) reflectance, gloss and tilts as in Layer: drawn upon in place.
    """

    grid: Grid
    pose: Pose
    crop: Crop
    height_mm: float
    x: Floats = field(init=False)
    y: Floats = field(init=False)
    px_mm: float = field(init=False)
    colour: Floats = field(init=False)
    gloss: Floats = field(init=False)
    tilt_x: Floats = field(init=False)
    tilt_y: Floats = field(init=False)

    def __post_init__(self) -> None:
        self.x, self.y, self.px_mm = piece_coordinates(self.grid, self.pose, self.crop, self.height_mm)
        self.colour = np.zeros((3, *self.x.shape), np.float32)
        self.gloss, self.tilt_x, self.tilt_y = self.blank(), self.blank(), self.blank()

    def blank(self) -> Floats:
        """Zeros of the surface's shape, (h, w)."""
        return np.zeros(self.x.shape, np.float32)

    def part(self, cx: float, cy: float, reach_mm: float, reach_y_mm: float | None = None) -> Part:
        """The slices that hold what lies within `reach_mm` of the point (cx, cy) of the piece, mm; may be empty."""
        tall = reach_mm if reach_y_mm is None else reach_y_mm
        box = (cx - reach_mm, cy - tall, cx + reach_mm, cy + tall)
        window = crop_of(self.grid, self.pose, box, self.height_mm)
        if window is None:
            return slice(0, 0), slice(0, 0)
        top, left = window.top - self.crop.top, window.left - self.crop.left
        rows = slice(max(top, 0), min(max(top + window.height, 0), self.x.shape[0]))
        columns = slice(max(left, 0), min(max(left + window.width, 0), self.x.shape[1]))
        return rows, columns

    def coverage(self, distance: Floats) -> Floats:
        """Share of each pixel inside a shape given by its signed distance in mm."""
        cover: Floats = np.clip(0.5 - distance / np.float32(self.px_mm), 0, 1, dtype=np.float32)
        return cover

    def fill(self, tint: Tint, tone: Floats | float = 1.0) -> None:
        """Fill the surface with a colour, times a tone (h, w)."""
        for plane, value in zip(self.colour, tint, strict=True):
            plane[...] = np.float32(value) * tone

    def paint(self, cover: Floats, tint: Tint, part: Part = WHOLE) -> None:
        """A colour laid over the part by the share `cover`, of the part's shape."""
        for plane, value in zip(self.colour, tint, strict=True):
            plane[part] += cover * (np.float32(value) - plane[part])

    def bevel(self, distance: Floats, width_mm: float, slope: float, part: Part = WHOLE) -> None:
        """A chamfer inside an edge, facing outwards (or inwards for a negative slope).

        distance  signed distance from the edge, mm, of the part's shape
        width_mm  the chamfer's width, mm
        """
        if min(distance.shape) < 2:
            return
        rim = np.sqrt(np.clip(1 + distance / np.float32(width_mm), 0, 1)) * (distance < self.px_mm)
        rim *= np.float32(slope)
        down, right = np.gradient(distance, np.float32(self.px_mm))
        self.tilt_x[part] += rim * right
        self.tilt_y[part] += rim * down

    def lean(self, along_x: Floats, along_y: Floats, part: Part = WHOLE) -> None:
        """Adds slopes, no unit, of the part's shape, that are given along the piece's own axes."""
        angle = math.radians(self.pose.piece.turn_deg - self.pose.camera.turn_deg)
        c, s = np.float32(math.cos(angle)), np.float32(math.sin(angle))
        self.tilt_x[part] += c * along_x - s * along_y
        self.tilt_y[part] += s * along_x + c * along_y

    def texture(self, seed: int, grain_mm: tuple[float, float], turn_deg: float = 0.0, part: Part = WHOLE) -> Floats:
        """Smooth noise fixed to the piece, zero mean, deviation about 0.8, of the part's shape.

        grain_mm  size of the grain along and across, mm
        turn_deg  direction of "along", degrees
        Never finer than the pixels: what a pixel averages away isn't drawn.
        """
        along, across = max(grain_mm[0], self.px_mm), max(grain_mm[1], self.px_mm)
        fade = math.sqrt(grain_mm[0] / along * grain_mm[1] / across)
        angle = math.radians(turn_deg)
        c, s = math.cos(angle), math.sin(angle)
        x, y = self.x[part], self.y[part]
        if min(x.shape) < 2:
            return np.zeros(x.shape, np.float32)
        ox, oy = float(x[0, 0]), float(y[0, 0])
        right = (float(x[0, -1]) - ox) / (x.shape[1] - 1), (float(y[0, -1]) - oy) / (x.shape[1] - 1)
        down = (float(x[-1, 0]) - ox) / (x.shape[0] - 1), (float(y[-1, 0]) - oy) / (x.shape[0] - 1)

        def cells(v: tuple[float, float]) -> tuple[float, float]:
            return (c * v[0] + s * v[1]) / along, (-s * v[0] + c * v[1]) / across

        (a, d), (b, e), (u, v) = cells(right), cells(down), cells((ox, oy))
        h, w = x.shape
        corners = [(u + a * i + b * j, v + d * i + e * j) for i in (0, w) for j in (0, h)]
        u0, v0 = math.floor(min(p[0] for p in corners)) - 3, math.floor(min(p[1] for p in corners)) - 3
        u1, v1 = math.ceil(max(p[0] for p in corners)) + 4, math.ceil(max(p[1] for p in corners)) + 4
        rows, columns = np.arange(v0, v1) % TILE_CELLS, np.arange(u0, u1) % TILE_CELLS
        tile = Image.fromarray(noise_tile(seed)[np.ix_(rows, columns)])
        # Pillow counts from the corner of a pixel, cells and pixels here from their centres
        place: tuple[float, ...] = (a, b, u - u0 + 0.5 - (a + b) / 2, d, e, v - v0 + 0.5 - (d + e) / 2)
        if self.pose.lean.tilt_deg:
            far = cells((float(x[-1, -1]), float(y[-1, -1])))
            place = _through_corner(place, (w, h), (far[0] - u0 + 0.5, far[1] - v0 + 0.5))
            moved = tile.transform((w, h), Image.Transform.PERSPECTIVE, place, Image.Resampling.BICUBIC)
        else:
            moved = tile.transform((w, h), Image.Transform.AFFINE, place, Image.Resampling.BICUBIC)
        return np.asarray(moved) * np.float32(fade)

    def layer(self, alpha: Floats, roughness: float, thickness_mm: float = 0.0) -> Layer:
        """The finished layer.

        alpha         coverage as a share, (h, w)
        roughness     width of the highlight in slope, no unit; 0 a mirror
        thickness_mm  how far down the layer is solid, mm
        """
        luma = (self.colour[0] + self.colour[2]) * np.float32(0.25)
        luma += self.colour[1] * np.float32(0.5)
        red, blue = (half_size((self.colour[k] - luma) * alpha) for k in (0, 2))
        return Layer(
            height_mm=self.height_mm,
            thickness_mm=thickness_mm,
            crop=self.crop,
            alpha=alpha,
            luma=luma * alpha,
            red=red,
            blue=blue,
            gloss=self.gloss,
            tilt_x=self.tilt_x,
            tilt_y=self.tilt_y,
            roughness=roughness,
        )


def _through_corner(affine: tuple[float, ...], size: tuple[int, int], far: tuple[float, float]) -> tuple[float, ...]:
    """The perspective that takes three corners where the affine takes them, and the last pixel to `far`.

    x' = (a x + b y + c) / (g x + h y + 1), as Pillow has it; by eight equations for the four corners.
    """
    w, h = size
    a, b, c, d, e, f = affine
    corners = [(x, y, a * x + b * y + c, d * x + e * y + f) for x, y in ((0.5, 0.5), (w - 0.5, 0.5), (0.5, h - 0.5))]
    corners.append((w - 0.5, h - 0.5, *far))
    rows, wanted = [], []
    for x, y, to_x, to_y in corners:
        rows += [(x, y, 1, 0, 0, 0, -to_x * x, -to_x * y), (0, 0, 0, x, y, 1, -to_y * x, -to_y * y)]
        wanted += [to_x, to_y]
    return tuple(float(value) for value in np.linalg.solve(np.array(rows), np.array(wanted)))


@lru_cache(maxsize=24)
def noise_tile(seed: int) -> Floats:
    """White noise, (TILE_CELLS, TILE_CELLS), mean 0, deviation 1."""
    return np.random.default_rng(seed).standard_normal((TILE_CELLS, TILE_CELLS), dtype=np.float32)
