"""One level of a piece being drawn: pixel coordinates on the piece, shapes, lettering, texture.

Shapes are signed distances in mm (negative inside), so edges are covered to the fraction of a pixel and
a bevel knows which way it faces, at any scale and turn. Nothing is resampled: each pose is drawn afresh.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from mock_camera.grid import Crop, Grid, Pose, crop_of, piece_coordinates

Floats = NDArray[np.float32]
Tint = tuple[float, float, float]


@dataclass
class Layer:
    """A level part of the piece, seen square on: what the light falls on.

    height_mm   above the piece's base, towards the camera
    crop        where it lies in the raster with margin
    alpha       (h, w) coverage 0..1
    colour      (h, w, 3) diffuse reflectance, linear
    gloss       (h, w) strength of the mirror-like part, 0..1
    tilt_x/_y   (h, w) slope of the normal to the right and down (0 = faces the camera)
    roughness   width of the highlight in slope; 0.05 polished … 0.4 satin
    """

    height_mm: float
    crop: Crop
    alpha: Floats
    colour: Floats
    gloss: Floats
    tilt_x: Floats
    tilt_y: Floats
    roughness: float


@dataclass
class Surface:
    """A layer in the making; `x`, `y` (h, w) are piece coordinates in mm, `px_mm` the size of a pixel."""

    grid: Grid
    pose: Pose
    crop: Crop
    height_mm: float
    x: Floats = field(init=False)
    y: Floats = field(init=False)
    px_mm: float = field(init=False)

    def __post_init__(self) -> None:
        self.x, self.y, self.px_mm = piece_coordinates(self.grid, self.pose, self.crop, self.height_mm)

    def coverage(self, distance: Floats) -> Floats:
        """Share of each pixel inside a shape given by its signed distance in mm."""
        return np.clip(0.5 - distance / np.float32(self.px_mm), 0, 1, dtype=np.float32)

    def flat(self, value: float = 0.0) -> Floats:
        return np.full(self.x.shape, value, np.float32)

    def bevel(self, distance: Floats, width_mm: float, slope: float) -> tuple[Floats, Floats]:
        """Slopes of a chamfer `width_mm` wide inside the edge, facing outwards: tilt to the right and down."""
        rim = np.clip(1 + distance / np.float32(width_mm), 0, 1) * (distance < self.px_mm)
        rim = np.float32(slope) * np.sqrt(rim, dtype=np.float32)
        down, right = np.gradient(distance, np.float32(self.px_mm))
        return rim * right, rim * down

    def turned(self, tilt_x: Floats, tilt_y: Floats) -> tuple[Floats, Floats]:
        """Slopes given along the piece's axes, as seen along the picture's axes."""
        angle = math.radians(self.pose.piece.turn_deg - self.pose.camera.turn_deg)
        c, s = np.float32(math.cos(angle)), np.float32(math.sin(angle))
        return c * tilt_x - s * tilt_y, s * tilt_x + c * tilt_y

    def layer(
        self,
        alpha: Floats,
        colour: Floats,
        gloss: Floats,
        tilt: tuple[Floats, Floats],
        roughness: float,
    ) -> Layer:
        return Layer(self.height_mm, self.crop, alpha, colour, gloss, tilt[0], tilt[1], roughness)

    def lettering(
        self,
        text: str,
        centre_mm: tuple[float, float],
        capital_mm: float,
        *,
        turn_deg: float = 0.0,
        mirrored: bool = False,
    ) -> Floats:
        """Coverage of a line of text centred on a point of the piece; `capital_mm` is the capitals' height."""
        density = min(2.0 / self.px_mm, 160.0 / capital_mm)  # px of the letter picture per mm
        picture = letter_picture(text, max(8, round(capital_mm * density)), mirrored)
        density = capital_height(picture) / capital_mm
        out = self.flat()
        angle = math.radians(turn_deg)
        c, s = math.cos(angle), math.sin(angle)
        half_w, half_h = picture.width / density / 2, picture.height / density / 2
        reach = math.hypot(half_w, half_h)
        window = crop_of(
            self.grid,
            self.pose,
            (
                centre_mm[0] - reach * abs(c) - half_h * abs(s),
                centre_mm[1] - reach * abs(s) - half_h * abs(c),
                centre_mm[0] + reach * abs(c) + half_h * abs(s),
                centre_mm[1] + reach * abs(s) + half_h * abs(c),
            ),
            self.height_mm,
        )
        if window is None:
            return out
        x0 = max(window.left, self.crop.left) - self.crop.left
        y0 = max(window.top, self.crop.top) - self.crop.top
        x1 = min(window.left + window.width, self.crop.left + self.crop.width) - self.crop.left
        y1 = min(window.top + window.height, self.crop.top + self.crop.height) - self.crop.top
        if x1 - x0 < 2 or y1 - y0 < 2:
            return out
        # affine from the output's continuous coordinates (two samples per pixel) to the letter picture's
        ox, oy = float(self.x[y0, x0]), float(self.y[y0, x0])
        right = (float(self.x[y0, x0 + 1]) - ox, float(self.y[y0, x0 + 1]) - oy)
        down = (float(self.x[y0 + 1, x0]) - ox, float(self.y[y0 + 1, x0]) - oy)
        ox -= (right[0] + down[0]) / 2 + centre_mm[0]
        oy -= (right[1] + down[1]) / 2 + centre_mm[1]

        def along(v: tuple[float, float]) -> tuple[float, float]:
            return density * (c * v[0] + s * v[1]), density * (-s * v[0] + c * v[1])

        a, d = along((right[0] / 2, right[1] / 2))
        b, e = along((down[0] / 2, down[1] / 2))
        cc, f = along((ox, oy))
        moved = picture.transform(
            ((x1 - x0) * 2, (y1 - y0) * 2),
            Image.Transform.AFFINE,
            (a, b, cc + picture.width / 2, d, e, f + picture.height / 2),
            Image.Resampling.BICUBIC,
        ).reduce(2)
        out[y0:y1, x0:x1] = np.asarray(moved, np.float32) / 255
        return out

    def texture(self, seed: int, grain_mm: tuple[float, float], turn_deg: float = 0.0) -> Floats:
        """Smooth noise fixed to the piece, zero mean and unit deviation; grain sizes along and across."""
        tile = noise_tile(seed)
        angle = math.radians(turn_deg)
        c, s = math.cos(angle), math.sin(angle)
        # never finer than the pixels: what a pixel averages away isn't drawn
        along, across = max(grain_mm[0], self.px_mm), max(grain_mm[1], self.px_mm)
        u = (c * self.x + s * self.y) / np.float32(along)
        v = (-s * self.x + c * self.y) / np.float32(across)
        fade = math.sqrt(min(1.0, grain_mm[0] / along) * min(1.0, grain_mm[1] / across))
        return _interpolated(tile, u, v) * np.float32(fade)


