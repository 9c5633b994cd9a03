"""The frame shot after the powers of a mix were set, against the mix that was foretold.

The mix is a series of solos at other powers, so the frame is compared with it as all together is with the solos: by the
light, fitted light by light, with the same limits (`light_sum`). A light that the mix turned down until it gives hardly
anything counts as ambient: its share can't be told from the frame.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from session.match.light_fit import UnfittedLightError
from session.match.light_sum import DARK_SHARE, POWER_EV, LightSum, light_sum
from session.match.solo_picture import SoloPicture
from session.units.refusals import ImpossibleNumbersError

ANY_SHARE = -math.inf
"""The lights of the mix are known to give light, and those that give hardly any are put aside: what share a light has
of the frame tells nothing, since the frame may be far brighter than the mix."""


@dataclass(frozen=True)
class MixCheck:
    """The outcome: off_ev > 0 where a light, or all, gave more than the mix has.

    sum         the frame against the mix
    untold      the lights that give too little in the mix to be told
    changes_ev  by how much the mix changed each light, EV
    no_flash    the frame does not fit, and shows hardly any light but ambient
    as_before   the frame does not fit, but as the lights were before the mix it does
    """

    sum: LightSum
    untold: tuple[str, ...]
    changes_ev: Mapping[str, float]
    no_flash: bool = False
    as_before: bool = False

    def has_power_of_before(self, name: str, off_ev: float) -> bool:
        """Whether a light that gave so much more than the mix has gave what it gave before the mix."""
        change_ev = self.changes_ev.get(name, 0.0)
        return abs(change_ev) > POWER_EV and abs(change_ev + off_ev) <= POWER_EV


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
    base = ambient
    for name in untold:
        rest = mixed.pop(name)
        mixed = {other: _with_light(solo, rest, base) for other, solo in mixed.items()}
        base = rest
    total = light_sum(frame, mixed, base, least_share=ANY_SHARE)
    if total.fits:
        return MixCheck(total, untold, changes_ev)
    no_flash = float((frame.light - ambient.light).mean()) <= DARK_SHARE * whole
    return MixCheck(
        total, untold, changes_ev, no_flash, not no_flash and _is_as_before(frame, solos, ambient, changes_ev)
    )


def _is_as_before(
    frame: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture, changes_ev: Mapping[str, float]
) -> bool:
    if all(abs(ev) <= POWER_EV for ev in changes_ev.values()):
        return False
    try:
        return light_sum(frame, solos, ambient, least_share=ANY_SHARE).fits
    except UnfittedLightError:
        return False


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
