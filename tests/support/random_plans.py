"""Random wishes planned with the demo's kit, and the plan's words turned into what hands put up."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mock_camera.scene.grey_card import SQUARE_MM
from session.optics.diffraction import GREEN_UM
from session.plan.kit_search import rank_plans
from session.plan.planned_revision import as_revision
from session.plan.ranked_plan import Plan
from session.plan.wish import Wish
from session.set.kit import Kit, demo_kit
from session.set.setup import PlacedLight, Revision
from tests.support.random_set_ups import LEAST_BLUR_PX, SEED
from tests.support.simulated_bench import Glass, Head, SetUp
from tests.support.traced_builds import trace_plan
from tests.support.traced_lenses import Put, Traced, even

BODY = "Wendle 16"  # its sensor is as wide as the simulated camera's
HEIGHT_PX = 160
LEAST_WIDE, MOST_WIDE = 640, 1600
DIFFRACTION_SHARE = 2.1  # of wavelength x effective f-number: 0.2 waves of defocus; in focus it is 1.75
SHAPERS_BY_SIZE_MM = {0.0: "tube", 300.0: "diffuser"}  # the simulated heads' sizes for those of the kit
LEAST_DEPTH_SHARE = 0.4  # of astigmatism: 2 % of blur are 7 % of such a depth
MOST_MAGNIFICATION = 3.0  # beyond, the picture has no two squares of the card


@dataclass(frozen=True)
class Planned:
    """A plan, and the same put up."""

    plan: Plan
    set_up: SetUp


KINDS = ("bare", "tubes", "reversed", "close-up lens", "converter", "plate", "mirror")
"""What is put between piece and sensor, the last a polished piece over a plate; plans are drawn of each in turn."""

SURFACE_LIGHT = "fill"
"""The kit's one light with a surface that a polished piece can show."""


def kind_of(plan: Plan) -> str:
    """The kind of a plan."""
    build = plan.build
    parts = {
        "mirror": plan.wish.surface == "mirror",
        "plate": bool(plan.wish.plate),
        "reversed": build.ring is not None,
        "close-up lens": build.supplementary is not None,
        "converter": build.converter is not None,
        "tubes": bool(build.tubes),
    }
    return next((kind for kind, is_there in parts.items() if is_there), "bare")


def planned(number: int) -> Planned:
    """The plan of that number, always the same: a random wish, and one of its plans whose light suffices.

    Its kind is that of the number, in turn.
    """
    chance, kit = np.random.default_rng([SEED, 100, number]), demo_kit()
    kind = KINDS[number % len(KINDS)]
    while True:
        width_mm, depth_mm = even(chance, 6, 60), even(chance, 0.3, 3)
        wish = Wish(
            piece_width_mm=width_mm,
            piece_height_mm=width_mm * chance.uniform(0.4, 1),
            relief_mm=depth_mm,
            fill=chance.uniform(0.5, 0.9),
            blur_radius_on_piece_mm=even(chance, 0.01, 0.075),
            lights=_lights(chance, kind),
            iso=float(chance.choice([64, 100, 200])),
            body=BODY,
            plate=kit.plate[0].name if kind in ("plate", "mirror") else "",
            surface="mirror" if kind == "mirror" else "matt",
        )
        plans = [plan for plan in rank_plans(kit, wish).plans if kind_of(plan) == kind and tells(plan)]
        if plans:
            plan = plans[int(chance.integers(len(plans)))]
            return Planned(plan, put_up(plan, kit))


def _lights(chance: np.random.Generator, kind: str) -> tuple[str, ...]:
    """One to three lights; the key, with a surface for a polished piece, comes first."""
    count = int(chance.integers(1, 4))
    return (SURFACE_LIGHT, "key=-1", "rim")[:count] if kind == "mirror" else ("key", "rim", "fill")[:count]


