"""A frame of a series of solos as it is counted with: linear light, where it is burnt, how noisy it is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from session.picture.fine_colour import decode_with_fine_colour
from session.picture.linear_light import BURNT_CODE, LIGHT_PER_CODE, LINEAR, light_of_codes, luminance_of
from session.picture.noise import noise_of
from session.picture.preview import open_picture, overview_reduction

LONG_SIDE_PX = 700
"""Least long side of the reduced picture: a ninth of it then has some 100,000 pixels, whose mean is surer than the
light of a flash is from one firing to the next. Chosen."""


@dataclass(frozen=True, eq=False)
class SoloPicture:
    """A picture of one series; all of a series have one shape.

    channels      (3, height, width) float32, linear red, green and blue 0…1
    light         (height, width) float32, luminance of these
    burnt         (height, width) bool, any channel is clipped
    variance      (height, width) float32, of the luminance's noise, linear light squared
    px_per_pixel  full-size pixels per pixel of these arrays
    """

    channels: NDArray[np.float32]
    light: NDArray[np.float32]
    burnt: NDArray[np.bool_]
    variance: NDArray[np.float32]
    px_per_pixel: float


class PicturesKept:
    """Keeps reduced pictures that were read, so that old ones are read once for all new frames. For one thread."""

    def __init__(self) -> None:
        self._kept: dict[object, SoloPicture] = {}
        self._asked: set[object] = set()

    def read(self, path: str) -> SoloPicture:
        """The reduced picture in a file, read once as long as the file is the same. Raises UnreadablePicture."""
        try:
            seen = Path(path).stat()
        except (OSError, ValueError):
            return read_solo_picture(path)
        key = (path, seen.st_ino, seen.st_size, seen.st_mtime_ns)
        if key not in self._kept:
            self._kept[key] = read_solo_picture(path)
        self._asked.add(key)
        return self._kept[key]

    def drop_others(self) -> None:
        """Forget the pictures that nobody asked for since this was called last: a picture takes some 7 MB."""
        self._kept = {key: picture for key, picture in self._kept.items() if key in self._asked}
        self._asked = set()


def read_solo_picture(path: str) -> SoloPicture:
    """The reduced picture in a file. Raises UnreadablePicture with a clause."""
    source = open_picture(path)
    found, codes = decode_with_fine_colour(source, reduce=overview_reduction(source, LONG_SIDE_PX))
    channels = light_of_codes(codes)
    light = luminance_of(channels)
    noise = noise_of(found.pixels[..., 1], source.luma_steps if found.scale == source.scale else ())
    slope = np.interp(light, LINEAR, LIGHT_PER_CODE).astype(np.float32)
    burnt: NDArray[np.bool_] = np.any(found.pixels >= BURNT_CODE, axis=2)
    return SoloPicture(channels, light, burnt, np.float32(noise) * slope**2, 1 / found.scale)
