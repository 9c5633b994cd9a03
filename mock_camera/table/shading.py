"""The brightness of each layer under a light: matt part, highlight, reflected room, shadows.

The result is a factor on the layer's reflectance, per unit of light on a surface that faces the source, so a
level matt surface under a light at elevation e gives sin e. A share of every light comes back from the room
(BOUNCE) and fills the shadows; on a level matt surface the sum is unchanged, so exposure still follows the
guide number. Metal and paint mirror in their own colour.

A mirror shows the sources themselves: rays from all of the entrance pupil are followed by way of each place to where
they meet the surface that shines, or the lens's own rim; the rest is black, as if cloth hung there. The luminance of
the surface follows from the light that it sheds, lux (d^2 + R^2) / (pi R^2), where a matt white in the same light has
lux / pi. The guide number counts whole there, as that of a head without a room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from mock_camera.scene.arrays import Floats, slabs
from mock_camera.scene.grid import Grid, Pose
from mock_camera.scene.optics import Focus
from mock_camera.scene.surface import Layer
from mock_camera.table.lights import FlashHead

BOUNCE = 0.15  # share of a light that arrives by way of the room; a guess for a small studio
HIGHLIGHT = 1.6  # strength of the mirror-like lobe at slope width 0.25; chosen by eye
QUARTER = 4  # shadows and reflected edges are soft: they are made at a quarter of the resolution
PUPIL_RAYS = 200  # to each place of a mirror


def light_layers(layers: list[Layer], grid: Grid, pose: Pose, light: FlashHead, focus: Focus) -> list[Floats]:
    """Brightness factor of each layer (h, w) under a light, per unit of light; seen through the lens at a focus."""
    covers = [_quarter(layer) for layer in layers]
    return [
        _mirror_image(layer, grid, pose, light, focus)
        if layer.mirrors
        else _shade(layer, grid, pose, light, _shadow(layer, covers, grid, pose, light))
        for layer in layers
    ]


def room_lit(layers: list[Layer]) -> list[Floats]:
    """The layers under even light from above (a pale room), each (h, w), per unit of light on the table."""
    factors = []
    for layer in layers:
        factor = np.empty_like(layer.alpha)
        for rows in slabs(len(factor)):
            steep = np.hypot(layer.tilt_x[rows], layer.tilt_y[rows])
            factor[rows] = 1 + layer.gloss[rows] * np.clip(0.3 - 0.5 * steep, -0.5, 0.3)
        factors.append(factor)
    return factors


def _toward(pose: Pose, light: FlashHead) -> tuple[float, float, float]:
    """Unit vector to the light along the picture's axes."""
    right, down, up = light.direction
    return *pose.to_picture(right, down), up


