"""Pictures for the checks' tests: photographs that scikit-image ships, blurred, relit, noisy, moved and coded.

Blurring is done by scipy's FFT with its own Bessel function, resampling by scipy, coding by Pillow: another
route than the checks take. Light is linear, 0…1; shapes are (height, width).
"""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import skimage.data
from numpy.typing import NDArray
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile
from scipy import fft, ndimage, special

Light = NDArray[np.float64]

PAD_PX = 48


def photograph(name: str, size: tuple[int, int] | None = None) -> Light:
    """One of scikit-image's own photographs as linear light; (width, height) scales it. A copy of one's own."""
    return _photograph(name, size).copy()


@lru_cache(maxsize=64)
def _photograph(name: str, size: tuple[int, int] | None) -> Light:
    folder = Path(skimage.data.__file__).parent
    with Image.open(folder / name) as image:
        grey = image.convert("RGB").convert("L")
        grey = grey.resize(size, Image.Resampling.LANCZOS) if size else grey
    return to_linear(np.asarray(grey))


def to_linear(codes: NDArray[np.uint8]) -> Light:
    """IEC 61966-2-1, written out once more."""
    value = codes / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def to_codes(light: Light) -> Light:
    """sRGB codes 0…255, not rounded."""
    clipped = np.clip(light, 0, 1)
    return 255 * np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)


def blurred(light: Light, radius_px: float) -> Light:
    """Convolved with a uniform disc: product with 2·J1(x)/x in the frequency domain."""
    if radius_px <= 0:
        return light
    padded = np.pad(light, PAD_PX, mode="reflect")
    down, right = np.fft.fftfreq(padded.shape[0])[:, None], np.fft.rfftfreq(padded.shape[1])[None]
    x = 2 * np.pi * radius_px * np.hypot(down, right)
    passed = np.where(x < 1e-9, 1.0, 2 * special.j1(x) / np.where(x < 1e-9, 1.0, x))
    out: Light = fft.irfft2(fft.rfft2(padded) * passed, s=padded.shape)[PAD_PX:-PAD_PX, PAD_PX:-PAD_PX]
    return out


def moved(light: Light, right_px: float, down_px: float, turn_deg: float = 0.0) -> Light:
    """Content moved right and down and turned about the middle, by cubic splines."""
    angle = np.deg2rad(turn_deg)
    matrix = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    centre = (np.array(light.shape) - 1) / 2
    offset = centre - matrix @ (centre + np.array([down_px, right_px]))
    out: Light = ndimage.affine_transform(light, matrix, offset=offset, order=3, mode="reflect")
    return out


def relit(light: Light, ev: float = 0.0, across_ev: float = 0.0, down_ev: float = 0.0) -> Light:
    """Brighter by `ev`, and with a gradient of light over the picture."""
    height, width = light.shape
    right = (np.arange(width) / width - 0.5)[None]
    down = (np.arange(height) / height - 0.5)[:, None]
    factor: Light = 2 ** (ev + across_ev * right + down_ev * down)
    return light * factor


def shadowed(light: Light, side: str, share: float, ev: float, softness: float = 0.0) -> Light:
    """A shutter's shadow: `share` of the picture from that side lies `ev` darker; beyond it light grows as
    1 − exp(−distance/softness), distance and softness in shares of the picture."""
    turned = light.T if side in ("left", "right") else light
    turned = turned if side in ("bottom", "right") else turned[::-1]
    rows = len(turned)
    distance = (1 - share) - (np.arange(rows) + 0.5) / rows
    lit = (distance > 0).astype(float) if not softness else 1 - np.exp(-np.maximum(distance, 0) / softness)
    factor: Light = 2.0**-ev + (1 - 2.0**-ev) * lit
    out: Light = turned * factor[:, None]
    out = out if side in ("bottom", "right") else out[::-1]
    return out.T if side in ("left", "right") else out


def coded(light: Light, *, noise_codes: float = 1.0, seed: int = 0) -> NDArray[np.uint8]:
    """8-bit sRGB with Gaussian noise of that standard deviation in codes."""
    noise = np.random.default_rng(seed).normal(0, noise_codes, light.shape) if noise_codes else 0.0
    return np.clip(np.rint(to_codes(light) + noise), 0, 255).astype(np.uint8)


def jpeg_bytes(codes: NDArray[np.uint8], *, quality: int = 92, **options: Any) -> bytes:
    """A JPEG of grey or RGB codes."""
    out = io.BytesIO()
    Image.fromarray(codes).convert("RGB").save(out, "JPEG", quality=quality, **options)
    return out.getvalue()


def coding_steps(quality: int = 92) -> tuple[int, ...]:
    """Luma quantisation steps that Pillow writes at this quality, by rows, as Pillow reads them back."""
    with Image.open(io.BytesIO(jpeg_bytes(np.zeros((16, 16), np.uint8), quality=quality))) as image:
        assert isinstance(image, JpegImageFile)
        return tuple(image.quantization[0])


def through_jpeg(codes: NDArray[np.uint8], quality: int = 92) -> NDArray[np.uint8]:
    """Grey codes after a round of coding."""
    with Image.open(io.BytesIO(jpeg_bytes(codes, quality=quality))) as image:
        return np.asarray(image.convert("L"))
