"""The power and place that each flash needs, and the exposure time that holds all flashes.

Light is counted for the effective f-number, so tubes, converter and close-up lens are in it already. A shaper
whose loss nobody measured counts as losing nothing, and `loss_known` says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from session.lighting.flash import distance_mm_for, power_ev_for, recycling_time_s
from session.lighting.mix import combined_ev
from session.lighting.source import incidence_loss_ev
from session.lighting.sync import fastest_exposure_s
from session.plan.room import plate_losses_ev
from session.plan.wish import Wish
from session.set.kit import Body, Kit, KitLacksError, Light
from session.units.marked_values import exposure_at_least_s

USUAL_DISTANCE_MM = 600.0
"""Where a light stands of which the kit doesn't say it: within arm's reach of a table. Chosen."""


@dataclass(frozen=True)
class Reach:
    """A flash with its shaper, before lens and stop are known.

    level_ev       what it shall give against the right exposure
    loss_ev        in shaper and plate
    incidence_loss_ev   what the piece, which faces the camera, gets less because the light comes from aside
    usual_ev       power that it would need at its usual distance for an effective f-number of 1
    nearest_ev     the same at its nearest
    """

    light: Light
    distance_mm: float
    source_size_mm: float
    level_ev: float
    loss_ev: float
    loss_known: bool
    iso: float
    incidence_loss_ev: float = 0.0
    usual_ev: float = 0.0
    nearest_ev: float = 0.0


@dataclass(frozen=True)
class LightPlan:
    """A flash as it is to be set: power (0 full) and distance from the piece; over a plate, along the bent path.

    short_ev  stops that are missing with the light as near as it comes; 0 when it does
    loss_ev, incidence_loss_ev   in shaper and plate, and by coming from aside; see `Reach`
    """

    name: str
    shaper: str
    power_ev: float
    distance_mm: float
    level_ev: float
    short_ev: float
    loss_ev: float
    loss_known: bool
    incidence_loss_ev: float
    duration_t01_s: float | None
    recycling_time_s: float


@dataclass(frozen=True)
class TimePlan:
    """The exposure time: the shortest marked one in which the whole frame sees each flash.

    duration_known  False when a flash's t0.1 isn't known and was taken as nothing
    """

    exposure_s: float
    fastest_exposure_s: float
    sync_margin_ev: float
    duration_known: bool


def reaches(kit: Kit, wish: Wish) -> tuple[Reach, ...]:
    """The flashes that the wish is about; together they give the right exposure, or each by itself does.

    Raises ValueError when a named light or plate isn't there, or is a light that can't be worked out.
    """
    lights = tuple(_flash_named(kit, name) for name in wish.lights) or tuple(
        light for light in kit.light if light.kind == "flash" and light.guide_number_m is not None
    )
    together_ev = combined_ev([light.level_ev for light in lights]) if wish.lights else 0.0
    found = []
    for place, light in enumerate(lights):
        shaper = kit.shaper_for(light.shaper)
        loss_ev = kit.loss_ev(light, light.shaper)
        over_plate = place == 0 or not wish.lights
        reach = Reach(
            light=light,
            distance_mm=max(light.distance_mm or USUAL_DISTANCE_MM, light.nearest_mm),
            source_size_mm=shaper.source_size_mm if shaper and shaper.source_size_mm else light.source_size_mm,
            level_ev=light.level_ev - together_ev if wish.lights else 0.0,
            loss_ev=(loss_ev or 0.0) + _plate_loss_ev(kit, wish, over_plate),
            loss_known=loss_ev is not None,
            iso=wish.iso,
            incidence_loss_ev=0.0 if wish.plate and over_plate else incidence_loss_ev(wish.light_angle_deg),
        )
        found.append(
            replace(
                reach,
                usual_ev=_power_at_f1_ev(reach, reach.distance_mm),
                nearest_ev=_power_at_f1_ev(reach, light.nearest_mm),
            )
        )
    return tuple(found)


def spare_light_ev(found: tuple[Reach, ...], wish: Wish, effective_f_number: float) -> float | None:
    """EV (stops) to spare with each light at its nearest and full power; negative: missing. None without a flash.

    Of lights that work together the weakest decides, else the strongest.
    """
    if not found:
        return None
    decides = max if wish.lights else min
    return -decides(reach.nearest_ev for reach in found) - 2 * math.log2(effective_f_number)


def light_plan(reach: Reach, effective_f_number: float) -> LightPlan:
    """Power at the usual distance and an effective f-number.

    The light comes nearer where full power is too little, farther where the least power is too much.
    """
    light = reach.light
    stop_ev = 2 * math.log2(effective_f_number)
    power_ev, distance_mm = reach.usual_ev + stop_ev, reach.distance_mm
    if not light.least_power_ev <= power_ev <= 0:
        power_ev = min(max(power_ev, light.least_power_ev), 0.0)
        distance_mm = _distance_mm(reach, power_ev, stop_ev)
    return LightPlan(
        name=light.name,
        shaper=light.shaper,
        power_ev=power_ev,
        distance_mm=distance_mm,
        level_ev=reach.level_ev,
        short_ev=max(0.0, reach.nearest_ev + stop_ev),
        loss_ev=reach.loss_ev,
        loss_known=reach.loss_known,
        incidence_loss_ev=reach.incidence_loss_ev,
        duration_t01_s=light.duration_at_s(power_ev),
        recycling_time_s=recycling_time_s(light.recycling_time_s, power_ev),
    )


def time_plan(body: Body, trigger_delay_s: float, lights: tuple[LightPlan, ...]) -> TimePlan:
    """The exposure time for these lights; a body whose curtain travel isn't known is given its sync time for it.

    trigger_delay_s  from contact to flash, s
    Raises ValueError when a number of the kit can't be meant.
    """
    durations = [light.duration_t01_s for light in lights]
    longest_s = max((duration for duration in durations if duration is not None), default=0.0)
    travel_s = body.curtain_travel_s or body.sync_time_s
    fastest_s = max(body.sync_time_s, fastest_exposure_s(travel_s, trigger_delay_s, longest_s))
    exposure_s = exposure_at_least_s(fastest_s)
    return TimePlan(exposure_s, fastest_s, math.log2(exposure_s / fastest_s), None not in durations)


def _flash_named(kit: Kit, name: str) -> Light:
    light = kit.light_for(name)
    if light is None:
        raise KitLacksError(
            f"The kit has no light {name!r}; it has {', '.join(one.name for one in kit.light) or 'none'}."
        )
    if light.kind != "flash" or light.guide_number_m is None:
        raise KitLacksError(f"guide_number_m of the light {name!r} is missing: give it in m, in the kit.")
    return light


def _plate_loss_ev(kit: Kit, wish: Wish, over_plate: bool) -> float:
    if not wish.plate:
        return 0.0
    plate = kit.plate_for(wish.plate)
    if plate is None:
        known = ", ".join(one.name for one in kit.plate) or "none"
        raise KitLacksError(f"The kit has no plate {wish.plate!r}; it has {known}.")
    return plate_losses_ev(plate, wish.plate_angle_deg)["loss_ev" if over_plate else "passing_loss_ev"]


def _all_lost_ev(reach: Reach) -> float:
    return reach.loss_ev + reach.incidence_loss_ev


def _power_at_f1_ev(reach: Reach, distance_mm: float) -> float:
    guide_number_m = reach.light.guide_number_m
    assert guide_number_m is not None
    needed_ev = power_ev_for(
        1.0, guide_number_m, distance_mm, reach.iso, source_size_mm=reach.source_size_mm, loss_ev=_all_lost_ev(reach)
    )
    return needed_ev + reach.level_ev


def _distance_mm(reach: Reach, power_ev: float, stop_ev: float) -> float:
    """Where the light gives its level at that power; its nearest place where it doesn't anywhere."""
    guide_number_m = reach.light.guide_number_m
    assert guide_number_m is not None
    try:
        distance_mm = distance_mm_for(
            1.0,
            guide_number_m,
            power_ev,
            reach.iso,
            source_size_mm=reach.source_size_mm,
            loss_ev=_all_lost_ev(reach) + reach.level_ev + stop_ev,
        )
    except ValueError:
        return reach.light.nearest_mm
    return max(distance_mm, reach.light.nearest_mm)
