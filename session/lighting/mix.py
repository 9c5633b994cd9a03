"""Several lights on one piece: exposures add as light adds. Reflector fill, lighting ratio, ambient share.

Exposures are in EV against any common level, or as the f-number each light alone would need.
Source: photometric additivity; the reflector is a Lambertian disc (see source).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from session.lighting.source import rectangle_view_factor
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

# What ambient light may add unseen: five stops under adds 0.044 EV. Common practice, no source.
AMBIENT_STOPS_UNDER = 5.0


def combined_ev(exposures_ev: Sequence[float]) -> float:
    """Exposure of all lights together, EV: log2 Σ2^EV. Raises ValueError."""
    for exposure in exposures_ev:
        require(exposure_ev=exposure)
    if not exposures_ev:
        raise ImpossibleNumbersError(f"exposures_ev is {exposures_ev!r}, but at least one light must be on.")
    return math.log2(math.fsum(2**exposure for exposure in exposures_ev))


def lighting_ratio(key_ev: float, fill_ev: float) -> float:
    """Ratio of the lit side to the shadow side, (key + fill)/fill: equal EV of both give 2 (to 1).

    Raises ValueError.
    """
    require(key_ev=key_ev, fill_ev=fill_ev)
    return 1 + float(2 ** (key_ev - fill_ev))


def reflector_fill(reflectance: float, width_mm: float, height_mm: float, distance_mm: float) -> float:
    """Light from a card beside the piece, as a share of the key light that falls on both.

    ρ·F: F the view factor of the rectangle, which faces the piece and is lit as strongly as the piece

    reflectance  ρ of the card, 0.9 for a clean white one
    distance_mm  from card to piece
    Raises ValueError. A disc of equal area would be up to 46 % off for strips, the small-source form ρA/(πr²) up to a
    third of a stop too bright near by.
    """
    require(reflectance=reflectance)
    return reflectance * rectangle_view_factor(width_mm, height_mm, distance_mm)


def ambient_gain_ev(stops_under: float) -> float:
    """Light that ambient light adds to the flash exposure, EV: log2(1 + 2^−k) for k stops under. Raises ValueError."""
    require(stops_under=stops_under)
    return math.log2(1 + float(2**-stops_under))
