"""The lights of a set-up by the kit: what light the flashes give as they stand, and which powers a light takes.

The rule of a light's power steps is one for keys, typed powers and options of the shell.
"""

from __future__ import annotations

import math

from session.lighting import flash, mix
from session.lighting.source import incidence_loss_ev
from session.set.kit import Kit
from session.set.lens_in_use import lens_in_use
from session.set.setup import PlacedLight, Revision
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


def guide_numbers_m(revision: Revision, kit: Kit) -> dict[str, float]:
    """Guide number of each flash in the set as shaped: metres, ISO 100, full power.

    GN · 2^(−loss/2), as a shaper's loss of 1 EV takes 1/√2 of the guide number
    Left out: what isn't a flash of the kit, and what has no guide number or a shaper whose loss nobody measured.
    """
    found = {}
    for placed in revision.lights:
        light = kit.light_for(placed.name)
        if light is None or light.kind != "flash" or light.guide_number_m is None:
            continue
        loss_ev = kit.loss_ev(light, placed.shaper)
        if loss_ev is not None:
            found[placed.name] = light.guide_number_m * float(2 ** (-loss_ev / 2))
    return found


def flash_exposure_ev(revision: Revision, kit: Kit) -> float | None:
    """EV of a card that faces the camera in the place of the piece, against a right exposure, by the kit's numbers.

    None where the kit doesn't tell: a light that isn't a flash of the kit, or without guide number, distance or height;
    a shaper whose loss nobody measured; a lens whose aperture isn't known; reflectors and glass.
    Raises ValueError for numbers that can't be.
    """
    known, f_number = guide_numbers_m(revision, kit), revision.settings.f_number
    if f_number is None or not revision.lights or any(item.kind in ("bounce", "plate") for item in revision.passive):
        return None
    alone_ev = []
    effective = lens_in_use(revision.arrangement, f_number).effective_f_number
    for placed in revision.lights:
        light, shaper = kit.light_for(placed.name), kit.shaper_for(placed.shaper)
        guide_number_m, height_deg = known.get(placed.name), placed.elevation_deg
        if light is None or guide_number_m is None or placed.distance_mm is None or height_deg is None:
            return None
        if height_deg <= 0:  # it stands behind the card's plane, and lights its back
            continue
        right = flash.f_number(
            guide_number_m,
            placed.distance_mm,
            placed.power_ev,
            revision.settings.iso,
            source_size_mm=shaper.source_size_mm if shaper and shaper.source_size_mm else light.source_size_mm,
            loss_ev=incidence_loss_ev(90 - height_deg),
            origin_behind_mm=kit.origin_behind_mm(light, placed.shaper),
        )
        alone_ev.append(2 * math.log2(right / effective))
    return mix.combined_ev(alone_ev) if alone_ev else None
