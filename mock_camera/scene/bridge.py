"""A watch-movement bridge: part of an invented 28 mm movement, bridges on a spotted plate, 2.4 mm of relief.

From the base up: the plate with its circular graining (in a dark holder of the same height), a wheel, a
small cock, the striped bridge with engraved lettering and jewels, and the screw heads. The region is the
lettering. Lengths in mm, x to the right and y down from the middle of the frame as it starts.
"""

from __future__ import annotations

import math

import numpy as np

from mock_camera.scene.arrays import Floats
from mock_camera.scene.grid import Crop, Grid, Pose, crop_of
from mock_camera.scene.lettering import lettering
from mock_camera.scene.shapes import box, capsule, disc, gear
from mock_camera.scene.surface import Layer, Surface, Tint

PLATE_MM, WHEEL_MM, COCK_MM, BRIDGE_MM, SCREW_MM = 0.0, 0.6, 1.0, 1.6, 2.4
MOVEMENT = (-1.5, 3.0, 14.0)  # centre and radius
REGION_MM = (-7.4, -4.35, 11.8, 3.5)
LINES = (("LANTERN WORKS", -3.45, 1.25), ("SEVENTEEN JEWELS", -1.55, 0.72))
LETTERING_X = -1.5
SCREWS = ((-10.2, -3.2), (6.3, -5.6), (-4.2, 0.6), (9.3, 3.9))
SCREW_RADIUS = 1.05
JEWELS = ((-8.4, 0.3, 0.75), (2.4, 0.35, 0.8), (-1.0, -6.3, 0.7))
WHEEL = (5.2, 5.0, 3.7)
STEEL: Tint = (0.42, 0.425, 0.43)
RHODIUM: Tint = (0.40, 0.392, 0.375)
GILT: Tint = (0.46, 0.35, 0.18)
BLUED: Tint = (0.045, 0.075, 0.20)
RUBY: Tint = (0.30, 0.025, 0.06)
DARK: Tint = (0.018, 0.018, 0.02)
ENAMEL: Tint = (0.025, 0.024, 0.022)
HOLDER: Tint = (0.03, 0.031, 0.034)


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """The layers of the movement, lowest first; `seed` varies grain, spots, screw slots and scratches."""
    mx, my, mr = MOVEMENT
    wx, wy, wr = WHEEL
    layers = [_plate(Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), PLATE_MM), seed)]
    parts = [
        (WHEEL_MM, (wx - wr - 0.2, wy - wr - 0.2, wx + wr + 0.2, wy + wr + 0.2), _wheel),
        (COCK_MM, (4.0, 2.2, 11.2, 6.2), _cock),
        (BRIDGE_MM, (mx - mr, my - mr, mx + mr, 2.6), _bridge),
    ]
    for height_mm, box_mm, part in parts:
        crop = crop_of(grid, pose, box_mm, height_mm)
        if crop is not None:
            layers.append(part(Surface(grid, pose, crop, height_mm), seed))
    angles = np.random.default_rng(seed + 11).uniform(0, 180, len(SCREWS))
    for (x, y), angle in zip(SCREWS, angles, strict=True):
        r = SCREW_RADIUS + 0.1
        crop = crop_of(grid, pose, (x - r, y - r, x + r, y + r), SCREW_MM)
        if crop is not None:
            layers.append(_screw(Surface(grid, pose, crop, SCREW_MM), x, y, float(angle)))
    return layers


def _plate(s: Surface, seed: int) -> Layer:
    edge = disc(s.x, s.y, *MOVEMENT)
    tone = _spots(s, seed)
    s.fill(RHODIUM, tone)
    s.gloss += np.float32(0.55)
    s.bevel(edge, 0.35, 0.6)
    inside = s.coverage(edge)
    grain = 1 + 0.2 * s.texture(seed + 1, (0.12, 0.12))
    for plane, value in zip(s.colour, HOLDER, strict=True):
        plane[...] = inside * plane + (1 - inside) * np.float32(value) * grain
    for values in (s.gloss, s.tilt_x, s.tilt_y):
        np.multiply(values, inside, out=values)
    for x, y, r in ((-11.0, 5.5, 0.9), (1.0, 7.6, 0.7), (-6.0, 4.6, 1.4)):  # sinks with gilt rims
        part = s.part(x, y, r + 0.5)
        sink = disc(s.x[part], s.y[part], x, y, r)
        s.paint(s.coverage(sink - np.float32(0.26)), GILT, part)
        s.paint(s.coverage(sink), DARK, part)
        s.gloss[part] *= 1 - s.coverage(sink)
        s.bevel(sink - np.float32(0.26), 0.24, -0.7, part)
    return s.layer(np.ones_like(s.gloss), 0.22)


