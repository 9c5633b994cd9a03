"""Rules about the light: flash sync, recycling, a flash that burns longer than the shutter is open, ambient.

Duration is told only of flashes whose t0.1 the kit knows. Sign and origin: exposure times in seconds; power
0 EV = full; ambient light in stops under the flash.
"""

from __future__ import annotations

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId, waits
from session.lighting.flash import recycling_time_s
from session.lighting.mix import AMBIENT_STOPS_UNDER, ambient_gain_ev
from session.lighting.sync import dark_share, edge_loss_ev, fastest_exposure_s
from session.rules.situation import Situation
from session.units.numbers import ev_text, percent_text, shorter_setting, time_text


def sync(situation: Situation) -> tuple[Finding, ...]:
    """A flash is in use and the exposure time is shorter than the shutter needs to be wholly open for it.

    The limit is the maker's sync time, or curtain travel plus the trigger's delay where that is longer.
    Where the curtain's travel isn't known, a trigger's delay on top of the sync time is a caution only.
    """
    body, open_s = situation.body, situation.wholly_open_s
    if body is None or open_s is None or not situation.flashes:
        return ()
    exposure_s = situation.exposure_s
    limit_s = open_s if body.curtain_travel_s else body.sync_time_s
    if shorter_setting(exposure_s, limit_s):
        share = dark_share(exposure_s, body.curtain_travel_s or body.sync_time_s, situation.trigger_delay_s)
        lost = f"{percent_text(share)} of the picture would stay dark" if share else "an edge would lose light"
        text = f"{time_text(exposure_s)} is shorter than the {time_text(limit_s)} sync time: {lost}."
        return (Finding(RuleId.SYNC, Level.STOP, text, exposure_s, limit_s, "s", slower_time(situation, limit_s)),)
    if shorter_setting(exposure_s, open_s):
        text = f"{time_text(exposure_s)} leaves no room for the trigger's delay; look along the edge of the frame."
        return (Finding(RuleId.SYNC, Level.CAUTION, text, exposure_s, open_s, "s"),)
    return ()


def slower_time(situation: Situation, limit_s: float) -> Remedy:
    """The shortest time on offer that is in sync, from the shortest time in sync, s."""
    setting = situation.reading.settings.get("exposure_s")
    offered = [float(v) for v in (setting.allowed if setting else ()) if isinstance(v, int | float)]
    in_sync = [value for value in offered if not shorter_setting(value, limit_s)]
    value = min(in_sync, default=limit_s)
    kind = RemedyKind.BY_HAND if setting is not None and setting.read_only else RemedyKind.SET_CAMERA
    return Remedy(kind, f"set {time_text(value)}", {"exposure_s": value})


def recycling(situation: Situation) -> tuple[Finding, ...]:
    """A flash has not had its recycling time for the power that its last pop took."""
    waiting = []
    for name, light in situation.flashes.items():
        pop = situation.pops.get(name)
        if pop is None:
            continue
        needed_s = recycling_time_s(light.recycling_time_s, pop.power_ev)
        left_s = pop.at_s + needed_s - situation.now_s
        if left_s > 0:
            waiting.append((left_s, needed_s, name))
    if not waiting:
        return ()
    left_s, needed_s, name = max(waiting)
    text = f"{name} recycles, {left_s:.1f} s to go."
    remedy = waits(left_s)
    return (Finding(RuleId.RECYCLING, Level.NOTE, text, needed_s - left_s, needed_s, "s", remedy),)


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
