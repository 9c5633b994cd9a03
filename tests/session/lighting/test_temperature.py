"""Mired of a black body that grows warmer, against colour-science 0.4.7: Planck's law, the CIE 1931 observer, sRGB."""

from __future__ import annotations

import math

import colour
import numpy as np
import pytest

from session.lighting.temperature import mired_warmer, temperature_after_k

WAVELENGTHS = colour.SpectralShape(360, 780, 5)
OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(WAVELENGTHS)


def red_to_blue_ev(temperature_k: float) -> float:
    """log2 of linear sRGB red to blue of a black body."""
    xyz = colour.sd_to_XYZ(colour.sd_blackbody(temperature_k, WAVELENGTHS), OBSERVER, colour.sd_ones(WAVELENGTHS))
    red, _, blue = np.linalg.inv(colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ) @ xyz
    return math.log2(red / blue)


@pytest.mark.parametrize("warmer_k", [5000.0, 4500.0, 3200.0])
def test_red_to_blue_tells_the_mired(warmer_k: float) -> None:
    told = mired_warmer(red_to_blue_ev(warmer_k) - red_to_blue_ev(5500.0))
    assert told == pytest.approx(1e6 / warmer_k - 1e6 / 5500, rel=0.05)
    assert temperature_after_k(5500.0, 1e6 / warmer_k - 1e6 / 5500) == pytest.approx(warmer_k)