def _spots(s: Surface, seed: int) -> Floats:
    """Circular graining: rows of overlapping polished spots with fine concentric marks. Returns the tone."""
    pitch = np.float32(1.15)
    row = np.floor(s.y / pitch)
    shifted = s.x + (row % 2) * (pitch / 2)
    dx = shifted - (np.floor(shifted / pitch) + np.float32(0.5)) * pitch
    dy = s.y - (row + np.float32(0.5)) * pitch
    radius = np.hypot(dx, dy) + np.float32(1e-4)
    marks = np.sin(radius * np.float32(2 * math.pi / max(0.14, 3 * s.px_mm))) * np.float32(0.12) / radius
    s.lean(marks * dx, marks * dy)
    # the polished spots shine along one diameter: cos 2a = (dx^2 - dy^2) / r^2, turned a little by the seed
    turn = np.float32(seed % 7)
    along = np.cos(turn) * (dx * dx - dy * dy) + np.sin(turn) * 2 * dx * dy
    rim = np.clip((radius - np.float32(0.5)) * np.float32(10), 0, 1)
    tone: Floats = np.float32(0.93) + np.float32(0.10) * along / (radius * radius) - np.float32(0.16) * rim
    return tone


def _wheel(s: Surface, seed: int) -> Layer:
    shape = gear(s.x, s.y, *WHEEL, 60, 0.3 + seed % 5)
    brushed = 0.06 * s.texture(seed + 4, (0.9, 0.05), 20)
    s.fill(GILT, 1 + brushed)
    s.gloss += np.float32(0.5)
    s.bevel(shape, 0.1, 0.45)
    s.lean(brushed, np.zeros_like(brushed))
    part = s.part(*WHEEL[:2], 0.4)
    s.paint(s.coverage(disc(s.x[part], s.y[part], *WHEEL[:2], 0.28)), STEEL, part)
    return s.layer(s.coverage(shape), 0.25, 0.25)


def _cock(s: Surface, seed: int) -> Layer:
    shape = np.minimum(capsule(s.x, s.y, (9.6, 4.2), (5.2, 5.0), 1.0), disc(s.x, s.y, 9.4, 3.9, 1.55))
    grain = _stripes(s, seed + 20, 1.1, 62.0, 1.0)
    s.fill(RHODIUM, 1 + 0.04 * grain)
    s.gloss += np.float32(0.55)
    s.bevel(shape, 0.22, 0.8)
    part = s.part(5.2, 5.0, 0.8)
    seat = disc(s.x[part], s.y[part], 5.2, 5.0, 0.62)
    for inset, tint in ((0.0, GILT), (0.17, RUBY), (0.52, STEEL)):
        s.paint(s.coverage(seat + np.float32(inset)), tint, part)
    return s.layer(s.coverage(shape), 0.22, COCK_MM)


def _stripes(s: Surface, seed: int, width_mm: float, turn_deg: float, inside: Floats | float) -> Floats:
    """Striping: parallel bands, each ground slightly hollow, with fine marks across. Returns the marks."""
    angle = math.radians(turn_deg)
    c, sn = np.float32(math.cos(angle)), np.float32(math.sin(angle))
    across = (c * s.y - sn * s.x) / np.float32(width_mm)
    grain = s.texture(seed, (0.05, 1.4), turn_deg + 14)
    slope = (across - np.floor(across) - np.float32(0.5)) * np.float32(0.42)
    slope = (slope + np.float32(0.04) * grain) * inside
    s.lean(-sn * slope, c * slope)
    return grain


