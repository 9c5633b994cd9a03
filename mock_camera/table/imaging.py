"""A file's numbers from light on the sensor: noise, full scale, sRGB.

Linear 1.0 is full scale at every ISO. The sensor holds FULL_WELL electrons there at ISO 100 and in
proportion less at a higher ISO; photon noise is their square root, read noise is added to it. The numbers
are invented for a middling sensor.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from mock_camera.scene.arrays import Floats
from mock_camera.table.luma import Luma

FULL_WELL = 45_000.0
READ_NOISE = 4.0
SENSOR_BITS = 14
BLACK_LEVEL = 512


@dataclass(frozen=True, eq=False)
class ReleasedPicture:
    """The picture of a release, with its truth.

    rgb     (height, width, 3) uint8, sRGB, upright, row 0 at the top
    mosaic  (height, width) uint16, one sensor value per pixel, red at 0,0, blue at 1,1; BLACK_LEVEL = no light
    truth   what was really there; the keys are described in world.py
    """

    rgb: NDArray[np.uint8]
    mosaic: NDArray[np.uint16]
    truth: dict[str, object]

    def measure(self, name: str) -> float:
        """A number of the truth, in the unit that its name ends with."""
        value = self.truth[name]
        if not isinstance(value, (int, float)):
            raise TypeError(f"{name} is {value!r}, not a number")
        return value


def develop(light: Luma, iso: int, chance: np.random.Generator) -> tuple[NDArray[np.uint8], NDArray[np.uint16]]:
    """Noise and quantisation of a linear picture: sRGB (h, w, 3), and the sensor's mosaic (h, w)."""
    electrons = np.float32(FULL_WELL * 100 / iso)
    span, top = np.float32((1 << SENSOR_BITS) - 1 - BLACK_LEVEL), (1 << SENSOR_BITS) - 1
    height, width = light.luma.shape
    rgb = np.empty((height, width, 3), np.uint8)
    mosaic = np.empty((height, width), np.uint16)
    for rows, slab in light.rgb_slabs():
        part = np.maximum(slab, 0)
        noise = chance.standard_normal(part.shape, dtype=np.float32)
        noise *= np.sqrt(part * electrons + np.float32(READ_NOISE**2))
        noise /= electrons
        part += noise
        values = part * span
        values += np.float32(BLACK_LEVEL + 0.5)
        np.clip(values, 0, top, out=values)
        mosaic[rows][0::2, 0::2] = values[0::2, 0::2, 0]
        mosaic[rows][0::2, 1::2] = values[0::2, 1::2, 1]
        mosaic[rows][1::2, 0::2] = values[1::2, 0::2, 1]
        mosaic[rows][1::2, 1::2] = values[1::2, 1::2, 2]
        rgb[rows] = srgb(part)
    return rgb, mosaic


def process(rgb: NDArray[np.uint8], sharpening: float, denoising: float) -> NDArray[np.uint8]:
    """The picture, (height, width, 3), as a camera's own processing leaves it.

    denoising   standard deviation in px of a Gaussian that smooths it, 0 = none
    sharpening  strength of an unsharp mask of 1 px, 0 = none, 1 = strong
    """
    if sharpening <= 0 and denoising <= 0:
        return rgb
    picture = Image.fromarray(rgb)
    if denoising > 0:
        picture = picture.filter(ImageFilter.GaussianBlur(denoising))
    if sharpening > 0:
        picture = picture.filter(ImageFilter.UnsharpMask(radius=1, percent=round(100 * sharpening), threshold=0))
    return np.asarray(picture)


def srgb(light: Floats) -> NDArray[np.uint8]:
    """8-bit sRGB codes (IEC 61966-2-1) of linear values, clipped to 0..1, in the same shape.

    `light` is changed in place.
    """
    np.clip(light, 0, 1, out=light)
    light *= np.float32(65535)
    codes: NDArray[np.uint8] = np.take(_codes(), light.astype(np.uint16))
    return codes


@lru_cache(maxsize=1)
def _codes() -> NDArray[np.uint8]:
    linear = np.arange(65536) / 65535
    curve = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    codes: NDArray[np.uint8] = np.rint(curve * 255).astype(np.uint8)
    return codes
