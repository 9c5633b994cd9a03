"""The picture for other powers before anything is fired: light adds, so it is worked out from the solos.

With S a light alone with the ambient light and B the ambient light alone, the picture with light i changed by x EV is
B + Σ 2^x·(S − B) in linear light, channel by channel, so that each light keeps its own colour. Where a solo is burnt
its light isn't known, and the mix shows too little there. Source: superposition of irradiance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.match.key_to_fill import KeyToFill, key_of, key_to_fill, levels_in_region
from session.match.solo_picture import SoloPicture
from session.picture.linear_light import block_means, codes_of, ev_between, luminance_of
from session.set.setup import Region

SHOWN_PX = 640
"""Long side from which on the picture on show is averaged down, as other pictures on screens are: four pixels a cell
column at 160 columns. Chosen."""


@dataclass(frozen=True, eq=False)
class LightMix:
    """The picture that other powers of the lights would give.

    pixels        (height, width, 3) sRGB codes of the picture on show, averaged down
    burnt_share   of the region's pixels that would clip in a channel
    ratio         lighting ratio in the region; None for one light, or where too much of the region is burnt
    change_ev     how much brighter the region is than all together as it was shot
    """

    pixels: NDArray[np.uint8]
    burnt_share: float
    ratio: KeyToFill | None
    change_ev: float


class SoloMix:
    """The solos of a series, made ready once so that each mix of them is one product of a few rows."""

    def __init__(self, solos: Mapping[str, SoloPicture], ambient: SoloPicture, region: Region) -> None:
        """All pictures have one shape."""
        self.solos, self.ambient = solos, ambient
        self._over = np.stack([solo.channels - ambient.channels for solo in solos.values()])
        height, width = ambient.light.shape
        reduce = max(1, max(height, width) // SHOWN_PX)
        self._shown = _block_averages(self._over, reduce), _block_averages(ambient.channels[None], reduce)[0]
        left, top, right, bottom = region.in_pixels(width, height)
        here = (..., slice(top, bottom), slice(left, right))
        self._here = np.ascontiguousarray(self._over[here]), ambient.channels[here]
        burnt = np.any([solo.burnt for solo in solos.values()], axis=0)
        self._burnt_here = burnt[here]
        self._levels = levels_in_region(dict(zip(solos, self._over, strict=True)), ~burnt, region)
        self._key = key_of(self._levels) if self._levels else ""
        means = [one.mean(axis=(-2, -1)) for one in self._here]
        self._region_light = luminance_of(np.moveaxis(means[0], 1, 0)), float(luminance_of(means[1]))

    def at(self, changes_ev: Mapping[str, float]) -> LightMix:
        """The mix with each light changed by so many EV; a light that isn't named stays."""
        gains = self._gains(changes_ev)
        levels = self._levels and {
            name: float(gain) * self._levels[name] for name, gain in zip(self.solos, gains, strict=True)
        }
        here = _sum_of_lights(gains, *self._here)
        by_light, ambient = self._region_light
        return LightMix(
            pixels=codes_of(_sum_of_lights(gains, *self._shown)),
            burnt_share=float((np.any(here >= 1, axis=0) | self._burnt_here).mean()),
            ratio=key_to_fill(levels, self._key) if levels else None,
            change_ev=ev_between(float(gains @ by_light) + ambient, float(by_light.sum()) + ambient),
        )

    def channels(self, changes_ev: Mapping[str, float]) -> NDArray[np.float32]:
        """The same in full, (3, height, width) linear red, green and blue, 1 = where the picture clips."""
        return _sum_of_lights(self._gains(changes_ev), self._over, self.ambient.channels)

    def _gains(self, changes_ev: Mapping[str, float]) -> NDArray[np.float32]:
        return np.array([2.0 ** changes_ev.get(name, 0.0) for name in self.solos], np.float32)


def _sum_of_lights(
    gains: NDArray[np.float32], over: NDArray[np.float32], ambient: NDArray[np.float32]
) -> NDArray[np.float32]:
    """ambient + Σ gain·light: (3, height, width) of (lights,), (lights, 3, height, width) and (3, height, width)."""
    total: NDArray[np.float32] = (gains @ over.reshape(len(gains), -1)).reshape(ambient.shape) + ambient
    return total


def _block_averages(pictures: NDArray[np.float32], reduce: int) -> NDArray[np.float32]:
    """(count, 3, height, width), each side 1/`reduce` as long."""
    if reduce == 1:
        return pictures
    return np.stack([[block_means(channel, reduce, reduce) for channel in picture] for picture in pictures])
