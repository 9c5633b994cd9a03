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
from session.match.light_sum import DARK_SHARE
from session.picture.linear_light import luminance_of
from session.set.setup import Region

LEAST_COUNTED = 0.25
"""Less of the region than this unburnt in every solo, and no ratio is told. Chosen."""

LEAST_TOLD_EV = 0.05
"""Less is 0.0 as tenths are written."""

WHOLE_FROM = 99.95
"""Ratios from here on are written without decimals."""


@dataclass(frozen=True)
class KeyToFill:
    """The lighting ratio, and the light of each.

    key, fill      the lights' names; of several fills the light together
    ratio          (key + fill) : fill, to 1; infinite where no fill gives light
    over_key_ev    how much more light than the key each other light gives, EV; below 0 for less, −inf for none
    with_key       further lights that are called key, whose light counts with the key's
    """

    key: str
    fill: tuple[str, ...]
    ratio: float
    over_key_ev: Mapping[str, float]
    with_key: tuple[str, ...] = ()

    @property
    def has_fill(self) -> bool:
        return math.isfinite(self.ratio)

    @property
    def ratio_ev(self) -> float:
        """The lit side against the shadow side, EV."""
        return math.log2(self.ratio)

    @property
    def sides(self) -> str:
        """`key + fill to fill`: the lit side to the shadow side."""
        fill = " + ".join(self.fill)
        return f"{' + '.join((self.key, *self.with_key))} + {fill} to {fill}"

    @property
    def number(self) -> str:
        """`3.2 : 1`; past 100 without decimals; `no fill`."""
        if not self.has_fill:
            return "no fill"
        return f"{self.ratio:.{1 if self.ratio < WHOLE_FROM else 0}f} : 1"

    @property
    def words(self) -> str:
        """`key + fill to fill 3.2 : 1 (1.7 EV)`, or `no fill`."""
        if not self.has_fill:
            return self.number
        return f"{self.sides} {self.number} ({self.ratio_ev:.1f} EV)"


def levels_in_region(
    over: Mapping[str, NDArray[np.float32]], counted: NDArray[np.bool_], region: Region
) -> dict[str, float] | None:
    """Mean luminance that each light adds in the region; None where too little of it is counted.

    0 for a light that adds less than DARK_SHARE of what all add: what is there then may be noise or another ambient.
    over     by light, (3, height, width) linear, ambient taken off
    counted  (height, width), True where no picture clips
    """
    height, width = counted.shape
    left, top, right, bottom = region.in_pixels(width, height)
    here = counted[top:bottom, left:right]
    if not here.size or here.mean() < LEAST_COUNTED:
        return None
    means = {name: light[:, top:bottom, left:right][:, here].mean(axis=1) for name, light in over.items()}
    levels = {name: max(0.0, float(luminance_of(mean))) for name, mean in means.items()}
    least = DARK_SHARE * sum(levels.values())
    return {name: level if level > least else 0.0 for name, level in levels.items()}


def key_to_fill(levels: Mapping[str, float], key: str = "") -> KeyToFill | None:
    """The lighting ratio of lights that give so much; None for fewer than two, without fill, or where the key is dark.

    key  the light that is the key; "" for that of `key_of`. Lights that are called key with it count with it. The fill
         is the lights called fill, else all other lights; a fill without light makes the ratio infinite.
    """
    key = key or key_of(levels) if levels else ""
    others = [name for name in levels if name != key]
    with_key = tuple(name for name in others if _is_called(name, "key") and _is_called(key, "key"))
    rest = [name for name in others if name not in with_key]
    fill = tuple(name for name in rest if _is_called(name, "fill")) or tuple(rest)
    if not fill or levels[key] <= 0:
        return None
    lit, shadow = sum(levels[name] for name in (key, *with_key)), sum(levels[name] for name in fill)
    ratio = lighting_ratio(math.log2(lit / shadow), 0.0) if shadow > 0 else math.inf
    over_key_ev = {name: math.log2(levels[name] / levels[key]) if levels[name] > 0 else -math.inf for name in others}
    return KeyToFill(key, fill, ratio, over_key_ev, with_key)


def key_of(levels: Mapping[str, float]) -> str:
    """The light that is called key, else the one that gives most and isn't called fill; of several the strongest."""
    called = [name for name in levels if _is_called(name, "key")]
    unlike_fill = [name for name in levels if not _is_called(name, "fill")]
    return max(called or unlike_fill or levels, key=lambda name: levels[name])


def _is_called(name: str, word: str) -> bool:
    """Whether a light's name has the word: `key`, `key left`, `Fill`."""
    return word in re.split(r"[\W_\d]+", name.casefold())


def then_and_now_words(then: KeyToFill, now: KeyToFill) -> str:
    """`key + fill to fill 3.2 : 1 then, 2.8 : 1 now (0.2 EV less)`."""
    if not (then.has_fill or now.has_fill):
        return "no fill then and now"
    ev = now.ratio_ev - then.ratio_ev
    told = then.has_fill and now.has_fill and now.number != then.number and abs(ev) >= LEAST_TOLD_EV
    by = "" if not told else f" ({abs(ev):.1f} EV {'more' if ev > 0 else 'less'})"
    return f"{then.sides} {then.number} then, {now.number} now{by}"
