"""The ambient light of a set-up: what a measurement is still worth after a change, and how one is kept.

Against the flash it grows with the exposure time and falls with the power of the flashes; f-number, ISO and lens
let both through alike. Another light, place, shaper or passive item asks for another measurement.
"""

from __future__ import annotations

import math
from dataclasses import replace

from session.set.setup import PlacedLight, Revision


def carried_ev(old: Revision, new: Revision) -> float | None:
    """The ambient light against the flash for `new`, EV, worked out from `old`; None where `old` has no measure."""
    power_ev = _common_power_change_ev(old.lights, new.lights)
    if old.ambient_ev is None or power_ev is None or old.passive != new.passive:
        return None
    return old.ambient_ev + math.log2(new.settings.exposure_s / old.settings.exposure_s) - power_ev


def with_ambient_carried(wanted: Revision, old: Revision) -> Revision:
    """The wanted set-up with the ambient light as the change leaves it, unless it was given anew."""
    if wanted.ambient_ev is None or wanted.ambient_ev != old.ambient_ev:
        return wanted
    return replace(wanted, ambient_ev=carried_ev(old, wanted))


def with_ambient(in_force: Revision, measured_under: Revision, ambient_ev: float) -> Revision | None:
    """The set-up in force with the measured ambient light; None when a change since then makes the measure void.

    ambient_ev  the ambient light against the flash under `measured_under`, EV
    """
    if in_force.setup_number != measured_under.setup_number:
        return None
    now_ev = carried_ev(replace(measured_under, ambient_ev=round(ambient_ev, 2)), in_force)
    return None if now_ev is None else replace(in_force, ambient_ev=now_ev)


def _common_power_change_ev(old: tuple[PlacedLight, ...], new: tuple[PlacedLight, ...]) -> float | None:
    """The EV by which all lights were turned up alike; None after another change of a light."""
    before, after = ({light.name: light for light in lights} for lights in (old, new))
    if before.keys() != after.keys():
        return None
    changes = {round(after[name].power_ev - before[name].power_ev, 6) for name in before}
    as_before = all(replace(after[name], power_ev=one.power_ev, note=one.note) == one for name, one in before.items())
    if not as_before or len(changes) > 1:
        return None
    return changes.pop() if changes else 0.0
