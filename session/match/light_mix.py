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

from session.lighting.mix import lighting_ratio
from session.match.solo_picture import SoloPicture
from session.picture.linear_light import LUMINANCE, codes_of, ev_between
from session.set.setup import Region


@dataclass(frozen=True, eq=False)
class LightMix:
    """The picture that other powers of the lights would give.

    channels      (3, height, width) linear red, green and blue, 1 = where the picture clips
    burnt_share   of the region's pixels that would clip in a channel
    ratio         lighting ratio in the region, the strongest light's and all others' to all others'; None for one light
    change_ev     how much brighter the region is than all together as it was shot
    """

    channels: NDArray[np.float32]
    burnt_share: float
    ratio: float | None
    change_ev: float

    @property
    def pixels(self) -> NDArray[np.uint8]:
        """(height, width, 3) sRGB codes."""
        return codes_of(self.channels)


def light_mix(
    solos: Mapping[str, SoloPicture], ambient: SoloPicture, changes_ev: Mapping[str, float], region: Region
) -> LightMix:
    """The mix of the solos, each light changed by so many EV; a light that isn't named stays.

    All pictures have one shape.
    """
    over = {name: solo.channels - ambient.channels for name, solo in solos.items()}
    gains = {name: np.float32(2.0 ** changes_ev.get(name, 0.0)) for name in over}
    channels = ambient.channels + np.sum([gains[name] * light for name, light in over.items()], axis=0)
    height, width = channels.shape[1:]
    left, top, right, bottom = region.in_pixels(width, height)
    here = (slice(None), slice(top, bottom), slice(left, right))

    def level(light: NDArray[np.float32]) -> float:
        return float(np.dot(LUMINANCE, light[here].mean(axis=(1, 2))))

    by_light = sorted((float(gains[name]) * level(light) for name, light in over.items()), reverse=True)
    fill = sum(by_light[1:])
    before = level(ambient.channels + np.sum(list(over.values()), axis=0))
    burnt = np.any(channels[here] >= 1, axis=0) | np.any([solo.burnt[here[1:]] for solo in solos.values()], axis=0)
    return LightMix(
        channels=channels,
        burnt_share=float(burnt.mean()),
        ratio=lighting_ratio(ev_between(by_light[0], fill), 0.0) if len(by_light) > 1 else None,
        change_ev=ev_between(level(channels), before),
    )
