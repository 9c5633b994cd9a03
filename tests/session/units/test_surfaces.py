"""The light of a grey card, by the standard's code value."""

from __future__ import annotations

import colour
import pytest

from session.units.surfaces import MID_GREY


def test_mid_grey_is_the_light_of_the_code_by_which_sensitivity_is_defined() -> None:
    """ISO 12232, standard output sensitivity: sRGB code 118 (value from memory), to half a code."""
    half_a_code = float(colour.models.eotf_sRGB(118.5 / 255) - colour.models.eotf_sRGB(118 / 255))
    assert float(colour.models.eotf_sRGB(118 / 255)) == pytest.approx(MID_GREY, abs=half_a_code)
