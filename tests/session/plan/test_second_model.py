"""Sixty random wishes with three kits, against a model that shares no code: ray matrices and a sampled pupil.

Of every winner: field, working distance, blur and exposure agree within 2 %; and of all arrangements none that is worse
in every number that is shown ranks first.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pytest

from session.plan.kit_search import Ranked, rank_plans
from session.plan.ranked_plan import Plan
from session.plan.wish import Wish
from session.set.kit import Kit, demo_kit
from tests.support.plan_kits import FULL_KIT
from tests.support.plate_trace import virtual_focus_mm
from tests.support.pupil_fft import blur
from tests.support.traced_builds import trace_plan

DEMO = demo_kit()
SMALL_KIT = DEMO.model_copy(update={"body": DEMO.body[:1], "lens": DEMO.lens[1:3], "tube": DEMO.tube[:2], "plate": ()})
WIDE_KIT = FULL_KIT.model_copy(update={"body": FULL_KIT.body[1:3], "lens": FULL_KIT.lens[1::2]})
KITS = {"demo": DEMO, "wide": WIDE_KIT, "small": SMALL_KIT}
WAVELENGTH_MM = 0.55e-3


@lru_cache(maxsize=64)
def planned(name: str, number: int) -> tuple[Kit, Wish, Ranked]:
    """The wish of that number for a kit, always the same, and what the planner finds."""
    kit, chance = KITS[name], np.random.default_rng([17, number, len(name)])
    width_mm, plates = float(np.exp(chance.uniform(np.log(4), np.log(120)))), [""] * 3 + [one.name for one in kit.plate]
    wish = Wish(
        width_mm,
        width_mm * float(chance.uniform(0.3, 1)),
        float(np.exp(chance.uniform(np.log(0.2), np.log(8)))),
        delivered_pixels=float(chance.choice([800, 1600, 2400, 4000])),
        blur_radius_on_piece_mm=float(np.exp(chance.uniform(np.log(0.006), np.log(0.06)))),
        fill=float(chance.uniform(0.5, 0.9)),
        clear_in_front_mm=float(chance.choice([20, 60, 150])),
        plate=str(chance.choice(plates)),
    )
    return kit, wish, rank_plans(kit, wish)


CASES = [(name, number) for name in KITS for number in range(20)]


@pytest.mark.parametrize(("kit", "number"), CASES)
def test_field_room_blur_and_light_of_the_first_plans_agree_with_rays_and_waves(kit: str, number: int) -> None:
    things, wish, found = planned(kit, number)
    for plan in found.plans[:3]:
        there, body = trace_plan(plan), plan.build.body
        assert max(plan.field_mm) == pytest.approx(
            max(body.sensor_width_mm, body.sensor_height_mm) / there.ratio, rel=0.02
        )
        assert plan.mounting.working_distance_mm == pytest.approx(there.room_mm, rel=0.02)
        effective = plan.stop.f_number * there.light_factor
        assert 2 * math.log2(plan.stop.effective_f_number / effective) == pytest.approx(0, abs=0.02)
        apart_mm = 0.0
        if wish.plate:
            glass = next(one for one in things.plate if one.name == wish.plate)
            fans = (
                virtual_focus_mm(fan, 45, glass.refractive_index, glass.thickness_mm)
                for fan in ("tangential", "sagittal")
            )
            apart_mm = abs(next(fans) - next(fans))
        seen = effective / there.ratio
        unit_mm = WAVELENGTH_MM * seen
        off = [(plan.stop.slice_mm / 2 + side * apart_mm / 2) / seen / unit_mm for side in (1, -1)]
        truth_mm = unit_mm * blur(*off) if max(map(abs, off)) < 60 else unit_mm * max(map(abs, off))
        assert plan.stop.blur_circle_mm == pytest.approx(truth_mm, rel=0.02)
        light = plan.lights[0]
        if len(plan.lights) == 1 and not light.short_ev:
            own = things.light_for(light.name)
            assert own is not None and own.guide_number_m is not None
            size_mm = light.source_size_mm
            away_m = math.hypot(light.distance_mm, size_mm / 2) / 1000
            lux = own.guide_number_m**2 * 2 ** (light.power_ev - light.loss_ev) / away_m**2
            facing = lux * math.cos(math.radians(light.from_axis_deg))
            assert math.log2(facing / effective**2) == pytest.approx(0, abs=0.03)


def shown(plan: Plan) -> tuple[float, ...]:
    """The numbers of a plan that a person sees, less is better: all that fails, frames, room, pixels, blur, parts."""
    room = plan.clearance_mm
    return (
        math.fsum(one.short_ev for one in plan.criteria),
        plan.stop.series.frames,
        -(room if room is not None else 0.0),
        -plan.delivered_pixels,
        plan.stop.blur_radius_mm,
        plan.build.parts,
        plan.build.aperture_by_hand,
    )


@pytest.mark.parametrize(("kit", "number"), CASES)
def test_no_plan_that_is_worse_in_every_shown_number_ranks_first(kit: str, number: int) -> None:
    first, *others = planned(kit, number)[2].plans
    mine = shown(first)
    for other in others:
        pairs = list(zip(shown(other), mine, strict=True))
        assert not (all(its <= own for its, own in pairs) and any(its < own - 1e-9 for its, own in pairs)), (
            f"{other.build.label} {shown(other)} is better than {first.build.label} {mine}"
        )
