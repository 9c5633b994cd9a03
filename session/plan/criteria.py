"""The criteria of an arrangement, each counted in the stops by which it holds or fails.

So a lack of room can be weighed against a lack of light: 1 stop short is half of what is needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.plan.wish import Wish
from session.units.numbers import mm_text, percent_text

ROUNDING_EV = 0.01
"""Failing by less is rounding: 0.7 % of a length. Chosen."""

MOST_SHORT_EV = 10.0
"""The most stops that a criterion falls short by, so that sums stay finite: a thousandth of the need."""


@dataclass(frozen=True)
class Criterion:
    """One thing asked of an arrangement.

    name      "framing", "filling", "room", "pixels", "blur", "frames", "light" or "plate"
    value     what there is, in unit; None when the kit doesn't tell
    limit     what is needed or allowed
    spare_ev  stops by which it holds; negative: by which it fails; None with the value
    """

    name: str
    value: float | None
    limit: float
    unit: str
    spare_ev: float | None

    @property
    def short_ev(self) -> float:
        """Stops by which it fails, at most MOST_SHORT_EV; 0 when it holds or can't be told."""
        if self.spare_ev is None or self.spare_ev >= -ROUNDING_EV:
            return 0.0
        return min(-self.spare_ev, MOST_SHORT_EV)

    @property
    def text(self) -> str:
        """A sentence with the value, the limit, and the stops that are missing."""
        return _TEXTS[self.name](self.value, self.limit) if self.value is not None else _UNKNOWN[self.name]


def at_least(name: str, value: float | None, limit: float, unit: str) -> Criterion:
    """A criterion on a quantity of which there must be enough; value and limit in `unit`, None is unknown."""
    return Criterion(name, value, limit, unit, None if value is None else _stops(value, limit))


def at_most(name: str, value: float, limit: float, unit: str) -> Criterion:
    """A criterion on a quantity that mustn't be more than its limit; value and limit in `unit`, > 0."""
    return Criterion(name, value, limit, unit, math.log2(limit / value))


def framing(share: float, wish: Wish) -> Criterion:
    """share of the picture's width or height that the piece takes, whichever is more."""
    return at_most("framing", share, wish.fill, "")


def filling(share: float, wish: Wish) -> tuple[Criterion, ...]:
    """share of the picture's width or height that the piece takes, whichever is more; with pixels wished, none.

    A piece fills the picture but for its margin (common practice, no source); how far it may be cropped instead, only
    the wished pixels say.
    """
    return () if wish.delivered_pixels is not None else (at_least("filling", share, wish.fill, ""),)


def light(spare_ev: float | None) -> Criterion:
    """The criterion on light to spare, EV; None is unknown."""
    return Criterion("light", spare_ev, 0.0, "EV", spare_ev)


def _stops(value: float, limit: float) -> float:
    if limit <= 0:
        return MOST_SHORT_EV if value >= 0 else -MOST_SHORT_EV
    return math.log2(max(value / limit, 2**-MOST_SHORT_EV))


def _short(value: float, limit: float, words: str) -> str:
    return f"{words}, {mm_text(limit - value)} short." if value < limit else f"{words}."


_TEXTS = {
    "framing": lambda value, limit: (
        f"The piece is cut off: it would take {percent_text(value)} of the picture."
        if value > 1
        else f"The piece takes {percent_text(value)} of the picture, {percent_text(limit)} at most was wanted."
    ),
    "filling": lambda value, limit: (
        f"The piece takes {percent_text(value)} of the picture, {percent_text(limit)} was wanted; where it may be "
        "cropped, say how many pixels to deliver."
        if value < limit
        else f"The piece takes {percent_text(value)} of the picture."
    ),
    "room": lambda value, limit: _short(
        value, limit, f"{mm_text(value)} are free before the lens, {mm_text(limit)} are needed"
    ),
    "pixels": lambda value, limit: f"{value:.0f} pixels across the delivered picture, {limit:.0f} are wanted.",
    "blur": lambda value, limit: f"The blur on the piece has a radius of {value:.3f} mm, {limit:.3f} mm are allowed.",
    "frames": lambda value, limit: f"{value:.0f} frames cover the depth, {limit:.0f} may be taken.",
    "light": lambda value, limit: (
        f"The flash has {value:.1f} EV to spare."
        if value >= 0
        else f"The flash is {-value:.1f} EV too weak at its nearest."
    ),
    "plate": lambda value, limit: _short(
        value, limit, f"The plate measures {mm_text(value)} where {mm_text(limit)} are needed to clear the beam"
    ),
}

_UNKNOWN = {
    "room": "The room before the lens can't be told: the kit lacks front_to_pupil_mm, closest_working_distance_mm or "
    "length_mm of the lens, or flange_distance_mm of the body.",
    "light": "The power can't be told: the kit has no flash with guide_number_m.",
    "plate": "The kit doesn't say how large the plate is.",
}
