"""How bright each layer is under one light: matt part, highlight, reflected room, shadows.

The result is a factor on the layer's reflectance, per unit of light on a surface that faces the source, so a
level matt surface under a light at elevation e gives sin e. A share of every light comes back from the room
(BOUNCE) and fills the shadows; on a level matt surface the sum is unchanged, so exposure still follows the
guide number. Metal and paint mirror in their own colour.
"""

from __future__ import annotations

import math

import numpy as np
from PIL import Image, ImageChops, ImageFilter

from mock_camera.arrays import Floats, slabs
from mock_camera.grid import Grid, Pose
from mock_camera.lights import Light
from mock_camera.surface import Layer

BOUNCE = 0.15  # share of a light that arrives by way of the room; a guess for a small studio
HIGHLIGHT = 1.6  # strength of the mirror-like lobe at slope width 0.25; chosen by eye
QUARTER = 4  # shadows are soft: they are made at a quarter of the resolution
SWEEP_PX = 2.0  # step of a shadow swept down the side of a solid part, quarter px


def lit(layers: list[Layer], grid: Grid, pose: Pose, light: Light) -> list[Floats]:
    """Brightness factor of each layer (h, w) under a light, per unit of light."""
    covers = [_quarter(layer, grid) for layer in layers]
    return [_shaded(layer, grid, pose, light, _shadow(layer, layers, covers, grid, pose, light)) for layer in layers]


def room_lit(layers: list[Layer]) -> list[Floats]:
    """The same under even light from above (a pale room), per unit of light on the table."""
    factors = []
    for layer in layers:
        factor = np.empty(layer.alpha.shape, np.float32)
        for rows in slabs(factor.shape[0]):
            steep = np.hypot(layer.tilt_x[rows], layer.tilt_y[rows])
            factor[rows] = 1 + layer.gloss[rows] * np.clip(0.3 - 0.5 * steep, -0.5, 0.3)
        factors.append(factor)
    return factors


def _shaded(layer: Layer, grid: Grid, pose: Pose, light: Light, shadow: Floats | None) -> Floats:
    # the piece is small against the distance: direction and strength change in proportion over the frame
    per_px = grid.pitch_mm / pose.magnification(layer.height_mm) / light.distance_mm
    left, top = (v / grid.pitch_mm * per_px for v in grid.sensor_mm(layer.crop.left, layer.crop.top))
    h, w = layer.alpha.shape
    toward = light.direction
    lx = (toward[0] - left - per_px * np.arange(w)).astype(np.float32)[None, :]
    lz = np.float32(toward[2])
    width = np.float32(layer.roughness + light.source_size_mm / light.distance_mm / 4)
    lobe_height = np.float32(HIGHLIGHT * (0.25 / width) ** 2 * (toward[2] > 0))
    returned = np.float32(max(toward[2], 0.0) * BOUNCE)
    factor = np.empty((h, w), np.float32)
    for rows in slabs(h):
        ly = (toward[1] - top - per_px * np.arange(rows.start, rows.stop)).astype(np.float32)[:, None]
        inverse = 1 / np.sqrt(lx * lx + ly * ly + lz * lz)
        tx, ty, gloss = layer.tilt_x[rows], layer.tilt_y[rows], layer.gloss[rows]
        matt = np.maximum(tx * lx + ty * ly + lz, 0) * inverse / np.sqrt(1 + tx * tx + ty * ty)
        # slope of a surface that mirrors the light into the lens: halfway between both directions
        halfway = inverse / (lz * inverse + 1)
        lobe = lobe_height * np.exp(-((lx * halfway - tx) ** 2 + (ly * halfway - ty) ** 2) / (width * width))
        direct = matt * (1 - np.float32(0.45) * gloss) + gloss * lobe
        direct *= np.float32(1 - BOUNCE) * inverse * inverse
        if shadow is not None:
            direct *= 1 - shadow[rows]
        # a glossy surface mirrors the room, which is brighter on the light's side
        mirrored = np.clip(0.75 + 1.3 * (tx * toward[0] + ty * toward[1]), 0, 2.5)
        factor[rows] = direct + returned * (1 + gloss * (mirrored - 1))
    return factor


def _quarter(layer: Layer, grid: Grid) -> Image.Image:
    """Coverage of a layer over the whole raster at a quarter of its size."""
    whole = Image.new("L", (-(-grid.full_width // QUARTER), -(-grid.full_height // QUARTER)))
    small = Image.fromarray((layer.alpha * 255).astype(np.uint8)).reduce(QUARTER)
    whole.paste(small, (layer.crop.left // QUARTER, layer.crop.top // QUARTER))
    return whole


def _shadow(
    layer: Layer, layers: list[Layer], covers: list[Image.Image], grid: Grid, pose: Pose, light: Light
) -> Floats | None:
    """Share of the light kept from a layer by all that stands higher (h, w), or None for none."""
    lx, ly, lz = light.direction
    if lz <= 0.02:
        return None
    h, w = layer.alpha.shape
    left, top = layer.crop.left // QUARTER, layer.crop.top // QUARTER
    size = (-(-w // QUARTER) + 1, -(-h // QUARTER) + 1)
    total = Image.new("L", size)
    for other, cover in zip(layers, covers, strict=True):
        rise_mm = other.height_mm - layer.height_mm
        if rise_mm < 0.05:
            continue
        px_per_mm = pose.magnification(other.height_mm) / grid.pitch_mm / QUARTER
        reach = rise_mm / lz * math.hypot(lx, ly) * px_per_mm
        lowest = max(0.0, 1 - other.thickness_mm / rise_mm)
        steps = 1 + math.ceil(reach * (1 - lowest) / SWEEP_PX)
        cast = Image.new("L", size)
        for share in np.linspace(1, lowest, steps):
            right, down = (-v / lz * rise_mm * px_per_mm * share for v in (lx, ly))
            place = (1, 0, left - right, 0, 1, top - down)
            cast = ImageChops.lighter(
                cast, cover.transform(size, Image.Transform.AFFINE, place, Image.Resampling.BILINEAR)
            )
        if cast.getbbox() is None:
            continue
        soft = rise_mm / lz * light.source_size_mm / light.distance_mm * px_per_mm / 2
        # a uniform disc of radius r has a standard deviation of r / 2 along each axis
        total = ImageChops.screen(total, cast.filter(ImageFilter.GaussianBlur(soft / 2)) if soft > 0.3 else cast)
    if total.getbbox() is None:
        return None
    grown = total.resize((size[0] * QUARTER, size[1] * QUARTER), Image.Resampling.BILINEAR)
    return np.asarray(grown, np.float32)[:h, :w] / np.float32(255)
