"""CIE 1976 L*a*b* of sRGB colours, and the colour difference CIEDE2000 between two of them.

Sources: sRGB and its primaries, IEC 61966-2-1; L*a*b* and the white D65, CIE 15; CIEDE2000, CIE 142-2001 as written
out by Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21, equations 2 to 22, with k_L = k_C = k_H = 1.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

RGB_TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]],
)
"""Linear sRGB to XYZ, IEC 61966-2-1."""

Lab = tuple[float, float, float]


def lab_of_linear(rgb: ArrayLike) -> Lab:
    """L*, a*, b* of one linear sRGB colour (red, green, blue), white = (1, 1, 1) and D65."""
    xyz = RGB_TO_XYZ @ np.asarray(rgb, np.float64)
    x, y, z = (_f(float(value)) for value in xyz / RGB_TO_XYZ.sum(axis=1))
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _f(share: float) -> float:
    """CIE 15: cube root, and a straight line near black."""
    return math.cbrt(share) if share > (6 / 29) ** 3 else share * (29 / 6) ** 2 / 3 + 4 / 29


def ciede2000(one: Lab, other: Lab) -> float:
    """ΔE00 between two colours in L*a*b*, no unit; symmetric, 0 for the same colour, about 1 where it is just seen."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean_chroma = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    grown = 1.5 - 0.5 * math.sqrt(mean_chroma**7 / (mean_chroma**7 + 25.0**7))
    c1, h1 = _polar(a1 * grown, b1)
    c2, h2 = _polar(a2 * grown, b2)
    turn = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    if turn == -180:
        turn = 180.0 if h2 > h1 else -180.0
    d_hue = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2))
    lightness, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    hue = _mean_hue(h1, h2) if c1 * c2 else h1 + h2
    t = 1 - 0.17 * _cos(hue - 30) + 0.24 * _cos(2 * hue) + 0.32 * _cos(3 * hue + 6) - 0.20 * _cos(4 * hue - 63)
    s_l = 1 + 0.015 * (lightness - 50) ** 2 / math.sqrt(20 + (lightness - 50) ** 2)
    s_c = 1 + 0.045 * chroma
    s_h = 1 + 0.015 * chroma * t
    theta = 30 * math.exp(-(((hue - 275) / 25) ** 2))
    r_t = -2 * math.sqrt(chroma**7 / (chroma**7 + 25.0**7)) * math.sin(math.radians(2 * theta))
    d_l, d_c, d_h = (l2 - l1) / s_l, (c2 - c1) / s_c, d_hue / s_h
    return math.sqrt(max(0.0, d_l**2 + d_c**2 + d_h**2 + r_t * d_c * d_h))


def _polar(a: float, b: float) -> tuple[float, float]:
    """Chroma and hue 0…360°."""
    return math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360


def _mean_hue(h1: float, h2: float) -> float:
    if abs(h1 - h2) <= 180:
        return (h1 + h2) / 2
    return (h1 + h2 + (360 if h1 + h2 < 360 else -360)) / 2


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))