def _interpolated(tile: Floats, u: Floats, v: Floats) -> Floats:
    size = tile.shape[0]
    ui, vi = np.floor(u).astype(np.int32), np.floor(v).astype(np.int32)
    fu, fv = u - ui, v - vi
    fu, fv = fu * fu * (3 - 2 * fu), fv * fv * (3 - 2 * fv)
    u0, u1, v0, v1 = ui % size, (ui + 1) % size, vi % size, (vi + 1) % size
    flat = tile.ravel()
    upper = flat[v0 * size + u0] * (1 - fu) + flat[v0 * size + u1] * fu
    lower = flat[v1 * size + u0] * (1 - fu) + flat[v1 * size + u1] * fu
    mixed: Floats = upper * (1 - fv) + lower * fv
    return mixed


@lru_cache(maxsize=16)
def noise_tile(seed: int) -> Floats:
    return np.random.default_rng(seed).standard_normal((512, 512), dtype=np.float32)


@lru_cache(maxsize=256)
def letter_picture(text: str, capital_px: int, mirrored: bool) -> Image.Image:
    """White letters on black, with a rim of 8 px; Pillow's own scalable font, so nothing is installed."""
    font = ImageFont.load_default(size=capital_px / 0.72)  # capitals are about 0.72 of the font's size
    left, top, right, bottom = font.getbbox(text)
    picture = Image.new("L", (math.ceil(right - left) + 16, math.ceil(bottom - top) + 16))
    ImageDraw.Draw(picture).text((8 - left, 8 - top), text, fill=255, font=font)
    return picture.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if mirrored else picture


def capital_height(picture: Image.Image) -> float:
    """Height in px of what is drawn in a letter picture."""
    box = picture.getbbox()
    return float(box[3] - box[1]) if box else 1.0


def disc(x: Floats, y: Floats, cx: float, cy: float, radius: float) -> Floats:
    return np.hypot(x - np.float32(cx), y - np.float32(cy)) - np.float32(radius)


def box(x: Floats, y: Floats, cx: float, cy: float, half_w: float, half_h: float, corner: float = 0.0) -> Floats:
    dx = np.abs(x - np.float32(cx)) - np.float32(half_w - corner)
    dy = np.abs(y - np.float32(cy)) - np.float32(half_h - corner)
    outside = np.hypot(np.maximum(dx, 0), np.maximum(dy, 0))
    return outside + np.minimum(np.maximum(dx, dy), 0) - np.float32(corner)


def capsule(x: Floats, y: Floats, a: tuple[float, float], b: tuple[float, float], radius: float) -> Floats:
    """A straight bar with round ends from a to b."""
    dx, dy = np.float32(b[0] - a[0]), np.float32(b[1] - a[1])
    along = np.clip(((x - np.float32(a[0])) * dx + (y - np.float32(a[1])) * dy) / (dx * dx + dy * dy), 0, 1)
    return np.hypot(x - np.float32(a[0]) - along * dx, y - np.float32(a[1]) - along * dy) - np.float32(radius)


def painted(base: Floats, cover: Floats, tint: Tint) -> Floats:
    """Colour (h, w, 3) with a tint laid over it where `cover` says so."""
    return base + cover[..., None] * (np.array(tint, np.float32) - base)
