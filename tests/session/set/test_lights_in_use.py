"""What power a light can be set to, by the kit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.set.kit import demo_kit
from session.set.lights_in_use import UnsetPowerError, least_power_ev, require_power, stepped_power_ev
from session.set.setup import PlacedLight

KIT = demo_kit()
NAMES = [light.name for light in KIT.light]


@given(st.sampled_from([*NAMES, "borrowed"]), st.floats(-12, 0), st.integers(-60, 60))
def test_every_power_that_steps_lead_to_can_be_set(name: str, power_ev: float, steps: int) -> None:
    stepped_ev = stepped_power_ev(PlacedLight(name, power_ev), steps, KIT)
    assert least_power_ev(KIT, name) <= stepped_ev <= 0
    require_power(PlacedLight(name, stepped_ev), KIT)


@pytest.mark.parametrize("name", NAMES)
def test_power_under_the_kits_least_is_refused_and_the_least_isnt(name: str) -> None:
    least_ev = least_power_ev(KIT, name)
    require_power(PlacedLight(name, least_ev), KIT)
    with pytest.raises(UnsetPowerError, match="by the kit it goes down to"):
        require_power(PlacedLight(name, least_ev - 0.1), KIT)
