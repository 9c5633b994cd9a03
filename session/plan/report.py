"""A plan as plain numbers under their names, for JSON, cards and screens; and the plan's cautions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict

from session.lighting.cautions import cautions_for
from session.optics.diffraction import airy_diameter_on_piece_um
from session.optics.framing import pixel_footprint_um
from session.plan.criteria import Criterion
from session.plan.powers import LightPlan
from session.plan.ranked_plan import Plan
from session.plan.reflection import reflection_texts, satin_text
from session.plan.wish import Wish
from session.units.numbers import f_text, mm_text, percent_text

LIGHT_HAZARDS = ("capacitor", "trigger voltage", "eyes", "photosensitivity", "mains", "stands")
"""What is minded wherever flash on stands is planned."""

UNKNOWN_LIGHT_EV = 0.1
"""What is unknown or too much of the light by less isn't told: settings are set no closer. Chosen."""

LEAST_TOLD_EV = 0.05
"""What is told in tenths and comes to none. Rounding."""

ASTIGMATISM_SHARE = 1 / 3
"""Of the depth, above which a plate's astigmatism shows. Common practice, no source."""


def cautions(plan: Plan) -> tuple[str, ...]:
    """The trade's usual cautions for what this plan puts up."""
    return cautions_for(*hazards(plan))


def hazards(plan: Plan) -> tuple[str, ...]:
    """The hazards of this plan, by the names of `lighting.cautions`."""
    found = list(LIGHT_HAZARDS) if plan.lights else ["stands"]
    if plan.plate is not None:
        found.append("glass")
    if plan.stop.series.frames > 1 and any(light.power_ev > -1 for light in plan.lights):
        found.append("duty cycle")
    return tuple(found)


def lack_text(criterion: Criterion) -> str:
    """A criterion that fails, in words, with the stops that are missing."""
    if criterion.short_ev < LEAST_TOLD_EV:
        return f"just short: {criterion.text}"
    return f"fails by {criterion.short_ev:.1f} stops: {criterion.text}"


def numbers(plan: Plan) -> dict[str, object]:
    """Every number of the plan; None where the kit doesn't tell. Lights, plate and criteria are nested objects."""
    arrangement = asdict(plan.mounting.arrangement)
    width_mm, height_mm = plan.field_mm
    stop, ratio = plan.stop, plan.mounting.magnification
    airy_um = airy_diameter_on_piece_um(stop.effective_f_number, ratio, plan.wish.wavelength_um)
    return {
        "body": plan.build.body.name,
        "arrangement": plan.build.label,
        **arrangement,
        "f_number": stop.f_number,
        "effective_f_number": stop.effective_f_number,
        "exposure_increase_ev": plan.exposure_increase_ev,
        "aperture_by_hand": plan.build.aperture_by_hand,
        "focus_by_moving": plan.focus_by_moving,
        "camera_turned": plan.turned,
        "field_width_mm": width_mm,
        "field_height_mm": height_mm,
        "working_distance_mm": plan.mounting.working_distance_mm,
        "track_mm": plan.mounting.track_mm,
        "entrance_pupil_distance_mm": plan.mounting.lens.entrance_pupil_distance_mm,
        "clearance_mm": plan.clearance_mm,
        "room_needed_mm": plan.room_needed_mm,
        "pixels_on_piece": plan.pixels_on_piece,
        "delivered_pixels": plan.delivered_pixels,
        "pixel_footprint_um": pixel_footprint_um(plan.pixel_pitch_um, ratio),
        "depth_mm": stop.depth_mm,
        "depth_needed_mm": plan.wish.depth_mm,
        "blur_radius_on_piece_mm": stop.blur_radius_mm,
        "airy_diameter_on_piece_um": airy_um,
        "frames": stop.series.frames,
        "step_mm": stop.series.step_mm,
        "exposure_s": plan.time.exposure_s,
        "fastest_exposure_s": plan.time.fastest_exposure_s,
        "sync_margin_ev": plan.time.sync_margin_ev,
        "flash_duration_known": plan.time.duration_known,
        "hold_off_s": plan.hold_off_s,
        "series_s": plan.series_s,
        "lights": [asdict(light) for light in plan.lights],
        "alternative_lights": [asdict(light) for light in plan.alternatives],
        "plate": asdict(plan.plate) if plan.plate is not None else None,
        "reflection": asdict(plan.reflection) if plan.reflection is not None else None,
        "remarks": remarks(plan),
        "criteria": [
            {
                "name": one.name,
                "value": one.value,
                "limit": one.limit,
                "unit": one.unit,
                "spare_ev": one.spare_ev,
                "fails": one.short_ev > 0,
                "text": one.text,
            }
            for one in plan.criteria
        ],
    }


