"""A watch-movement bridge: part of an invented 28 mm movement, bridges on a spotted plate, 2.4 mm of relief.

From the base up: cloth, plate with circular spots, a wheel, a small cock, the striped bridge with its
engraved lettering and jewels, and the screw heads. The region is the lettering.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mock_camera.grid import Crop, Grid, Pose, crop_of
from mock_camera.surface import Layer, Surface, Tint, box, capsule, disc, painted

Floats = NDArray[np.float32]

CLOTH_MM, PLATE_MM, WHEEL_MM, COCK_MM, BRIDGE_MM, SCREW_MM = -1.5, 0.0, 0.6, 1.0, 1.6, 2.4
MOVEMENT = (-1.5, 3.0, 14.0)  # centre x, y and radius, mm
REGION_MM = (-7.4, -4.35, 11.8, 3.5)
LINES = (("LANTERN WORKS", -3.45, 1.25), ("SEVENTEEN JEWELS", -1.55, 0.72))
LETTERING_X = -1.5
SCREWS = ((-10.2, -3.2), (6.3, -5.6), (-4.2, 1.0), (9.3, 3.9))
SCREW_RADIUS = 1.05
JEWELS = ((-8.4, 0.6, 0.75), (2.4, 0.35, 0.8), (-1.0, -6.3, 0.7))
STEEL: Tint = (0.50, 0.505, 0.51)
RHODIUM: Tint = (0.52, 0.51, 0.49)
GILT: Tint = (0.58, 0.45, 0.25)
BLUED: Tint = (0.10, 0.15, 0.36)
RUBY: Tint = (0.36, 0.035, 0.075)
ENAMEL: Tint = (0.03, 0.028, 0.026)


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """The layers of the movement, lowest first; `seed` varies grain, spots, screw slots and scratches."""
    whole = Crop(0, 0, grid.full_width, grid.full_height)
    mx, my, mr = MOVEMENT
    layers = [_cloth(Surface(grid, pose, whole, CLOTH_MM), seed)]
    parts = [
        (PLATE_MM, (mx - mr, my - mr, mx + mr, my + mr), _plate),
        (WHEEL_MM, (1.2, 1.0, 9.2, 9.0), _wheel),
        (COCK_MM, (3.4, 2.2, 12.2, 9.0), _cock),
        (BRIDGE_MM, (mx - mr, my - mr, mx + mr, 3.2), _bridge),
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


def _coloured(surface: Surface, tint: Tint, tone: Floats | float = 1.0) -> Floats:
    return np.array(tint, np.float32) * (surface.flat(1.0) * np.float32(1) * tone)[..., None]


def _cloth(s: Surface, seed: int) -> Layer:
    tone = 1 + 0.25 * s.texture(seed + 1, (0.12, 0.12)) + 0.15 * s.texture(seed + 2, (0.4, 0.4))
    colour = _coloured(s, (0.035, 0.036, 0.04), np.clip(tone, 0.2, 2))
    return s.layer(s.flat(1.0), colour, s.flat(), (s.flat(), s.flat()), 0.4)


def _plate(s: Surface, seed: int) -> Layer:
    mx, my, mr = MOVEMENT
    edge = disc(s.x, s.y, mx, my, mr)
    tilt = s.bevel(edge, 0.35, 0.6)
    swirl_x, swirl_y, tone = _spots(s, seed)
    colour = _coloured(s, RHODIUM, tone * (1 + 0.03 * s.texture(seed + 3, (0.05, 0.05))))
    for x, y, r in ((-11.0, 5.5, 0.9), (1.0, 7.6, 0.7), (-6.0, 4.6, 1.4)):  # sinks and holes
        colour = painted(colour, s.coverage(disc(s.x, s.y, x, y, r)), (0.02, 0.02, 0.022))
        ring = s.coverage(np.abs(disc(s.x, s.y, x, y, r + 0.16)) - np.float32(0.1))
        colour = painted(colour, ring, GILT)
    return s.layer(s.coverage(edge), colour, s.flat(0.5), (tilt[0] + swirl_x, tilt[1] + swirl_y), 0.22)


def _spots(s: Surface, seed: int) -> tuple[Floats, Floats, Floats]:
    """Circular graining: rows of overlapping polished spots, each with fine concentric marks."""
    pitch = np.float32(1.15)
    row = np.floor(s.y / pitch)
    shifted = s.x + (row % 2) * (pitch / 2)
    dx = shifted - (np.floor(shifted / pitch) + 0.5) * pitch
    dy = s.y - (row + 0.5) * pitch
    radius = np.hypot(dx, dy) + np.float32(1e-4)
    marks = 0.10 * np.sin(radius * np.float32(2 * math.pi / max(0.14, 3 * s.px_mm)))
    rim = np.clip((radius - 0.5) / 0.1, 0, 1)
    tone = 0.93 + 0.07 * np.cos(2 * np.arctan2(dy, dx) + np.float32(seed % 7)) - 0.12 * rim
    tilt = s.turned(marks * dx / radius, marks * dy / radius)
    return tilt[0], tilt[1], tone


def _wheel(s: Surface, seed: int) -> Layer:
    cx, cy, r = 5.2, 5.0, 3.7
    dx, dy = s.x - np.float32(cx), s.y - np.float32(cy)
    radius, angle = np.hypot(dx, dy), np.arctan2(dy, dx)
    teeth = np.clip(1.6 * np.sin(60 * angle), -1, 1) * np.float32(0.12)
    rim = np.maximum(radius - (r + teeth), (r - 0.75) - radius)
    hub = radius - np.float32(0.75)
    spokes = np.full_like(radius, 99.0)
    for k in range(5):
        a = 2 * math.pi * k / 5 + 0.3 + seed % 5
        tip = (cx + r * math.cos(a), cy + r * math.sin(a))
        spokes = np.minimum(spokes, capsule(s.x, s.y, (cx, cy), tip, 0.22))
    shape = np.minimum(np.minimum(rim, hub), np.maximum(spokes, radius - np.float32(r - 0.3)))
    brushed = 0.05 * s.texture(seed + 4, (0.9, 0.05), 20)
    tilt = s.bevel(shape, 0.1, 0.45)
    colour = _coloured(s, GILT, 1 + brushed)
    pivot = s.coverage(disc(s.x, s.y, cx, cy, 0.28))
    colour = painted(colour, pivot, STEEL)
    return s.layer(s.coverage(shape), colour, s.flat(0.5), (tilt[0] + brushed, tilt[1]), 0.25)


def _cock(s: Surface, seed: int) -> Layer:
    shape = np.minimum(capsule(s.x, s.y, (9.6, 4.2), (5.2, 5.0), 1.0), disc(s.x, s.y, 9.4, 3.9, 1.55))
    tilt = s.bevel(shape, 0.22, 0.8)
    stripe, grain = _stripes(s, seed + 20, 1.1, 62.0)
    colour = _coloured(s, RHODIUM, 1 + 0.04 * grain)
    colour = painted(colour, s.coverage(disc(s.x, s.y, 5.2, 5.0, 0.62)), GILT)
    colour = painted(colour, s.coverage(disc(s.x, s.y, 5.2, 5.0, 0.45)), RUBY)
    colour = painted(colour, s.coverage(disc(s.x, s.y, 5.2, 5.0, 0.1)), STEEL)
    return s.layer(s.coverage(shape), colour, s.flat(0.5), (tilt[0] + stripe[0], tilt[1] + stripe[1]), 0.24)


def _stripes(s: Surface, seed: int, width_mm: float, turn_deg: float) -> tuple[tuple[Floats, Floats], Floats]:
    """Striping: parallel bands, each ground with a slight hollow, and fine marks across it."""
    angle = math.radians(turn_deg)
    c, sn = np.float32(math.cos(angle)), np.float32(math.sin(angle))
    across = (-sn * s.x + c * s.y) / np.float32(width_mm)
    hollow = (across - np.floor(across) - 0.5) * np.float32(0.34)
    grain = s.texture(seed, (0.05, 1.4), turn_deg + 14)
    slope = hollow + 0.03 * grain
    return s.turned(-sn * slope, c * slope), grain


def _bridge(s: Surface, seed: int) -> Layer:
    mx, my, mr = MOVEMENT
    edge = disc(s.x, s.y, mx, my, mr - 0.9)
    lower = s.y - (1.75 + 0.5 * np.sin(s.x * np.float32(0.28) + np.float32(0.8)))
    shape = np.maximum(edge, lower)
    shape = np.maximum(shape, -disc(s.x, s.y, 6.6, 3.6, 3.3))  # cut-out above the wheel
    shape = np.maximum(shape, -capsule(s.x, s.y, (9.0, -6.4), (8.2, -2.2), 0.55))  # slot for the click
    tilt = s.bevel(shape, 0.3, 0.85)
    stripe, grain = _stripes(s, seed + 5, 1.7, -28.0)
    inside = (shape < -0.3).astype(np.float32)
    tilt_x, tilt_y = tilt[0] + stripe[0] * inside, tilt[1] + stripe[1] * inside
    colour = _coloured(s, RHODIUM, 1 + 0.05 * grain * inside)
    gloss = s.flat(0.5)
    for x, y, r in JEWELS:
        seat = disc(s.x, s.y, x, y, r)
        cover = s.coverage(seat)
        colour = painted(colour, cover, GILT)
        colour = painted(colour, s.coverage(seat + np.float32(0.24)), RUBY)
        colour = painted(colour, s.coverage(disc(s.x, s.y, x, y, 0.14)), STEEL)
        ring = s.bevel(seat, 0.22, -0.6)
        tilt_x = tilt_x * (1 - cover) + ring[0] * cover
        tilt_y = tilt_y * (1 - cover) + ring[1] * cover
    ink = s.flat()
    for text, y, capital in LINES:
        ink = np.maximum(ink, s.lettering(text, (LETTERING_X, y), capital))
    ink = np.maximum(ink, s.coverage(np.abs(box(s.x, s.y, LETTERING_X, -2.32, 4.2, 0.02)) - np.float32(0.035)))
    colour = painted(colour, ink, ENAMEL)
    gloss = gloss * (1 - 0.9 * ink)
    down, right = np.gradient(ink)
    wall = np.float32(0.35)  # the engraver's cut catches the light along its walls
    tilt_x, tilt_y = tilt_x - wall * right, tilt_y - wall * down
    for scratch in _scratches(s, seed):
        gloss = gloss + 0.5 * scratch
    return s.layer(s.coverage(shape), colour, gloss, (tilt_x, tilt_y), 0.22)


def _scratches(s: Surface, seed: int) -> list[Floats]:
    chance = np.random.default_rng(seed + 31)
    marks = []
    for _ in range(3):
        x, y, a = chance.uniform(-9, 8), chance.uniform(-7, 1), chance.uniform(0, math.pi)
        tip = (float(x + 0.8 * math.cos(a)), float(y + 0.8 * math.sin(a)))
        marks.append(s.coverage(capsule(s.x, s.y, (float(x), float(y)), tip, 0.008)) * np.float32(0.6))
    return marks


def _screw(s: Surface, cx: float, cy: float, slot_deg: float) -> Layer:
    shape = disc(s.x, s.y, cx, cy, SCREW_RADIUS)
    tilt = s.bevel(shape, 0.16, 0.7)
    angle = math.radians(slot_deg)
    a = (cx + 2 * math.cos(angle), cy + 2 * math.sin(angle))
    b = (cx - 2 * math.cos(angle), cy - 2 * math.sin(angle))
    slot = capsule(s.x, s.y, a, b, 0.17)
    colour = painted(_coloured(s, BLUED), s.coverage(slot), (0.012, 0.012, 0.014))
    turning = 0.03 * np.sin(np.hypot(s.x - np.float32(cx), s.y - np.float32(cy)) * np.float32(60))
    lip = s.bevel(-slot, 0.06, 0.5)
    alpha = s.coverage(shape)
    gloss = 0.8 * (1 - s.coverage(slot))
    return s.layer(alpha, colour, gloss, (tilt[0] + lip[0] + turning, tilt[1] + lip[1]), 0.2)
