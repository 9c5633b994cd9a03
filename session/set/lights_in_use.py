"""The flashes of a set-up as they stand, with what the kit knows of them and of their shapers."""

from __future__ import annotations

from session.set.kit import Kit
from session.set.setup import Revision


def guide_numbers_m(revision: Revision, kit: Kit) -> dict[str, float]:
    """Guide number of each flash in the set as shaped: metres, ISO 100, full power.

    GN · 2^(−loss/2), as a shaper's loss of 1 EV takes 1/√2 of the guide number (see `lighting.flash.shaper_loss_ev`)
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
