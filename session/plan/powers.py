"""The power and place that each flash needs, and the exposure time that holds all flashes.

Light is counted for the effective f-number, so tubes, converter and close-up lens are in it already. A shaper
whose loss nobody measured counts as losing nothing, and `loss_known` says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

from session.lighting.flash import distance_mm_for, power_ev_for, recycling_time_s
from session.lighting.mirror import power_ev_for_luminance
from session.lighting.mix import combined_ev
from session.lighting.source import ClearPlace, clear_place, incidence_loss_ev, nearest_clear_mm
from session.lighting.sync import fastest_exposure_s
from session.plan.room import plate_losses_ev
from session.plan.wish import WantedLight, Wish
from session.set.kit import Body, Kit, KitLacksError, Light
from session.units.marked_values import exposure_at_least_s
from session.units.numbers import mm_text
from session.units.refusals import ImpossibleNumbersError

BEHIND_DEG = 90.0
"""From this angle from the optical axis on a light stands behind the face of the piece. By definition."""

MOST_ASIDE_DEG = 89.9
"""The angle counted for a light that only grazes the face, so that its loss stays finite. Chosen."""

USUAL_DISTANCE_MM = 600.0
"""Where a light stands of which the kit doesn't say it: within arm's reach of a table. Chosen."""


@dataclass(frozen=True, kw_only=True)
class LightAtPiece:
    """A flash with its shaper before the piece, as it is whatever lens and stop are.

    from_axis_deg  angle from the optical axis; from BEHIND_DEG on the light adds nothing to the face of the piece
    moved          why the light doesn't stand where the kit or the wish has it, in words; "" where it does
    level_ev       the light that the flash shall give, against the right exposure
    beside_key_ev  the same beside the key
    loss_ev        in shaper and plate
    incidence_loss_ev   loss of the piece, which faces the camera, because the light comes from aside
    by_luminance   the piece shows the source itself, so that its distance doesn't count
    """

    from_axis_deg: float
    moved: str
    source_size_mm: float
    level_ev: float
    beside_key_ev: float
    loss_ev: float
    loss_known: bool
    incidence_loss_ev: float = 0.0
    by_luminance: bool = False

    @property
    def behind(self) -> bool:
        """The light stands behind the piece, and lights its edge only."""
        return self.from_axis_deg >= BEHIND_DEG


@dataclass(frozen=True, kw_only=True)
class Reach(LightAtPiece):
    """A flash with its shaper, before lens and stop are known.

    distance_mm, nearest_mm   usual, and as near as the light can come, where a large source stands wholly free
    usual_ev       power that the flash would need at its usual distance for an effective f-number of 1
    nearest_ev     the same at its nearest
    """

    light: Light
    distance_mm: float
    nearest_mm: float
    origin_behind_mm: float
    iso: float
    usual_ev: float = 0.0
    nearest_ev: float = 0.0


@dataclass(frozen=True, kw_only=True)
class LightPlan(LightAtPiece):
    """A flash as it is to be set: power (0 full) and distance from the piece; over a plate, along the bent path.

    short_ev  stops that are missing with the light as near as it comes; 0 when it does
    over_ev   stops too many at the least power, where the piece shows the light itself and no distance helps
    """

    name: str
    shaper: str
    power_ev: float
    distance_mm: float
    short_ev: float
    over_ev: float
    duration_t01_s: float | None
    recycling_time_s: float


@dataclass(frozen=True)
class TimePlan:
    """The exposure time: the shortest marked time in which the whole frame sees each flash.

    duration_known  False when a flash's t0.1 isn't known and was taken as nothing
    """

    exposure_s: float
    fastest_exposure_s: float
    sync_margin_ev: float
    duration_known: bool


def reaches(kit: Kit, wish: Wish, beside_mm: float = 0.0) -> tuple[Reach, ...]:
    """The flashes of the wish: the named flashes together, or every flash of the kit that would do alone.

    Together they give the right exposure on the face of the piece; a light behind the piece adds nothing to the face.
    On a mirror-like piece, which shows each source by itself, the key alone is as bright as wished.
    beside_mm  how far lens and picture reach from the optical axis
    Raises ValueError when a named light or plate isn't there, or is a light that can't be worked out.
    """
    wanted = wish.wanted_lights or tuple(WantedLight(light.name) for light in _usable(kit, wish))
    lights = [(one, _flash_named(kit, one.name)) for one in wanted]
    levels = [light.level_ev if one.level_ev is None else one.level_ev for one, light in lights]
    angles = [_from_axis_deg(one, light, wish) for one, light in lights]
    facing = [level for level, angle in zip(levels, angles, strict=True) if angle < BEHIND_DEG]
    if wish.lights and not facing:
        raise ImpossibleNumbersError(f"{', '.join(wish.lights)} stand behind the piece: none shines on its face.")
    mirror = wish.surface == "mirror"
    together_ev = (levels[0] if mirror else combined_ev(facing)) if wish.lights else 0.0
    found = []
    for place, (_, light) in enumerate(lights):
        over_plate = bool(wish.plate) and (place == 0 or not wish.lights)
        level_ev = levels[place] - together_ev if wish.lights else 0.0
        reach = _reach_of(kit, wish, light, angles[place], beside_mm, over_plate=over_plate)
        reach = replace(reach, level_ev=level_ev, beside_key_ev=levels[place] - levels[0] if wish.lights else 0.0)
        found.append(
            replace(
                reach,
                usual_ev=_power_at_f1_ev(reach, reach.distance_mm),
                nearest_ev=_power_at_f1_ev(reach, reach.nearest_mm),
            )
        )
    return tuple(found)


def _reach_of(kit: Kit, wish: Wish, light: Light, angle_deg: float, beside_mm: float, *, over_plate: bool) -> Reach:
    """A flash where it can stand, with what is lost on the way."""
    loss_ev = kit.loss_ev(light, light.shaper)
    size_mm = _source_size_mm(kit, light)
    distance_mm = max(light.distance_mm or USUAL_DISTANCE_MM, light.nearest_mm)
    nearest_mm, moved = light.nearest_mm, ""
    if size_mm and not over_plate and angle_deg < BEHIND_DEG:
        there = clear_place(distance_mm, min(angle_deg, MOST_ASIDE_DEG), size_mm, beside_mm)
        nearest_mm = max(nearest_mm, nearest_clear_mm(there.from_axis_deg, size_mm, beside_mm))
        moved = _moved_text(angle_deg, distance_mm, there)
        angle_deg, distance_mm = there.from_axis_deg, max(there.distance_mm, nearest_mm)
    aside = not over_plate and angle_deg < BEHIND_DEG
    return Reach(
        light=light,
        distance_mm=distance_mm,
        nearest_mm=nearest_mm,
        from_axis_deg=0.0 if over_plate else angle_deg,
        moved=moved,
        source_size_mm=size_mm,
        origin_behind_mm=kit.origin_behind_mm(light, light.shaper),
        level_ev=0.0,
        beside_key_ev=0.0,
        loss_ev=(loss_ev or 0.0) + _plate_loss_ev(kit, wish, over_plate),
        loss_known=loss_ev is not None,
        iso=wish.iso,
        incidence_loss_ev=incidence_loss_ev(min(angle_deg, MOST_ASIDE_DEG)) if aside else 0.0,
        by_luminance=wish.surface == "mirror" and size_mm > 0 and angle_deg < BEHIND_DEG,
    )


def _moved_text(angle_deg: float, distance_mm: float, there: ClearPlace) -> str:
    """Why a large source doesn't stand where it was wished, and where it does; "" where it does."""
    told = f"{there.from_axis_deg:.0f}° from the axis"
    if there.distance_mm > distance_mm * 1.001:
        moved = f"moved to {mm_text(there.distance_mm)} and {told}"
        return f"{moved}: nearer, a part of it would stand below the piece's plane"
    if there.from_axis_deg > angle_deg + 0.05:
        return f"turned to {told}: else a part of it would stand in the camera's view"
    return ""


