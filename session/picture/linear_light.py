"""Light from code values: sRGB (IEC 61966-2-1) taken back to linear, and ratios as EV.

Cameras lay a tone curve of their own over sRGB, so an EV measured from a JPEG is a good guide near the
reference and only indicative far from it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Weights of linear R, G and B in luminance. IEC 61966-2-1, from the primaries of Rec. 709."""

BURNT_CODE = 250
"""From this sRGB code on a place of a reduced picture counts as burnt where light is added up or detail is sought:
coding swings a white by some codes, and averaging mixes the edge of clipping with what lies beside. Chosen; whether a
picture is clipped is judged by `CLIPPED_CODE` of the checks."""

ONE_CODE = 1 / 255 / 12.92
"""Light of code 1: what is darker can't be told from black."""


def srgb_to_linear(codes: ArrayLike) -> NDArray[np.float64]:
    """Linear light 0…1 of sRGB code values 0…255, in an array of the same shape. IEC 61966-2-1."""
    value = np.asarray(codes, np.float64) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


LINEAR = srgb_to_linear(np.arange(256)).astype(np.float32)
"""Linear light of each of the 256 codes, for taking whole pictures back at once."""

LIGHT_PER_CODE = np.gradient(LINEAR).astype(np.float32)
"""Slope of `LINEAR`: by how much light changes with one code."""


def light_of_codes(codes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Linear light 0…1 of sRGB codes that are no whole numbers, 0…255, in the same shape."""
    return np.interp(codes, np.arange(256), LINEAR).astype(np.float32)


CODE_STEPS = 4096
_LIGHT = np.arange(CODE_STEPS + 1) / CODE_STEPS
CODES = np.rint(255 * np.where(_LIGHT <= 0.0031308, 12.92 * _LIGHT, 1.055 * _LIGHT ** (1 / 2.4) - 0.055)).astype(
    np.uint8
)
"""sRGB code of each of 4097 steps of linear light 0…1. IEC 61966-2-1."""


def codes_of(channels: NDArray[np.float32]) -> NDArray[np.uint8]:
    """(height, width, 3) sRGB codes of linear (3, height, width) channels; what is over 1 clips."""
    steps = np.rint(np.clip(channels, 0, 1) * CODE_STEPS).astype(np.int32)
    return np.ascontiguousarray(np.moveaxis(CODES[steps], 0, 2))


def luminance(pixels: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Linear luminance 0…1, (height, width), of grey (height, width) or RGB (height, width, 3) codes."""
    if pixels.ndim == 2:
        return LINEAR[pixels]
    return luminance_of(linear_channels(pixels))


def linear_channels(pixels: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Linear red, green and blue, (3, height, width), of RGB (height, width, 3) codes."""
    return np.stack([LINEAR[pixels[..., n]] for n in range(3)])


def luminance_of(channels: NDArray[np.float32]) -> NDArray[np.float32]:
    """Luminance of linear (3, height, width) channels."""
    red, green, blue = (np.float32(weight) for weight in LUMINANCE)
    total: NDArray[np.float32] = red * channels[0] + green * channels[1] + blue * channels[2]
    return total


def ev_between(light: float, reference: float) -> float:
    """log2(light / reference), EV; both taken as at least a tenth of code 1."""
    return math.log2(max(light, ONE_CODE / 10) / max(reference, ONE_CODE / 10))


def block_means(values: NDArray[np.float32], rows: int, columns: int) -> NDArray[np.float32]:
    """Means over blocks of rows × columns, (height // rows, width // columns); what is left over is dropped."""
    height, width = values.shape[0] // rows, values.shape[1] // columns
    cut = values[: height * rows, : width * columns].reshape(height, rows, width * columns)
    by_row = cut.mean(axis=1, dtype=np.float32) if rows > 1 else cut
    # a matrix product, since a mean over a few neighbours takes NumPy ten times as long
    sums: NDArray[np.float32] = by_row.reshape(-1, columns) @ np.ones(columns, np.float32)
    return sums.reshape(height, width) / np.float32(columns)