def room_text(working_distance_mm: float, clearance_mm: float | None = None) -> str:
    """`179 mm free (182 mm to the plane of focus)`: what is before the lens.

    clearance_mm  between lens and the piece's nearest point; None where only the plane of focus is known
    """
    if clearance_mm is None:
        return f"{mm_text(working_distance_mm)} from the lens to the plane of focus"
    return f"{mm_text(clearance_mm)} free ({mm_text(working_distance_mm)} to the plane of focus)"


def remarks(plan: Plan) -> tuple[str, ...]:
    """The remarks on a plan beside its criteria, a sentence for each."""
    said = []
    if plan.build.aperture_by_hand:
        said.append(f"The camera can't set the aperture: set {f_text(plan.stop.f_number)} by hand.")
    if plan.focus_by_moving:
        said.append("Focus by moving the camera, not by the ring.")
    added = plan.build.supplementary
    if added is not None and plan.build.front_to_plane_mm(plan.mounting.focal_length_mm) is None:
        said.append(
            f"Where {plan.build.lens.name} looks out from isn't known: {added.name} counts as touching its principal "
            "plane, and magnifies less in truth."
        )
    unknown_ev = plan.build.unknown_light_ev(plan.mounting.own_ratio)
    if unknown_ev > UNKNOWN_LIGHT_EV:
        said.append(
            f"{plan.build.lens.name} focuses inside: it may let through up to {unknown_ev:.2f} EV more than counted; a "
            "frame of a grey card corrects the kit (at the bench, or plan lens)."
        )
    key = next(iter(plan.lights), None)
    plate = plan.plate
    if plate is not None:
        whole_mm = plan.stop.depth_mm + plate.astigmatism_mm
        if plate.astigmatism_mm > whole_mm * ASTIGMATISM_SHARE:
            said.append(
                f"The plate's astigmatism takes {mm_text(plate.astigmatism_mm)} of the depth, "
                f"{percent_text(plate.astigmatism_mm / whole_mm)}: use thinner glass."
            )
    if plan.reflection is not None:
        said += (f"The piece {text}." for text in reflection_texts(plan.reflection, key)[:1])
    for light in plan.lights:
        said += _remarks_on(light, plan.wish)
    if plan.build.body.curtain_travel_s is None:
        said.append(f"The curtain travel of {plan.build.body.name} isn't known: its sync time stands for it.")
    return tuple(said)


def _remarks_on(light: LightPlan, wish: Wish) -> Iterator[str]:
    """The remarks on a light of the plan."""
    if light.moved:
        yield f"{light.name}: {light.moved}."
    if wish.surface == "mirror" and not light.by_luminance and not light.behind:
        yield f"{light.name} has no lit surface in the kit: how bright the piece shows it can't be told."
    if light.over_ev > UNKNOWN_LIGHT_EV:
        yield (
            f"The piece shows {light.name} {light.over_ev:.1f} EV too bright even at its least power, wherever it "
            "stands: stop down, or put a denser diffuser or a grey filter before it."
        )
    if wish.surface == "satin" and (text := satin_text(light)):
        yield text
    if not light.loss_known:
        yield f"The loss of {light.shaper} on {light.name} isn't known: counted as none, measure it."
    if light.duration_t01_s is None:
        yield f"How long {light.name} burns isn't known: counted as no time at all."
