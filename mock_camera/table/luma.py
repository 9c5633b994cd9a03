"""A linear picture as brightness at full size and two colour differences at half size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from PIL import Image

from mock_camera.scene.arrays import Floats, half_size, slabs
from mock_camera.scene.grid import Grid
from mock_camera.table.hand import NEAR, SKIN
from mock_camera.table.shake import Smear


@dataclass(frozen=True, eq=False)
class Luma:
    """luma (h, w) = (R + 2 G + B) / 4; red, blue (h/2, w/2) = R - luma, B - luma. Sides even."""

    luma: Floats
    red: Floats
    blue: Floats

    @classmethod
    def dark(cls, width: int, height: int) -> Luma:
        return cls(
            np.zeros((height, width), np.float32),
            np.zeros((height // 2, width // 2), np.float32),
            np.zeros((height // 2, width // 2), np.float32),
        )

    def window(self, left: int, top: int, width: int, height: int) -> Luma:
        """A view of a part with even corners and sides."""
        h = slice(top // 2, (top + height) // 2), slice(left // 2, (left + width) // 2)
        return Luma(self.luma[top : top + height, left : left + width], self.red[h], self.blue[h])

    def add(self, other: Luma, rows: Floats) -> None:
        """Adds another picture in place, each row times its own factor (h,)."""
        by_row = rows.astype(np.float32)
        by_half = ((by_row[::2] + by_row[1::2]) / 2)[:, None]
        self.luma[...] += other.luma * by_row[:, None]
        self.red[...] += other.red * by_half
        self.blue[...] += other.blue * by_half

    def tint(self, tint: tuple[float, float, float]) -> Luma:
        """The picture under coloured light, of the same brightness on white: R, G, B times the tint."""
        if tint == (1.0, 1.0, 1.0):
            return self
        total = (tint[0] + 2 * tint[1] + tint[2]) / 4
        r, g, b = (np.float32(v / total) for v in tint)
        shift = (self.red * (r - g) + self.blue * (b - g)) * np.float32(0.25)
        small = half_size(self.luma)
        height, width = self.luma.shape
        return Luma(
            self.luma + _enlarge(shift, width, height),
            (r - 1) * small + r * self.red - shift,
            (b - 1) * small + b * self.blue - shift,
        )

    def cover(self, share: Floats, level: Floats) -> None:
        """Lays a hand over the picture in place: coverage (h, w), and the light on it for each row (h,)."""
        r, g, b = (v * NEAR for v in SKIN)
        skin = (r + 2 * g + b) / 4
        small = half_size(share)
        by_row = level.astype(np.float32)[:, None]
        by_half = (by_row[::2] + by_row[1::2]) / 2
        self.luma[...] += share * (by_row * np.float32(skin) - self.luma)
        self.red[...] += small * (by_half * np.float32(r - skin) - self.red)
        self.blue[...] += small * (by_half * np.float32(b - skin) - self.blue)

    def smear(self, smear: Smear) -> Luma:
        """The picture moved and blurred by a vibration."""
        half = Smear(smear.right_px / 2, smear.down_px / 2, smear.weight)
        luma, red, blue = (
            np.fft.irfft2(np.fft.rfft2(part) * by.transfer(*part.shape), part.shape)
            for part, by in ((self.luma, smear), (self.red, half), (self.blue, half))
        )
        return Luma(luma, red, blue)

    def crop(self, grid: Grid, zoom: float) -> Luma:
        """The frame without its margin, enlarged about the optical axis by a factor near 1."""
        if abs(zoom - 1) < 1e-7:
            return self.window(grid.margin_x, grid.margin_y, grid.width, grid.height)
        # in Pillow's coordinates, which count from the corner of the first pixel
        axis_x, axis_y = (v + 0.5 for v in grid.pixel(0.0, 0.0))
        left, top = axis_x + (grid.margin_x - axis_x) / zoom, axis_y + (grid.margin_y - axis_y) / zoom
        box = (left, top, left + grid.width / zoom, top + grid.height / zoom)
        half = box[0] / 2, box[1] / 2, box[2] / 2, box[3] / 2
        small = grid.width // 2, grid.height // 2
        return Luma(
            _resize(self.luma, box, (grid.width, grid.height)),
            _resize(self.red, half, small),
            _resize(self.blue, half, small),
        )

    def rgb(self) -> Floats:
        """(h, w, 3) linear."""
        out = np.empty((*self.luma.shape, 3), np.float32)
        for rows, part in self.rgb_slabs():
            out[rows] = part
        return out

    def rgb_slabs(self) -> Iterator[tuple[slice, Floats]]:
        """The picture as RGB in slabs of rows, (rows, w, 3) each; the differences are enlarged bilinearly."""
        height, width = self.luma.shape
        red, blue = _enlarge(self.red, width, height), _enlarge(self.blue, width, height)
        for rows in slabs(height):
            part = np.empty((rows.stop - rows.start, width, 3), np.float32)
            np.add(self.luma[rows], red[rows], out=part[..., 0])
            np.add(self.luma[rows], blue[rows], out=part[..., 2])
            np.subtract(self.luma[rows], (red[rows] + blue[rows]) * np.float32(0.5), out=part[..., 1])
            yield rows, part


def _enlarge(half: Floats, width: int, height: int) -> Floats:
    return np.array(Image.fromarray(half).resize((width, height), Image.Resampling.BILINEAR))


def _resize(values: Floats, box: tuple[float, float, float, float], size: tuple[int, int]) -> Floats:
    height, width = values.shape
    inside = (max(box[0], 0.0), max(box[1], 0.0), min(box[2], float(width)), min(box[3], float(height)))
    return np.array(Image.fromarray(values).resize(size, Image.Resampling.LANCZOS, box=inside))
