"""Rules about the flash: its sync with the shutter, and its recycling.

Sign and origin: exposure times in seconds; power 0 EV = full.
"""

from __future__ import annotations

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId, waits
from session.lighting.flash import recycling_time_s
from session.lighting.sync import dark_share
from session.rules.situation import Situation
from session.units.numbers import percent_text, shorter_setting, time_text


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