def _shade(layer: Layer, grid: Grid, pose: Pose, light: FlashHead, shadow: Floats | None) -> Floats:
    toward = _toward(pose, light)
    # places on the piece along the picture's axes, in units of the light's distance, from under its aim
    per_px = grid.pitch_mm / pose.magnification(layer.height_mm) / light.distance_mm
    left, top = (v / grid.pitch_mm * per_px for v in grid.sensor_mm(layer.crop.left, layer.crop.top))
    moved = pose.to_picture(pose.camera.right_mm / light.distance_mm, pose.camera.down_mm / light.distance_mm)
    h, w = layer.alpha.shape
    x = (left + per_px * np.arange(w)).astype(np.float32)[None, :]
    y = (top + per_px * np.arange(h)).astype(np.float32)[:, None]
    # slope of the way from each place to the entrance pupil, which hangs over the middle of the picture
    pupil = np.float32(light.distance_mm / pose.arrangement.pupil_distance_mm)
    lx, lz = np.float32(toward[0] - moved[0]) - x, np.float32(toward[2])
    width = np.float32(layer.roughness + light.source_size_mm / light.distance_mm / 4)
    lobe_height = np.float32(HIGHLIGHT * (0.25 / width) ** 2 * (toward[2] > 0))
    returned = np.float32(max(toward[2], 0.0) * BOUNCE)
    factor = np.empty((h, w), np.float32)
    for rows in slabs(h):
        ly = np.float32(toward[1] - moved[1]) - y[rows]
        inverse = 1 / np.sqrt(lx * lx + ly * ly + lz * lz)
        tx, ty, gloss = layer.tilt_x[rows], layer.tilt_y[rows], layer.gloss[rows]
        matt = np.maximum(tx * lx + ty * ly + lz, 0) * inverse / np.sqrt(1 + tx * tx + ty * ty)
        # slope of a surface that mirrors the light into the lens: halfway between both directions
        halfway = 1 / (lz * inverse + 1)
        off_x = (lx * inverse - pupil * x) * halfway - tx
        off_y = (ly * inverse - pupil * y[rows]) * halfway - ty
        lobe = lobe_height * np.exp(-(off_x * off_x + off_y * off_y) / (width * width))
        direct = matt * (1 - np.float32(0.45) * gloss) + gloss * lobe
        direct *= np.float32(1 - BOUNCE) * inverse * inverse
        if shadow is not None:
            direct *= 1 - shadow[rows]
        # a glossy surface mirrors the room, which is brighter on the light's side
        mirrored = np.clip(0.75 + 1.3 * (tx * toward[0] + ty * toward[1]), 0, 2.5)
        factor[rows] = direct + returned * (1 + gloss * (mirrored - 1))
    return factor


