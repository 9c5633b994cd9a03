"""The frame shot after the powers of a mix were set, against the mix that was foretold.

The mix is a series of solos at other powers, so the frame is compared with it as all together is with the solos: by the
light, fitted light by light, with the same limits (`light_sum`). A light that the mix turned down until it gives hardly
anything counts as ambient: its share can't be told from the frame.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from session.match.light_sum import DARK_SHARE, LightSum, light_sum
from session.match.solo_picture import SoloPicture
from session.units.refusals import ImpossibleNumbersError


@dataclass(frozen=True)
class MixCheck:
    """The outcome: off_ev > 0 where a light, or all, gave more than the mix has.

    sum      the frame against the mix
    untold   the lights that give too little in the mix to be told
    """

    sum: LightSum
    untold: tuple[str, ...]


def check_mix(
    frame: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture, changes_ev: Mapping[str, float]
) -> MixCheck:
    """Compare a frame with the mix of the solos, each light changed by so many EV.

    Raises UnlikeShapesError and UnfittedLightError as `light_sum` does, and ImpossibleNumbersError without any light.
    """
    mixed = {name: at_power(solo, ambient, changes_ev.get(name, 0.0)) for name, solo in solos.items()}
    gives = {name: float((solo.light - ambient.light).mean()) for name, solo in mixed.items()}
    whole = sum(gives.values())
    untold = tuple(name for name, light in gives.items() if light <= DARK_SHARE * whole)
    if len(untold) == len(mixed):
        raise ImpossibleNumbersError("no light of the mix shows in the solos")
    for name in untold:
        rest = mixed.pop(name)
        mixed = {other: _with_light(solo, rest, ambient) for other, solo in mixed.items()}
        ambient = rest
    return MixCheck(light_sum(frame, mixed, ambient), untold)


def at_power(solo: SoloPicture, ambient: SoloPicture, change_ev: float) -> SoloPicture:
    """A solo as it would be at another power: ambient + 2^change·(solo − ambient); burnt where it clips then."""
    gain = np.float32(2.0**change_ev)
    channels = ambient.channels + gain * (solo.channels - ambient.channels)
    return replace(
        solo,
        channels=channels,
        light=ambient.light + gain * (solo.light - ambient.light),
        burnt=solo.burnt | _clips(channels),
        variance=gain**2 * solo.variance + (1 - gain) ** 2 * ambient.variance,
    )


def _with_light(solo: SoloPicture, other: SoloPicture, ambient: SoloPicture) -> SoloPicture:
    """A solo with another light beside it, both with the ambient light."""
    return replace(
        solo,
        channels=solo.channels + other.channels - ambient.channels,
        light=solo.light + other.light - ambient.light,
        burnt=solo.burnt | other.burnt,
        variance=solo.variance + other.variance + ambient.variance,
    )


def _clips(channels: NDArray[np.float32]) -> NDArray[np.bool_]:
    clips: NDArray[np.bool_] = np.any(channels >= 1, axis=0)
    return clips
