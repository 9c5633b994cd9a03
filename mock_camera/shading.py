"""What a layer sends to the lens under one light: diffuse part, highlight, reflected room, shadows.

Values are per unit of light on a surface that faces the source, so a level white surface under a light at
elevation e gives sin e. A share of every light comes back from the room (BOUNCE) and fills the shadows;
on a level matt surface the sum is unchanged, so exposure still follows the guide number.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from mock_camera.grid import Grid, Pose
from mock_camera.lights import Light
from mock_camera.surface import Layer

Floats = NDArray[np.float32]

BOUNCE = 0.15  # share of a light that arrives by way of the room; a guess for a small studio
HIGHLIGHT = 1.6  # strength of the mirror-like lobe at roughness 0.25; chosen by eye
METAL_GLOSS = 0.4  # from here on a surface mirrors its colour rather than the light's


def lit(layers: list[Layer], grid: Grid, pose: Pose, light: Light) -> list[Floats]:
    """Radiance of each layer (h, w, 3) under a light, per unit of light; shadows of the higher layers fall in."""
    toward = light.direction
    covers = [_quarter(layer, grid) for layer in layers]
    pictures = []
    for number, layer in enumerate(layers):
        shade = _shade(layer, grid, pose, light, toward)
        shadow = _shadow(number, layers, covers, grid, pose, light)
        if shadow is not None:
            direct, room = shade
            direct *= (1 - shadow)[..., None]
            pictures.append(direct + room)
        else:
            pictures.append(shade[0] + shade[1])
    return pictures


def room_lit(layers: list[Layer]) -> list[Floats]:
    """Radiance of each layer under even light from above (a pale room), per unit of light on the table."""
    return [
        layer.colour * (1 + layer.gloss * (0.3 - 0.5 * np.hypot(layer.tilt_x, layer.tilt_y)).clip(-0.5, 0.3))[..., None]
        for layer in layers
    ]


def _shade(
    layer: Layer, grid: Grid, pose: Pose, light: Light, toward: tuple[float, float, float]
) -> tuple[Floats, Floats]:
    """Direct and returned light of one layer, each (h, w, 3)."""
    # the piece is small against the distance: direction and strength change in proportion over the frame
    m = pose.magnification(layer.height_mm)
    left, top = grid.sensor_mm(layer.crop.left, layer.crop.top)
    step = np.float32(grid.pitch_mm / m / light.distance_mm)
    x = np.arange(layer.crop.width, dtype=np.float32)[None, :] * step + np.float32(left / m / light.distance_mm)
    y = np.arange(layer.crop.height, dtype=np.float32)[:, None] * step + np.float32(top / m / light.distance_mm)
    lx, ly, lz = np.float32(toward[0]) - x, np.float32(toward[1]) - y, np.float32(toward[2])
    inverse = 1 / np.sqrt(lx * lx + ly * ly + lz * lz)
    strength = inverse * inverse
    lx, ly, lz = lx * inverse, ly * inverse, lz * inverse
    tx, ty = layer.tilt_x, layer.tilt_y
    matt = np.maximum((tx * lx + ty * ly + lz) / np.sqrt(1 + tx * tx + ty * ty), 0)
    halfway = 1 / (lz + 1)
    width = np.float32(layer.roughness + light.source_size_mm / light.distance_mm / 4)
    off = ((lx * halfway - tx) ** 2 + (ly * halfway - ty) ** 2) / (width * width)
    lobe = np.float32(HIGHLIGHT * (0.25 / width) ** 2) * np.exp(-off) * (lz > 0)
    gloss = layer.gloss
    direct = layer.colour * ((1 - BOUNCE) * strength * (matt * (1 - 0.35 * gloss) + gloss * lobe))[..., None]
    level = np.float32(max(toward[2], 0.0) * BOUNCE)
    # a glossy surface mirrors the room, which is brighter on the light's side
    mirrored = 0.9 + 1.1 * (tx * toward[0] + ty * toward[1])
    room = layer.colour * (level * ((1 - gloss) + gloss * np.clip(mirrored, 0, 2.5)))[..., None]
    return direct, room


def _quarter(layer: Layer, grid: Grid) -> Image.Image:
    """Coverage of a layer over the whole raster at a quarter of its size, for soft shadows."""
    whole = Image.new("L", ((grid.full_width + 3) // 4, (grid.full_height + 3) // 4))
    h, w = layer.alpha.shape
    trimmed = layer.alpha[: h // 4 * 4, : w // 4 * 4].reshape(h // 4, 4, w // 4, 4).mean(axis=(1, 3))
    whole.paste(Image.fromarray((trimmed * 255).astype(np.uint8)), (layer.crop.left // 4, layer.crop.top // 4))
    return whole


def _shadow(
    number: int, layers: list[Layer], covers: list[Image.Image], grid: Grid, pose: Pose, light: Light
) -> Floats | None:
    """Share of the light kept from a layer by all that stands higher (h, w), or None for none."""
    layer = layers[number]
    lx, ly, lz = light.direction
    if lz <= 0.02:
        return None
    total: Floats | None = None
    for other, cover in zip(layers, covers, strict=True):
        rise_mm = other.height_mm - layer.height_mm
        if rise_mm < 0.05:
            continue
        px_per_mm = pose.magnification(other.height_mm) / grid.pitch_mm
        right, down = -lx / lz * rise_mm * px_per_mm / 4, -ly / lz * rise_mm * px_per_mm / 4
        soft = rise_mm / lz * light.source_size_mm / light.distance_mm * px_per_mm / 4 / 2
        c = layer.crop
        box = (c.left // 4, c.top // 4, c.left // 4 + (c.width + 3) // 4, c.top // 4 + (c.height + 3) // 4)
        moved = cover.transform(
            (box[2] - box[0], box[3] - box[1]),
            Image.Transform.AFFINE,
            (1, 0, box[0] - right, 0, 1, box[1] - down),
            Image.Resampling.BILINEAR,
        )
        if moved.getbbox() is None:
            continue
        if soft > 0.3:
            moved = moved.filter(ImageFilter.GaussianBlur(soft * 0.6))
        share = np.asarray(moved, np.float32) / 255
        total = share if total is None else 1 - (1 - total) * (1 - share)
    if total is None:
        return None
    h, w = layer.alpha.shape
    grown = Image.fromarray(total).resize((total.shape[1] * 4, total.shape[0] * 4), Image.Resampling.BILINEAR)
    return np.asarray(grown, np.float32)[:h, :w]
