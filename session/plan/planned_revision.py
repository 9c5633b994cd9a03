"""A plan as a set-up: what the camera, the lens and the lights are to be, as the next revision's arrangement."""

from __future__ import annotations

from dataclasses import replace

from session.plan.ranked_plan import Plan
from session.plan.room import PlatePlace
from session.set.lens_in_use import without_stale_confirmation
from session.set.setup import PassiveItem, PlacedLight, Revision, put_at

POWER_DIGITS = 1
"""Flash controls have tenths of a stop at the finest. Common practice, no source."""


def as_revision(plan: Plan, base: Revision) -> Revision:
    """The base with the plan in it: settings, lens, lights, plate, hold-off, depth needed, blur limit.

    A light that stands in the base already keeps its direction; lights that the plan doesn't use are left out. What the
    tape told of the camera holds for the old lens arrangement only, and goes with it.
    Number and label stay the base's: `shoot.revise` or `new_setup` gives the next.
    """
    wish = plan.wish
    lights = tuple(
        put_at(
            (
                base.light(light.name)
                or PlacedLight(light.name, note=f"{light.from_axis_deg:.0f}° from the optical axis")
            ).with_shaper(light.shaper),
            power_ev=round(light.power_ev, POWER_DIGITS),
            distance_mm=round(light.distance_mm),
        )
        for light in plan.lights
    )
    passive = tuple(item for item in base.passive if item.kind != "plate")
    if plan.plate is not None:
        plate = plan.plate
        stood = next((item for item in base.passive if (item.kind, item.name) == ("plate", plate.name)), None)
        passive += (_as_planned(plate, stood),)
    taped = base if plan.mounting.arrangement == base.arrangement else Revision()
    wanted = replace(
        base,
        settings=replace(
            base.settings, exposure_s=plan.time.exposure_s, f_number=plan.stop.f_number, iso=round(wish.iso)
        ),
        arrangement=plan.mounting.arrangement,
        lights=lights,
        passive=passive,
        body=plan.build.body.name,
        trigger=wish.trigger or base.trigger,
        support=wish.support or base.support,
        working_distance_mm=taped.working_distance_mm,
        camera_height_mm=taped.camera_height_mm,
        hold_off_s=plan.hold_off_s,
        depth_needed_mm=wish.depth_mm,
        blur_limit_px=plan.blur_limit_px,
    )
    return without_stale_confirmation(wanted, base)


def _as_planned(plate: PlatePlace, stood: PassiveItem | None) -> PassiveItem:
    """The plate at its distance and angle: turned where it is turned already, else the note tells the angle alone.

    A plan doesn't say from which side the light comes, so it can't say to which side the plate is turned.
    """
    if stood is not None and stood.turned_to:
        return put_at(stood, distance_mm=round(plate.distance_mm), turned_deg=plate.angle_deg)
    note = f"tilted {plate.angle_deg:.0f}°, its face to the light"
    return PassiveItem("plate", plate.name, distance_mm=round(plate.distance_mm), note=note)
