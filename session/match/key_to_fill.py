"""The lighting ratio of a set in a number, measured at the piece from its solos.

The lit side has key and fill, the shadow side the fill alone, so the ratio is (key + fill) : fill, and its EV are what
a meter shows between both sides. That is the definition of most texts on portraits; some name key : fill, which is 1
less (common practice, values from memory). What a light gives is the luminance that it adds in the region over ambient.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.lighting.mix import lighting_ratio
from session.picture.linear_light import ev_between, luminance_of
from session.set.setup import Region

LEAST_COUNTED = 0.25
"""Less of the region than this unburnt in every solo, and no ratio is told. Chosen."""

WHOLE_FROM = 99.95
"""Ratios from here on are written without decimals."""


@dataclass(frozen=True)
class KeyToFill:
    """The lighting ratio, and the light of each.

    key, fill      the lights' names; of several fills the light together
    ratio          (key + fill) : fill, to 1
    over_key_ev    how much more light than the key each other light gives, EV; below 0 for less
    """

    key: str
    fill: tuple[str, ...]
    ratio: float
    over_key_ev: Mapping[str, float]

    @property
    def ratio_ev(self) -> float:
        """The lit side against the shadow side, EV."""
        return math.log2(self.ratio)

    @property
    def sides(self) -> str:
        """`key + fill to fill`: the lit side to the shadow side."""
        fill = " + ".join(self.fill)
        return f"{self.key} + {fill} to {fill}"

    @property
    def number(self) -> str:
        """`3.2 : 1`; past 100 without decimals."""
        return f"{self.ratio:.{1 if self.ratio < WHOLE_FROM else 0}f} : 1"

    @property
    def words(self) -> str:
        """`key + fill to fill 3.2 : 1 (1.7 EV)`."""
        return f"{self.sides} {self.number} ({self.ratio_ev:.1f} EV)"


def levels_in_region(
    over: Mapping[str, NDArray[np.float32]], counted: NDArray[np.bool_], region: Region
) -> dict[str, float] | None:
    """Mean luminance that each light adds in the region; None where too little of it is counted.

    over     by light, (3, height, width) linear, ambient taken off
    counted  (height, width), True where no picture clips
    """
    height, width = counted.shape
    left, top, right, bottom = region.in_pixels(width, height)
    here = counted[top:bottom, left:right]
    if not here.size or here.mean() < LEAST_COUNTED:
        return None
    means = {name: light[:, top:bottom, left:right][:, here].mean(axis=1) for name, light in over.items()}
    return {name: max(0.0, float(luminance_of(mean))) for name, mean in means.items()}


def key_to_fill(levels: Mapping[str, float], key: str = "") -> KeyToFill | None:
    """The lighting ratio of lights that give so much; None for fewer than two.

    key  the light that is the key; "" for the one that is called so, else the one that gives most. The fill is what is
         called so, else all other lights.
    """
    if len(levels) < 2:
        return None
    key = key or key_of(levels)
    others = [name for name in levels if name != key]
    fill = tuple(name for name in others if _is_called(name, "fill")) or tuple(others)
    ratio_ev = ev_between(levels[key], sum(levels[name] for name in fill))
    over_key_ev = {name: ev_between(levels[name], levels[key]) for name in others}
    return KeyToFill(key, fill, lighting_ratio(ratio_ev, 0.0), over_key_ev)


def key_of(levels: Mapping[str, float]) -> str:
    """The light that is called the key, else the one that gives most."""
    called = [name for name in levels if _is_called(name, "key")]
    return called[0] if called else max(levels, key=lambda name: levels[name])


def _is_called(name: str, word: str) -> bool:
    """Whether a light's name has the word: `key`, `key left`, `Fill`."""
    return word in re.split(r"[\W_\d]+", name.casefold())


def then_and_now_words(then: KeyToFill, now: KeyToFill) -> str:
    """`key + fill to fill 3.2 : 1 then, 2.8 : 1 now (0.2 EV less)`."""
    ev = now.ratio_ev - then.ratio_ev
    by = "" if now.number == then.number else f" ({abs(ev):.1f} EV {'more' if ev > 0 else 'less'})"
    return f"{then.sides} {then.number} then, {now.number} now{by}"