def tells(plan: Plan) -> bool:
    """Whether a picture can tell: the light suffices, two squares are in the frame, the blur is wide enough.

    A plan that blurs more than is allowed promises no depth, and beside far larger astigmatism a depth isn't seen.
    """
    ratio, promised_mm = plan.mounting.magnification, promised_blur_mm(plan)
    wide = promised_mm > LEAST_BLUR_PX * plan.build.body.sensor_width_mm / MOST_WIDE
    deep = promised_mm > DIFFRACTION_SHARE * GREEN_UM / 1000 * plan.stop.effective_f_number
    lit = not any(light.short_ev for light in plan.lights)
    kept = not any(one.name == "blur" for one in plan.failing)
    deep = deep and (plan.plate is None or plan.stop.depth_mm > LEAST_DEPTH_SHARE * plan.plate.astigmatism_mm)
    return (
        lit
        and kept
        and 0.15 < ratio < MOST_MAGNIFICATION
        and wide
        and deep
        and _blur_mm(plan) < 0.55 * SQUARE_MM * ratio
    )


def promised_blur_mm(plan: Plan) -> float:
    """Blur at the sensor that the plan promises at the ends of what each of its frames covers."""
    return plan.stop.blur_circle_mm * plan.mounting.magnification


def _blur_mm(plan: Plan) -> float:
    """Blur at the sensor that the wish allows."""
    return plan.wish.blur_circle_mm * plan.mounting.magnification


def put_up(plan: Plan, kit: Kit) -> SetUp:
    """The plan as hands put it up: the lens as rays go through it, the lights of the set-up that it becomes."""
    lens, there = plan.mounting.lens, trace_plan(plan)
    ratio, effective = there.ratio, plan.stop.f_number * there.light_factor
    alone = effective / (1 + ratio / lens.pupil_magnification)
    width = min(
        MOST_WIDE, 2 * round(1.2 * LEAST_BLUR_PX * plan.build.body.sensor_width_mm / promised_blur_mm(plan) / 2)
    )
    trigger = kit.trigger_for(plan.wish.trigger)
    return SetUp(
        kind="plan",
        put=Put(
            f"{plan.build.label} at {ratio:.2f}",
            replace(lens, effective_f_number=effective),
            Traced(lens.focal_length_mm, lens.pupil_magnification, alone, ratio),
        ),
        pixels=(max(width, LEAST_WIDE), HEIGHT_PX),
        blur_circle_mm=_blur_mm(plan),
        iso=round(plan.wish.iso),
        lights=tuple(_head(light, kit, plan) for light in as_revision(plan, Revision()).lights),
        ambient_stops_under=20.0,
        curtain_travel_s=plan.build.body.curtain_travel_s or plan.build.body.sync_time_s,
        trigger_delay_s=trigger.delay_s if trigger else 0.0,
        duration_t01_s=max(light.duration_t01_s or 0.0 for light in plan.lights),
        short_s=plan.time.exposure_s,
        piece="mirror" if plan.wish.surface == "mirror" else "card",
        glass=_glass(plan, kit),
        rim_mm=plan.build.lens.front_diameter_mm or 0.0,
        rim_before_mm=plan.mounting.working_distance_mm or 1.0,
    )


def _glass(plan: Plan, kit: Kit) -> Glass | None:
    glass = kit.plate_for(plan.wish.plate)
    return Glass(glass.thickness_mm, plan.wish.plate_angle_deg, glass.refractive_index) if glass else None


def _head(placed: PlacedLight, kit: Kit, plan: Plan) -> Head:
    """A simulated head's guide number holds with its shaper on, so the shaper's loss is taken off; not the glass's."""
    own, shaper = kit.light_for(placed.name), kit.shaper_for(placed.shaper)
    light = next(light for light in plan.lights if light.name == placed.name)
    assert own is not None and own.guide_number_m is not None and placed.distance_mm is not None
    size_mm = shaper.source_size_mm if shaper else own.source_size_mm
    loss_ev = kit.loss_ev(own, placed.shaper) or 0.0
    return Head(
        guide_number_m=own.guide_number_m * 2 ** (-loss_ev / 2),
        power_ev=placed.power_ev,
        distance_mm=placed.distance_mm + kit.origin_behind_mm(own, placed.shaper),
        elevation_deg=90.0 - light.from_axis_deg,
        azimuth_deg=0.0,
        shaper=SHAPERS_BY_SIZE_MM[size_mm],
        over_glass=bool(plan.wish.plate) and light is plan.lights[0],
    )