def _mirror_image(layer: Layer, grid: Grid, pose: Pose, light: FlashHead, focus: Focus) -> Floats:
    """What a mirror shows of a light, per unit of light, (h, w)."""
    h, w = layer.alpha.shape
    rows, columns = -(-h // QUARTER), -(-w // QUARTER)
    scale = pose.magnification(layer.height_mm)
    edge = layer.crop.left + (QUARTER - 1) / 2, layer.crop.top + (QUARTER - 1) / 2
    left, top = (v / scale for v in grid.sensor_mm(*edge))
    step_mm = QUARTER * grid.pitch_mm / scale
    x, y = np.meshgrid(left + step_mm * np.arange(columns), top + step_mm * np.arange(rows))
    up_x, up_y = pose.to_picture(*pose.lean.uphill)
    normal = np.array([-pose.lean.rise * up_x, -pose.lean.rise * up_y, pose.lean.foreshortening])
    toward = np.array(_toward(pose, light))
    moved = np.array([*pose.to_picture(pose.camera.right_mm, pose.camera.down_mm), 0.0])
    source = light.distance_mm * toward - moved
    radius_mm, far_mm = light.source_size_mm / 2, pose.arrangement.pupil_distance_mm + pose.away_of(layer.height_mm)
    lens = pose.arrangement
    lit = np.zeros(x.shape)
    for at_x, at_y in _pupil_places(focus.pupil_mm / 2):
        ray = np.stack([x - at_x, y - at_y, np.full(x.shape, -far_mm)])
        ray -= 2 * np.tensordot(normal, ray, 1) * normal[:, None, None]
        away = (toward @ source - toward[0] * x - toward[1] * y) / np.tensordot(toward, ray, 1)
        off = np.stack([x, y, np.zeros(x.shape)]) + away * ray - source[:, None, None]
        hits = (away > 0) & ((off**2).sum(axis=0) < radius_mm**2)
        to_rim = lens.rim_before_mm / ray[2]
        blocked = np.hypot(x + to_rim * ray[0], y + to_rim * ray[1]) < lens.rim_mm / 2
        blocked &= not light.over_glass
        lit += hits & ~blocked
    bright = (light.distance_mm**2 + radius_mm**2) / radius_mm**2
    if focus.glass and light.over_glass:  # a mirror keeps the polarisation that the glass gives
        passed, thrown = focus.glass.transmittance(), focus.glass.reflectance()
        bright *= 2 * sum(a * b for a, b in zip(passed, thrown, strict=True)) / (sum(passed) * sum(thrown))
    shown = (lit * bright / PUPIL_RAYS).astype(np.float32)
    grown = np.asarray(Image.fromarray(shown).resize((columns * QUARTER, rows * QUARTER), Image.Resampling.BILINEAR))
    return grown[:h, :w]


def _pupil_places(radius_mm: float) -> list[tuple[float, float]]:
    """Places spread evenly over a disc, along a spiral with the golden angle, mm."""
    turn = math.pi * (3 - math.sqrt(5))
    spread = [(radius_mm * math.sqrt((number + 0.5) / PUPIL_RAYS), number * turn) for number in range(PUPIL_RAYS)]
    return [(r * math.cos(angle), r * math.sin(angle)) for r, angle in spread]


@dataclass(frozen=True, eq=False)
class _Cover:
    """Coverage of a layer at a quarter of the resolution (h, w), and where it lies in the quartered raster."""

    layer: Layer
    values: NDArray[np.uint8]
    left: int
    top: int


def _quarter(layer: Layer) -> _Cover:
    small = Image.fromarray((layer.alpha * 255).astype(np.uint8)).reduce(QUARTER)
    return _Cover(layer, np.asarray(small), layer.crop.left // QUARTER, layer.crop.top // QUARTER)


def _shadow(layer: Layer, covers: list[_Cover], grid: Grid, pose: Pose, light: FlashHead) -> Floats | None:
    """Share of the light kept from a layer by all that stands higher (h, w), or None for none."""
    if light.direction[2] <= 0.02:
        return None
    h, w = layer.alpha.shape
    clear = np.ones((-(-h // QUARTER) + 1, -(-w // QUARTER) + 1), np.float32)
    # parts of one height share a penumbra
    for height_mm in sorted({cover.layer.height_mm for cover in covers}):
        rise_mm = height_mm - layer.height_mm
        if rise_mm < 0.05:
            continue
        px_per_mm = pose.magnification(height_mm) / grid.pitch_mm / QUARTER
        cast = np.zeros(clear.shape, np.uint8)
        for cover in covers:
            if cover.layer.height_mm == height_mm:
                _cast(cast, cover, layer, _toward(pose, light), rise_mm * px_per_mm)
        if not cast.any():
            continue
        soft = rise_mm / light.direction[2] * light.source_size_mm / light.distance_mm * px_per_mm / 2
        # a uniform disc of radius r has a standard deviation of r / 2 along each axis
        blurred = Image.fromarray(cast).filter(ImageFilter.GaussianBlur(max(soft / 2, 0.5)))
        clear *= 1 - np.asarray(blurred, np.float32) / np.float32(255)
    if clear.min() > 0.999:
        return None
    size = clear.shape[1] * QUARTER, clear.shape[0] * QUARTER
    grown = np.asarray(Image.fromarray(clear).resize(size, Image.Resampling.BILINEAR))
    return 1 - grown[:h, :w]


def _cast(
    cast: NDArray[np.uint8],
    cover: _Cover,
    onto: Layer,
    toward: tuple[float, float, float],
    rise_px: float,
) -> None:
    """Marks in `cast` where a part `rise_px` above a layer stands between it and the light."""
    lx, ly, lz = toward
    rise_mm = cover.layer.height_mm - onto.height_mm
    lowest = max(0.0, 1 - cover.layer.thickness_mm / rise_mm)
    reach = rise_px / lz * math.hypot(lx, ly)
    for share in np.linspace(1, lowest, 1 + math.ceil(reach * (1 - lowest))):
        left = cover.left - onto.crop.left // QUARTER + round(-lx / lz * rise_px * share)
        top = cover.top - onto.crop.top // QUARTER + round(-ly / lz * rise_px * share)
        y0, x0 = max(top, 0), max(left, 0)
        y1 = min(top + cover.values.shape[0], cast.shape[0])
        x1 = min(left + cover.values.shape[1], cast.shape[1])
        if y1 > y0 and x1 > x0:
            window = cast[y0:y1, x0:x1]
            np.maximum(window, cover.values[y0 - top : y1 - top, x0 - left : x1 - left], out=window)
