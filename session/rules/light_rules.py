"""Rules about the light itself: a flash that burns longer than the shutter is open, and the ambient light.

They speak only of flashes whose t0.1 the kit knows. Power 0 EV = full; ambient light in stops under the flash.
"""

from __future__ import annotations

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId
from session.lighting.mix import AMBIENT_STOPS_UNDER, ambient_gain_ev
from session.lighting.sync import edge_loss_ev, fastest_exposure_s
from session.rules.flash_rules import slower_time
from session.rules.situation import Situation
from session.units.numbers import ev_text, shorter_setting, time_text

BRIGHTEST_EV = 20.0
"""Ambient light above the flash by more than this is said as this. Chosen."""


def flash_duration(situation: Situation) -> tuple[Finding, ...]:
    """A flash burns longer at its power than the whole frame is open after it fired."""
    body, exposure_s, delay_s = situation.body, situation.exposure_s, situation.trigger_delay_s
    if body is None:
        return ()
    travel_s = body.curtain_travel_s
    open_s = exposure_s - delay_s - (travel_s or 0.0)
    burning = [
        (light.duration_at_s(placed.power_ev) or 0.0, placed)
        for placed in situation.revision.lights
        if (light := situation.flashes.get(placed.name)) is not None
    ]
    longest_s, placed = max(burning, key=lambda one: one[0], default=(0.0, None))
    # A frame that is not open at all when the flash fires is for the rule about sync to tell.
    if placed is None or open_s <= 0 or not shorter_setting(open_s, longest_s):
        return ()
    if travel_s is None:
        lost = "some of its light is cut off"
        needed_s = longest_s + delay_s
    else:
        lost = f"an edge loses {edge_loss_ev(exposure_s, travel_s, delay_s, longest_s):.1f} EV"
        needed_s = fastest_exposure_s(travel_s, delay_s, longest_s)
    text = (
        f"{placed.name} burns {time_text(longest_s)} at {ev_text(placed.power_ev)}, the frame is open for "
        f"{time_text(open_s)} of it: {lost}."
    )
    remedy = slower_time(situation, needed_s)
    return (Finding(RuleId.FLASH_DURATION, Level.CAUTION, text, longest_s, open_s, "s", remedy),)


def ambient(situation: Situation) -> tuple[Finding, ...]:
    """The ambient light has not been measured for this set-up, or is less than five stops under the flash."""
    if not situation.flashes:
        return ()
    measured_ev = situation.revision.ambient_ev
    if measured_ev is None:
        remedy = Remedy(RemedyKind.BY_HAND, "with a reference taken: lights off, measure the ambient light")
        text = "The ambient light has not been measured for this set-up."
        return (Finding(RuleId.AMBIENT, Level.NOTE, text, None, AMBIENT_STOPS_UNDER, "EV", remedy),)
    under_ev = -min(measured_ev, BRIGHTEST_EV)
    if under_ev >= AMBIENT_STOPS_UNDER:
        return ()
    gain_ev = ambient_gain_ev(under_ev)
    text = f"The ambient light is {under_ev:.1f} EV under the flash and adds {gain_ev:.2f} EV of its own colour."
    remedy = Remedy(RemedyKind.BY_HAND, "darken the room, or give a shorter time within sync, then measure again")
    return (Finding(RuleId.AMBIENT, Level.CAUTION, text, under_ev, AMBIENT_STOPS_UNDER, "EV", remedy),)
