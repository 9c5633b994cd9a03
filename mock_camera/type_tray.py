"""A tray of letterpress sorts: rows of metal type with raised mirror-written letters, between wooden furniture.

The rows are of different height (worn and new founts), and a few single sorts stand higher than their
row. The base is the shoulder of the sorts; the region is the middle row. The text is nonsense of the bench.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from mock_camera.grid import Crop, Grid, Pose, crop_of
from mock_camera.surface import Layer, Surface, Tint, box, painted

Floats = NDArray[np.float32]

FACE_MM = (1.1, 1.6, 2.0)  # height of the faces in each row above the shoulder
HIGH_MM = 2.4
RELIEF_MM = 2.4
WOOD_MM = 0.8
ROW_MM = 4.4
CAPITAL_MM = 2.9
ROWS = ("QUOIN&STICK", "STILL BENCH", "FORME 7 LAMP")
ROW_Y = (-ROW_MM, 0.0, ROW_MM)
HIGH_SORTS = ((0, 7), (2, 3))  # row, place
REGION_MM = (-8.2, -1.7, 16.4, 3.4)
METAL: Tint = (0.30, 0.31, 0.325)
FACE: Tint = (0.44, 0.45, 0.46)
INK: Tint = (0.05, 0.05, 0.055)
WOOD: Tint = (0.40, 0.245, 0.125)
SORT_WIDTH_MM = 2.3


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """The layers of the tray, lowest first; `seed` varies grain, ink and wear."""
    base = Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), 0.0)
    layers = [_shoulders(base, seed)]
    for top in (-30.0, 1.5 * ROW_MM + 0.1):
        bottom = -1.5 * ROW_MM - 0.1 if top < 0 else 30.0
        crop = crop_of(grid, pose, (-60.0, top, 60.0, bottom), WOOD_MM)
        if crop is not None:
            layers.append(_wood(Surface(grid, pose, crop, WOOD_MM), seed, top, bottom))
    for number in range(len(ROWS)):
        for height_mm, sorts in ((FACE_MM[number], _low(number)), (HIGH_MM, _high(number))):
            if not sorts:
                continue
            places = [_place(number, k) for k in sorts]
            left, right = min(places) - SORT_WIDTH_MM, max(places) + SORT_WIDTH_MM
            y = ROW_Y[number]
            crop = crop_of(grid, pose, (left, y - ROW_MM / 2, right, y + ROW_MM / 2), height_mm)
            if crop is not None:
                layers.append(_faces(Surface(grid, pose, crop, height_mm), seed, number, sorts))
    return sorted(layers, key=lambda layer: layer.height_mm)


def _place(row: int, index: int) -> float:
    """Centre of a sort; type is set so that it prints the right way round, so the row runs from the right."""
    return ((len(ROWS[row]) - 1) / 2 - index) * SORT_WIDTH_MM


def _high(row: int) -> list[int]:
    return [k for r, k in HIGH_SORTS if r == row]


def _low(row: int) -> list[int]:
    return [k for k, letter in enumerate(ROWS[row]) if letter != " " and (row, k) not in HIGH_SORTS]


def _letters(s: Surface, row: int, sorts: list[int]) -> Floats:
    ink = s.flat()
    for k in sorts:
        place = (_place(row, k), ROW_Y[row])
        ink = np.maximum(ink, s.lettering(ROWS[row][k], place, CAPITAL_MM, mirrored=True))
    return ink


def _shoulders(s: Surface, seed: int) -> Layer:
    colour = (
        np.array(METAL, np.float32)
        * (1 + 0.10 * s.texture(seed + 1, (0.06, 0.06)) + 0.10 * s.texture(seed + 2, (0.5, 0.5)))[..., None]
    )
    gap, tilt_x, tilt_y = s.flat(), s.flat(), s.flat()
    for row, text in enumerate(ROWS):
        offset = np.float32(((len(text) - 1) / 2 % 1 + 0.5) * SORT_WIDTH_MM)
        x = (s.x - offset) % np.float32(SORT_WIDTH_MM) - np.float32(SORT_WIDTH_MM / 2)
        body = box(x, s.y, 0, ROW_Y[row], SORT_WIDTH_MM / 2 - 0.03, ROW_MM / 2 - 0.04, 0.03)
        inside = np.abs(s.y - np.float32(ROW_Y[row])) < ROW_MM / 2
        gap = np.where(inside, 1 - s.coverage(body), gap)
        right, down = s.bevel(np.where(inside, body, np.float32(1)), 0.08, 0.5)
        tilt_x, tilt_y = tilt_x + right, tilt_y + down
        beard = _letters(s, row, list(range(len(text))))
        steep_y, steep_x = np.gradient(_softened(beard, 0.28 / s.px_mm))
        steep = np.float32(0.45 / s.px_mm * 0.5)
        tilt_x, tilt_y = tilt_x - steep * steep_x, tilt_y - steep * steep_y
        colour = painted(colour, np.clip(beard, 0, 1), METAL)
    colour = painted(colour, gap, (0.015, 0.014, 0.013))
    return s.layer(s.flat(1.0), colour, 0.3 * (1 - gap), (tilt_x, tilt_y), 0.35)


def _softened(cover: Floats, radius_px: float) -> Floats:
    picture = Image.fromarray((cover * 255).astype(np.uint8))
    return np.asarray(picture.filter(ImageFilter.GaussianBlur(radius_px)), np.float32) / 255


def _wood(s: Surface, seed: int, top: float, bottom: float) -> Layer:
    rings = np.sin(s.y * np.float32(7) + 1.4 * s.texture(seed + 6, (6.0, 0.7)))
    pores = s.texture(seed + 7, (0.7, 0.05))
    tone = 0.9 + 0.14 * rings + 0.10 * pores
    colour = np.array(WOOD, np.float32) * np.clip(tone, 0.3, 1.6)[..., None]
    shape = np.maximum(np.float32(top) - s.y, s.y - np.float32(bottom))
    joint = np.abs((s.x + np.float32(2.0)) % np.float32(17.0) - np.float32(8.5)) - np.float32(0.04)
    colour = painted(colour, s.coverage(joint), (0.03, 0.02, 0.015))
    tilt = s.bevel(shape, 0.25, 0.5)
    return s.layer(s.coverage(shape), colour, s.flat(0.05), (tilt[0], tilt[1]), 0.4)


def _faces(s: Surface, seed: int, row: int, sorts: list[int]) -> Layer:
    cover = _letters(s, row, sorts)
    wear = s.texture(seed + 40 + row, (0.07, 0.07))
    patches = s.texture(seed + 50 + row, (0.6, 0.6))
    inked = np.clip(0.35 + 0.5 * patches + 0.2 * wear, 0, 0.85)
    colour = np.array(FACE, np.float32) * (1 + 0.08 * wear)[..., None]
    colour = painted(colour, inked * 0.6, INK)
    down, right = np.gradient(cover)
    tilt = (-0.5 * right + 0.04 * wear, -0.5 * down)
    return s.layer(cover, colour, 0.4 * (1 - 0.5 * inked), tilt, 0.28)
