"""A tray of letterpress sorts: rows of metal type with raised mirror-written letters, between wooden furniture.

The rows are of different height (worn and new founts), and single sorts stand higher than their row. The
base is the shoulder of the sorts; the region is the middle row. The words are of the bench, and mean nothing.
"""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageFilter

from mock_camera.scene.arrays import Floats
from mock_camera.scene.grid import Crop, Grid, Pose, crop_of
from mock_camera.scene.lettering import lettering
from mock_camera.scene.shapes import box
from mock_camera.scene.surface import Layer, Surface, Tint

FACE_MM = (1.1, 1.6, 2.0)  # height of the faces in each row above the shoulder
HIGH_MM = 2.4
RELIEF_MM = 2.4
WOOD_MM = 0.8
ROW_MM = 4.4
CAPITAL_MM = 2.7
SORT_WIDTH_MM = 2.6
FLANK_MM = 0.32  # how far the sloping flanks of a letter spread at the shoulder
ROWS = ("QUOIN&STICK", "STILL BENCH", "FORME 7 LAMP")
ROW_Y = (-ROW_MM, 0.0, ROW_MM)
HIGH_SORTS = ((0, 5), (2, 3))  # row, place
REGION_MM = (-11.5, -1.6, 23.0, 3.2)
SHOULDER: Tint = (0.155, 0.16, 0.17)
FACE: Tint = (0.52, 0.53, 0.54)
INK: Tint = (0.035, 0.035, 0.04)
GAP: Tint = (0.012, 0.011, 0.011)
WOOD: Tint = (0.30, 0.185, 0.095)
EDGE_MM = 1.5 * ROW_MM + 0.1


def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
    """The layers of the tray, lowest first; `seed` varies grain, ink and wear."""
    whole = Crop(0, 0, grid.full_width, grid.full_height)
    layers = [_shoulders(Surface(grid, pose, whole, 0.0), seed)]
    for top, bottom in ((-40.0, -EDGE_MM), (EDGE_MM, 40.0)):
        crop = crop_of(grid, pose, (-80.0, top, 80.0, bottom), WOOD_MM)
        if crop is not None:
            layers.append(_wood(Surface(grid, pose, crop, WOOD_MM), seed, top, bottom))
    for row, y in enumerate(ROW_Y):
        high = [k for r, k in HIGH_SORTS if r == row]
        low = [k for k, letter in enumerate(ROWS[row]) if letter != " " and k not in high]
        for height_mm, sorts in ((FACE_MM[row], low), (HIGH_MM, high)):
            if not sorts:
                continue
            places = [_place(row, k) for k in sorts]
            box_mm = (min(places) - SORT_WIDTH_MM, y - ROW_MM / 2, max(places) + SORT_WIDTH_MM, y + ROW_MM / 2)
            crop = crop_of(grid, pose, box_mm, height_mm)
            if crop is not None:
                layers.append(_faces(Surface(grid, pose, crop, height_mm), seed, row, sorts))
    return sorted(layers, key=lambda layer: layer.height_mm)


def _place(row: int, index: int) -> float:
    """Centre of a sort; type is set so that it prints the right way round, so the row runs from the right."""
    return ((len(ROWS[row]) - 1) / 2 - index) * SORT_WIDTH_MM


def _shoulders(s: Surface, seed: int) -> Layer:
    s.fill(SHOULDER, 1 + 0.10 * s.texture(seed + 1, (0.06, 0.06)) + 0.10 * s.texture(seed + 2, (0.5, 0.5)))
    s.gloss += np.float32(0.45)
    for row, text in enumerate(ROWS):
        part = s.part(0, ROW_Y[row], 80.0, ROW_MM / 2)
        x, y = s.x[part], s.y[part]
        pitch = np.float32(SORT_WIDTH_MM)
        along = (x - np.float32(_place(row, 0)) + pitch / 2) % pitch - pitch / 2
        body = box(along, y, 0, ROW_Y[row], SORT_WIDTH_MM / 2 - 0.03, ROW_MM / 2 - 0.04, 0.05)
        # neighbouring rows share the part's edge pixels
        body = np.where(np.abs(y - np.float32(ROW_Y[row])) <= ROW_MM / 2, body, np.float32(-1))
        gap = 1 - s.coverage(body)
        s.bevel(body, 0.07, 0.5, part)
        s.paint(gap, GAP, part)
        s.gloss[part] *= 1 - gap
        for k, letter in enumerate(text):
            if letter != " ":
                _flank(s, letter, (_place(row, k), ROW_Y[row]))
    return s.layer(np.ones_like(s.gloss), 0.35)


