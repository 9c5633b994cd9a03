"""A client's standard: how the pictures of a view shall look, under a name that many pieces share.

Places are in percent of the picture, from its left and upper edge. `background_ev` is the light of the ground around
the piece in EV over mid grey (18 % of white): white itself is +2.5 EV, black card about −3. What is None or "" was left
open, and isn't judged.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from enum import StrEnum

from session.units.quantities import is_quantity, require


class ShadowSide(StrEnum):
    """The side of the piece on which its shadow lies, as the picture shows it."""

    LEFT = "left"
    RIGHT = "right"
    ABOVE = "above"
    BELOW = "below"


@dataclass(frozen=True)
class Standard:
    """A client's agreed requirements for a view.

    across_percent, down_percent  where the piece's middle lies in the picture
    framing_tolerance_percent     how far the middle may lie from there, of the picture's long side
    margin_percent                at least so much is free around the piece, of each side of the picture
    shadow_side                   where the piece's shadow lies
    background_ev                 light of the ground, EV over mid grey, and how far off it may be
    exposure_tolerance_ev         from piece to piece, EV
    colour_tolerance_de2000       from piece to piece, ΔE2000
    size_tolerance_percent        of the piece's size in the picture, from piece to piece
    blur_limit_px                 blur radius against the reference, px of the full-size picture
    Raises RefusedNumberError for a number that can't be meant.
    """

    name: str
    across_percent: float | None = None
    down_percent: float | None = None
    framing_tolerance_percent: float | None = None
    margin_percent: float | None = None
    shadow_side: ShadowSide | None = None
    background_ev: float | None = None
    background_tolerance_ev: float | None = None
    exposure_tolerance_ev: float | None = None
    colour_tolerance_de2000: float | None = None
    size_tolerance_percent: float | None = None
    blur_limit_px: float | None = None

    def __post_init__(self) -> None:
        told = {name: getattr(self, name) for name in NUMBERS}
        require(**{name: value for name, value in told.items() if value is not None})

    @property
    def from_piece_to_piece(self) -> bool:
        """Whether anything of it is told only beside an accepted frame of another piece."""
        return not (self.exposure_tolerance_ev is self.colour_tolerance_de2000 is self.size_tolerance_percent is None)

    def with_values(self, **given: object) -> Standard:
        """The standard with the given values in place of its own; a value of None changes nothing."""
        return replace(self, **{name: value for name, value in given.items() if value is not None})  # type: ignore[arg-type]

    def without(self, names: Iterable[str]) -> Standard:
        """The standard with the values of these names left open."""
        return replace(self, **dict.fromkeys(names))  # type: ignore[arg-type]


VALUES = tuple(one.name for one in fields(Standard) if one.name != "name")
"""The fields of a standard but its name."""

NUMBERS = tuple(name for name in VALUES if is_quantity(name))
