"""One arrangement compared with the wish: every marked stop is tried, and what fails is measured."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from session.optics.circle import blur_limit_from_piece_px
from session.optics.framing import clearance_mm, magnification_for_piece, pixel_pitch_um, pixels_on_piece
from session.optics.sharpness import opening
from session.plan import criteria as ask
from session.plan.arrangements import Build
from session.plan.criteria import Criterion
from session.plan.mounting import Mounted, focus_farther, mount_build
from session.plan.powers import LightPlan, Reach, light_plan, spare_light_ev, time_plan
from session.plan.ranked_plan import Plan, rank
from session.plan.ranking import Rank, first_of_each
from session.plan.reflection import reflection_of
from session.plan.room import PlatePlace, light_room_mm, plate_place
from session.plan.stops import Stop, tried_stops
from session.plan.waits import safe_hold_off_s
from session.plan.wish import Wish
from session.set.kit import Kit, Lens
from session.set.lens_in_use import plate_astigmatism_mm


@dataclass(frozen=True)
class Tried:
    """One stop of an arrangement, judged: what a plan is made of, and its rank."""

    mounting: Mounted
    stop: Stop
    plate: PlatePlace | None
    room_needed_mm: float
    criteria: tuple[Criterion, ...]

    @cached_property
    def rank(self) -> Rank:
        """The stop's points, for `ranking`."""
        return rank(self.mounting.build, self.criteria, self.stop)


def judge_build(build: Build, kit: Kit, wish: Wish, lights: tuple[Reach, ...]) -> tuple[Tried, ...]:
    """The build tried at every marked stop.

    At the wanted ratio, or as near as the build comes; where the best stop then lacks room before the lens, also from
    just far enough away for a whole series, the picture to be cropped.
    Raises ValueError with a sentence where the build forms no close-up picture, or by a kit with too few facts.
    """
    ratio = wanted_ratio(build, wish)
    mounting = mount_build(build, ratio)
    tried = _try_stops(mounting, kit, wish, lights, ratio)
    best = tried[next(first_of_each([one.rank for one in tried], [build] * len(tried)))]
    if not any(one.short_ev for one in best.criteria if one.name == "room"):
        return tried
    back = focus_farther(mounting, best.room_needed_mm + wish.in_front_mm(frames=2))
    return tried if back is None else tried + _try_stops(back, kit, wish, lights, ratio)


def plan_of(tried: Tried, kit: Kit, wish: Wish, lights: tuple[Reach, ...]) -> Plan:
    """The plan that a stop makes: light, exposure time and hold-off go with it. Raises ValueError."""
    mounting, stop, build = tried.mounting, tried.stop, tried.mounting.build
    body = build.body
    used, alternatives = _used_lights(wish, lights, stop)
    trigger = kit.trigger_for(wish.trigger)
    time = time_plan(body, trigger.delay_s if trigger else 0.0, used)
    light_s = max((light.duration_t01_s or time.exposure_s for light in used), default=time.exposure_s)
    pitch_um = pixel_pitch_um(body.sensor_width_mm, body.pixels_across)
    blur_px = blur_limit_from_piece_px(wish.blur_radius_mm, mounting.magnification, pitch_um)
    return Plan(
        wish=wish,
        mounting=mounting,
        stop=stop,
        turned=_ratio(build, wish, turned=True) > _ratio(build, wish, turned=False),
        pixel_pitch_um=pitch_um,
        room_needed_mm=tried.room_needed_mm,
        clearance_mm=_clearance_mm(mounting, wish, stop),
        plate=tried.plate,
        lights=used,
        alternatives=alternatives,
        time=time,
        hold_off_s=safe_hold_off_s(kit.support_for(wish.support), mounting.magnification, pitch_um, light_s, blur_px),
        blur_limit_px=blur_px,
        reflection=reflection_of(mounting, stop, wish, tried.plate, used),
        criteria=tried.criteria,
    )


def wanted_ratio(build: Build, wish: Wish) -> float:
    """Ratio at which the piece fills its share of the picture, the camera turned as suits the piece better."""
    return max(_ratio(build, wish, turned=False), _ratio(build, wish, turned=True))


def _ratio(build: Build, wish: Wish, turned: bool) -> float:
    sides = build.body.sensor_width_mm, build.body.sensor_height_mm
    width, height = sides[::-1] if turned else sides
    return magnification_for_piece(width, height, wish.piece_width_mm, wish.piece_height_mm, wish.fill)


