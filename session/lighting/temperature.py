"""Colour temperature in mired, in which filters and gels are rated: a million by kelvin, so that a step is as far
anywhere.

Source: mired, reciprocal megakelvin, CIE International Lighting Vocabulary (value from memory).
"""

from __future__ import annotations

MIRED_PER_EV = 69.0
"""Mired by which a black body grows warmer for each EV of red to blue in linear sRGB. Worked out by Planck's law, the
CIE 1931 observer and the primaries of IEC 61966-2-1: 67 to 70 between 3200 and 6500 K."""

DAYLIGHT_K = 5500.0
"""The setting of a white balance of which nobody said another, as for flash. Common practice, no source."""


def mired_warmer(red_to_blue_ev: float) -> float:
    """How much warmer a light is whose red grew so against its blue, mired; cooler is negative."""
    return MIRED_PER_EV * red_to_blue_ev


def temperature_after_k(temperature_k: float, mired: float) -> float:
    """The temperature so many mired warmer, K."""
    return 1e6 / (1e6 / temperature_k + mired)