def _flank(s: Surface, letter: str, place: tuple[float, float]) -> None:
    """The sides of a raised letter, where they meet the shoulder: steep, and dark but towards the light."""
    part, cover = lettering(s, letter, place, CAPITAL_MM, mirrored=True)
    if min(cover.shape) < 8:
        return
    rows, columns = part
    grown = max(2, round(1.5 * FLANK_MM / s.px_mm))
    wide = (
        slice(max(rows.start - grown, 0), min(rows.stop + grown, s.x.shape[0])),
        slice(max(columns.start - grown, 0), min(columns.stop + grown, s.x.shape[1])),
    )
    sheet = np.zeros(s.x[wide].shape, np.float32)
    top, left = rows.start - wide[0].start, columns.start - wide[1].start
    sheet[top : top + cover.shape[0], left : left + cover.shape[1]] = cover
    soft = _soften(sheet, FLANK_MM / 2 / s.px_mm)
    down, right = np.gradient(soft, np.float32(s.px_mm))
    steep = np.float32(1.6 * FLANK_MM)
    s.tilt_x[wide] -= steep * right
    s.tilt_y[wide] -= steep * down
    foot = np.clip(soft * 4, 0, 1)
    s.paint(foot * np.float32(0.55), GAP, wide)
    s.gloss[wide] *= 1 - np.float32(0.4) * foot


def _soften(cover: Floats, radius_px: float) -> Floats:
    picture = Image.fromarray((cover * 255).astype(np.uint8))
    return np.asarray(picture.filter(ImageFilter.GaussianBlur(radius_px)), np.float32) / 255


def _wood(s: Surface, seed: int, top: float, bottom: float) -> Layer:
    rings = np.sin(s.y * np.float32(7) + np.float32(1.4) * s.texture(seed + 6, (6.0, 0.7)))
    tone = np.float32(0.9) + np.float32(0.14) * rings + np.float32(0.10) * s.texture(seed + 7, (0.7, 0.05))
    s.fill(WOOD, np.clip(tone, 0.3, 1.6))
    s.gloss += np.float32(0.05)
    joint = np.abs((s.x + np.float32(2.0)) % np.float32(17.0) - np.float32(8.5)) - np.float32(0.04)
    s.paint(s.coverage(joint), GAP)
    shape = np.maximum(np.float32(top) - s.y, s.y - np.float32(bottom))
    s.bevel(shape, 0.25, 0.5)
    return s.layer(s.coverage(shape), 0.4, WOOD_MM)


def _faces(s: Surface, seed: int, row: int, sorts: list[int]) -> Layer:
    cover = s.blank()
    for k in sorts:
        part, letter = lettering(s, ROWS[row][k], (_place(row, k), ROW_Y[row]), CAPITAL_MM, mirrored=True)
        cover[part] = np.maximum(cover[part], letter)
    wear = s.texture(seed + 40 + row, (0.07, 0.07))
    s.fill(FACE, 1 + 0.10 * wear)
    inked = np.clip(0.15 + 0.35 * s.texture(seed + 50 + row, (0.6, 0.6)) + 0.2 * wear, 0, 0.8)
    s.paint(inked, INK)
    s.gloss += np.float32(0.5) * (1 - inked)
    down, right = np.gradient(cover)
    s.tilt_x += np.float32(0.04) * wear - np.float32(0.5) * right
    s.tilt_y -= np.float32(0.5) * down
    return s.layer(cover, 0.26, s.height_mm)
