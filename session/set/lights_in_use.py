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

RIGHT_ANGLE_DEG = 90 - 1e-6
"""From here on a light is behind the plane of what faces the camera, but for the rounding of the cosine."""

NO_SIDE = 1e-9
"""A cosine as small as this is that of a right angle, but for its rounding: straight above there is no side."""


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


def from_view_deg(light: PlacedLight, view_down_deg: float | None) -> float | None:
    """Angle at the piece between the ways to the light and to the camera, degrees; None where one isn't known.

    cos θ = sin e · sin d + cos e · cos d · cos a, e and a the light's height and side, d how far the camera looks down
    A light straight above, and a camera straight above, needs no side. Source: spherical law of cosines.
    """
    if light.elevation_deg is None or view_down_deg is None:
        return None
    height, down = math.radians(light.elevation_deg), math.radians(view_down_deg)
    beside = math.cos(height) * math.cos(down)
    if light.azimuth_deg is None and beside > NO_SIDE:
        return None
    cosine = math.sin(height) * math.sin(down) + beside * math.cos(math.radians(light.azimuth_deg or 0.0))
    return math.degrees(math.acos(min(1.0, max(-1.0, cosine))))


def flash_exposure_ev(revision: Revision, kit: Kit) -> float | None:
    """EV of a card that faces the camera in the place of the piece, against a right exposure, by the kit's numbers.

    None where the kit or the set-up doesn't tell: a light that isn't a flash of the kit, or without guide number,
    distance or place; how far the camera looks down; a shaper whose loss nobody measured; a lens whose aperture isn't
    known; reflectors and glass. Raises ValueError for numbers that can't be.
    """
    known, f_number = guide_numbers_m(revision, kit), revision.settings.f_number
    if f_number is None or not revision.lights or any(item.kind in ("bounce", "plate") for item in revision.passive):
        return None
    alone_ev = []
    effective = lens_in_use(revision.arrangement, f_number).effective_f_number
    for placed in revision.lights:
        light, shaper = kit.light_for(placed.name), kit.shaper_for(placed.shaper)
        guide_number_m, aside_deg = known.get(placed.name), from_view_deg(placed, revision.view_down_deg)
        if light is None or guide_number_m is None or placed.distance_mm is None or aside_deg is None:
            return None
        if aside_deg >= RIGHT_ANGLE_DEG:  # it stands behind the card's plane, and lights its back
            continue
        right = flash.f_number(
            guide_number_m,
            placed.distance_mm,
            placed.power_ev,
            revision.settings.iso,
            source_size_mm=shaper.source_size_mm if shaper and shaper.source_size_mm else light.source_size_mm,
            loss_ev=incidence_loss_ev(aside_deg),
            origin_behind_mm=kit.origin_behind_mm(light, placed.shaper),
        )
        alone_ev.append(2 * math.log2(right / effective))
    return mix.combined_ev(alone_ev) if alone_ev else None
