"""Which powers a light can be set to, by the kit: one rule for keys, typed powers and options of the shell."""

from __future__ import annotations

from session.set.kit import Kit
from session.set.setup import PlacedLight
from session.units.numbers import power_text
from session.units.quantities import QUANTITIES

POWER_STEPS_PER_EV = 3
"""Steps a stop on flash controls; others have tenths, which can be typed. Common practice, no source."""

SLACK_EV = 0.05
"""Half of the finest step on flash controls: a power that is typed by its share (`1/128`) is rounded. Chosen."""


class UnsetPowerError(ValueError):
    """A power that the light can't be set to; the sentence names the light, the power and its limit."""


def least_power_ev(kit: Kit, name: str) -> float:
    """The least power of the kit's light of this name, EV, 0 is full; that of the weakest flash for an unknown one."""
    known = kit.light_for(name)
    return known.least_power_ev if known else QUANTITIES["power_ev"].low


def stepped_power_ev(light: PlacedLight, steps: int, kit: Kit) -> float:
    """Power moved by thirds of a stop onto the grid of thirds, EV, within what the light can do."""
    grid = round(light.power_ev * POWER_STEPS_PER_EV) + steps
    return min(0.0, max(least_power_ev(kit, light.name), round(grid / POWER_STEPS_PER_EV, 4)))


def require_power(light: PlacedLight, kit: Kit) -> None:
    """Raises UnsetPowerError when the light can't be set to its power."""
    least_ev = least_power_ev(kit, light.name)
    if light.power_ev < least_ev - SLACK_EV:
        told = f"power {power_text(light.power_ev)} is less than {light.name!r} has"
        raise UnsetPowerError(f"{told}; by the kit it goes down to {power_text(least_ev)}")
