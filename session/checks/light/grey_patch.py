"""How bright a grey card came out, against a right exposure: the set-up's grey patch by itself, without a reference.

A card of 18 % in a right exposure is sRGB code 118, by which ISO 12232 defines a camera's standard output sensitivity.
"""

from __future__ import annotations

import math

import numpy as np

from session.checks.light.brightness import BRIGHTEST_CODE, DARKEST_CODE
from session.checks.material.checked_picture import Material
from session.picture.linear_light import LINEAR
from session.set.setup import Region
from session.units.surfaces import MID_GREY

EVEN_EV = 0.35
"""The middle half of the patch's light lies within this, or it is no plain card. Noise of 5 codes at mid grey is
0.18 EV between its quartiles (worked out from sRGB); the rest is for a card lit from one side. Chosen.
"""


def measure(frame: Material, patch: Region | None) -> float | None:
    """EV of the patch against a right exposure; None without a patch, or where it is no plain grey in the middle tones.

    patch  where the card lies, of the frame as it is: a card is laid there for this frame
    """
    if patch is None:
        return None
    light = frame.light[frame.region_of_overview(patch)]
    low, middle, high = (float(value) for value in np.quantile(light, (0.25, 0.5, 0.75)))
    if not LINEAR[DARKEST_CODE] < low <= high < LINEAR[BRIGHTEST_CODE] or math.log2(high / low) > EVEN_EV:
        return None
    return math.log2(middle / MID_GREY)