def _bridge(s: Surface, seed: int) -> Layer:
    mx, my, mr = MOVEMENT
    shape = np.maximum(
        disc(s.x, s.y, mx, my, mr - 0.9),
        s.y - (np.float32(1.75) + np.float32(0.5) * np.sin(s.x * np.float32(0.28) + np.float32(0.8))),
    )
    np.maximum(shape, -disc(s.x, s.y, 6.6, 3.6, 3.3), out=shape)  # cut-out above the wheel
    np.maximum(shape, -capsule(s.x, s.y, (9.0, -6.4), (8.2, -2.2), 0.55), out=shape)  # slot for the click
    inside = (shape < -0.3).astype(np.float32)
    grain = _stripes(s, seed + 5, 1.7, -28.0, inside)
    s.fill(RHODIUM, 1 + np.float32(0.05) * grain * inside)
    s.gloss += np.float32(0.55)
    s.bevel(shape, 0.3, 0.85)
    for x, y, r in JEWELS:
        _jewel(s, x, y, r)
    for text, y, capital in LINES:
        part, ink = lettering(s, text, (LETTERING_X, y), capital)
        _engrave(s, part, ink)
    part = s.part(LETTERING_X, -2.32, 4.5, 0.2)
    _engrave(s, part, s.coverage(box(s.x[part], s.y[part], LETTERING_X, -2.32, 4.2, 0.05, 0.04)))
    chance = np.random.default_rng(seed + 31)
    for _ in range(4):
        _scratch(s, chance)
    return s.layer(s.coverage(shape), 0.22, BRIDGE_MM)


def _jewel(s: Surface, x: float, y: float, r: float) -> None:
    """A ruby in a gilt setting, with its hole."""
    part = s.part(x, y, r + 0.1)
    seat = disc(s.x[part], s.y[part], x, y, r)
    cover = s.coverage(seat)
    for inset, tint in ((0.0, GILT), (0.24, RUBY), (r - 0.14, STEEL)):
        s.paint(s.coverage(seat + np.float32(inset)), tint, part)
    s.tilt_x[part] *= 1 - cover
    s.tilt_y[part] *= 1 - cover
    s.bevel(seat, 0.22, -0.6, part)


def _engrave(s: Surface, part: tuple[slice, slice], ink: Floats) -> None:
    """A cut filled with dark enamel; its walls catch the light."""
    if min(ink.shape) < 2:
        return
    s.paint(ink, ENAMEL, part)
    s.gloss[part] *= 1 - np.float32(0.9) * ink
    down, right = np.gradient(ink)
    s.tilt_x[part] -= np.float32(0.35) * right
    s.tilt_y[part] -= np.float32(0.35) * down


def _scratch(s: Surface, chance: np.random.Generator) -> None:
    x, y, a, length = (float(chance.uniform(*v)) for v in ((-9, 8), (-7, 1), (0, math.pi), (0.3, 1.2)))
    part = s.part(x, y, length + 0.1)
    tip = (x + length * math.cos(a), y + length * math.sin(a))
    s.gloss[part] += np.float32(0.4) * s.coverage(capsule(s.x[part], s.y[part], (x, y), tip, 0.008))


def _screw(s: Surface, cx: float, cy: float, slot_deg: float) -> Layer:
    shape = disc(s.x, s.y, cx, cy, SCREW_RADIUS)
    c, sn = 2 * math.cos(math.radians(slot_deg)), 2 * math.sin(math.radians(slot_deg))
    slot = capsule(s.x, s.y, (cx + c, cy + sn), (cx - c, cy - sn), 0.17)
    s.fill(BLUED)
    s.paint(s.coverage(slot), DARK)
    s.gloss += 1 - s.coverage(slot)
    s.bevel(shape, 0.16, 0.7)
    s.bevel(-slot, 0.06, 0.5)
    turning = 0.04 * np.sin((shape + np.float32(SCREW_RADIUS)) * np.float32(2 * math.pi / max(0.1, 3 * s.px_mm)))
    s.lean(turning, turning)
    return s.layer(s.coverage(shape), 0.18, SCREW_MM)