def _try_stops(mounting: Mounted, kit: Kit, wish: Wish, lights: tuple[Reach, ...], ratio: float) -> tuple[Tried, ...]:
    build, body = mounting.build, mounting.build.body
    glass = kit.plate_for(wish.plate)
    stops = tried_stops(mounting, wish, plate_astigmatism_mm(glass, wish.plate_angle_deg) if glass else 0.0)
    pitch_um = pixel_pitch_um(body.sensor_width_mm, body.pixels_across)
    plate = _plate(mounting, kit, wish, stops[0])
    needed_mm = _room_needed_mm(build.lens, wish, plate)
    share = wish.fill * mounting.magnification / ratio
    framed = (ask.framing(share, wish), *ask.filling(share, wish))
    fixed = (*framed, *_pixels(mounting, wish, pitch_um), *_plate_size(plate))
    return tuple(
        Tried(mounting, stop, plate, needed_mm, (*fixed, *_asked_of_stop(mounting, wish, lights, needed_mm, stop)))
        for stop in stops
    )


def _asked_of_stop(
    mounting: Mounted, wish: Wish, lights: tuple[Reach, ...], needed_mm: float, stop: Stop
) -> tuple[Criterion, ...]:
    found = [
        ask.at_least("room", _clearance_mm(mounting, wish, stop), needed_mm, "mm"),
        ask.at_most("blur", stop.blur_radius_mm, wish.blur_radius_mm, "mm"),
        ask.light(spare_light_ev(lights, wish, stop.effective_f_number)),
    ]
    if wish.most_frames is not None:
        found.append(ask.at_most("frames", stop.series.frames, wish.most_frames, ""))
    return tuple(found)


def _pixels(mounting: Mounted, wish: Wish, pitch_um: float) -> tuple[Criterion, ...]:
    if wish.delivered_pixels is None:
        return ()
    across = pixels_on_piece(wish.piece_width_mm, mounting.magnification, pitch_um) / wish.fill
    return (ask.at_least("pixels", across, wish.delivered_pixels, "px"),)


def _plate(mounting: Mounted, kit: Kit, wish: Wish, widest: Stop) -> PlatePlace | None:
    plate = kit.plate_for(wish.plate)
    if plate is None:
        return None
    front_mm = max(mounting.working_distance_mm or 0.0, 0.0)
    seen = opening(widest.effective_f_number, mounting.magnification)
    framed_mm = wish.framed_width_mm, wish.piece_height_mm / wish.fill
    return plate_place(plate, wish.plate_angle_deg, framed_mm, front_mm, wish.relief_mm, mounting.lens, seen)


def _plate_size(plate: PlatePlace | None) -> tuple[Criterion, ...]:
    if plate is None:
        return ()
    sides = ((plate.length_mm, plate.length_needed_mm), (plate.width_mm, plate.width_needed_mm))
    value, limit = min(sides, key=lambda side: side[0] / side[1])
    return (ask.at_least("plate", value if plate.size_known else None, limit, "mm"),)


def _room_needed_mm(lens: Lens, wish: Wish, plate: PlatePlace | None) -> float:
    if plate is not None:
        return max(plate.room_mm, wish.clear_in_front_mm)
    if lens.front_diameter_mm is None:
        return wish.clear_in_front_mm
    beside_mm = light_room_mm(lens.front_diameter_mm, wish.piece_width_mm, wish.piece_height_mm, wish.light_angle_deg)
    return max(beside_mm, wish.clear_in_front_mm)


def _clearance_mm(mounting: Mounted, wish: Wish, stop: Stop) -> float | None:
    room_mm = mounting.working_distance_mm
    return None if room_mm is None else clearance_mm(room_mm, wish.in_front_mm(stop.series.frames))


def _used_lights(
    wish: Wish, lights: tuple[Reach, ...], stop: Stop
) -> tuple[tuple[LightPlan, ...], tuple[LightPlan, ...]]:
    """All that work together; else the first that is strong enough, or the strongest, and those that do instead."""
    plans = tuple(light_plan(reach, stop.effective_f_number) for reach in lights)
    if wish.lights or not plans:
        return plans, ()
    enough = tuple(light for light in plans if not light.short_ev)
    first = enough[0] if enough else min(plans, key=lambda light: light.short_ev)
    return (first,), tuple(light for light in enough if light is not first)