def _usable(kit: Kit, wish: Wish) -> tuple[Light, ...]:
    """The flashes of the kit that could light the face of the piece alone.

    For a mirror-like piece those with a surface that it can show, where the kit has one.
    """
    flashes = (light for light in kit.light if light.kind == "flash" and light.guide_number_m is not None)
    facing = tuple(light for light in flashes if _from_axis_deg(WantedLight(light.name), light, wish) < BEHIND_DEG)
    seen = tuple(light for light in facing if wish.surface == "mirror" and _source_size_mm(kit, light))
    return seen or facing


def _source_size_mm(kit: Kit, light: Light) -> float:
    """Diameter of what shines, mm: of the light's shaper, else of the light itself."""
    shaper = kit.shaper_for(light.shaper)
    return shaper.source_size_mm if shaper and shaper.source_size_mm else light.source_size_mm


def _from_axis_deg(wanted: WantedLight, light: Light, wish: Wish) -> float:
    angles = (wanted.from_axis_deg, light.from_axis_deg, wish.light_angle_deg)
    return next(angle for angle in angles if angle is not None)


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
    if reach.by_luminance:
        power_ev = min(max(power_ev, light.least_power_ev), 0.0)
    elif not light.least_power_ev <= power_ev <= 0:
        power_ev = min(max(power_ev, light.least_power_ev), 0.0)
        distance_mm = _distance_mm(reach, power_ev, stop_ev)
    at_piece = {one.name: getattr(reach, one.name) for one in fields(LightAtPiece)}
    return LightPlan(
        **at_piece,
        name=light.name,
        shaper=light.shaper,
        power_ev=power_ev,
        distance_mm=distance_mm,
        short_ev=max(0.0, reach.nearest_ev + stop_ev),
        over_ev=max(0.0, light.least_power_ev - reach.usual_ev - stop_ev) if reach.by_luminance else 0.0,
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
    over = "mirror_loss_ev" if wish.surface == "mirror" else "loss_ev"
    return plate_losses_ev(plate, wish.plate_angle_deg)[over if over_plate else "passing_loss_ev"]


def _all_lost_ev(reach: Reach) -> float:
    return reach.loss_ev + reach.incidence_loss_ev


def _power_at_f1_ev(reach: Reach, distance_mm: float) -> float:
    guide_number_m = reach.light.guide_number_m
    assert guide_number_m is not None
    if reach.by_luminance:
        needed_ev = power_ev_for_luminance(1.0, guide_number_m, reach.source_size_mm, reach.iso, loss_ev=reach.loss_ev)
        return needed_ev + reach.level_ev
    needed_ev = power_ev_for(
        1.0,
        guide_number_m,
        distance_mm,
        reach.iso,
        source_size_mm=reach.source_size_mm,
        loss_ev=_all_lost_ev(reach),
        origin_behind_mm=reach.origin_behind_mm,
    )
    return needed_ev + reach.level_ev


def _distance_mm(reach: Reach, power_ev: float, stop_ev: float) -> float:
    """The place where the light gives its level at that power, else the light's nearest place."""
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
            origin_behind_mm=reach.origin_behind_mm,
        )
    except ValueError:
        return reach.nearest_mm
    return max(distance_mm, reach.nearest_mm)
