"""The nearest wish that the kit can meet, where nothing meets the whole wish: which numbers to give up, and how far.

The first plan of the ranking that fails in numbers alone is the nearest; the plan's own numbers, rounded so that they
are easily said, replace the failing ones. The search is then made anew, since one number moves others: a looser
blur follows from fewer pixels.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from session.plan.kit_search import Ranked, rank_plans
from session.plan.ranked_plan import Plan
from session.plan.room import light_room_mm
from session.plan.wish import Wish
from session.set.kit import Kit
from session.units.numbers import mm_text, percent_text

ROUNDS = 3
"""Searches with numbers given up, each by the first plan of the one before. Chosen."""

PIXELS_STEP = 10
"""Pixels are told in tens: a picture 2400 px wide is ordered as such, none 2397. Common practice, no source."""

FLATTEST_LIGHT_DEG = 80.0
"""A light farther from the axis skims the piece, and models more than it lights. Common practice, no source."""

MOST_ISO = 1600
"""No higher speed is offered, four stops above ISO 100: beyond it noise shows in pictures of products, and more light
is the remedy. Common practice, no source."""

PREFERRED_ISO = tuple(
    int(speed)
    for decade in range(4)
    for step in (10, 12.5, 16, 20, 25, 32, 40, 50, 64, 80)
    if (speed := step * 10**decade) <= MOST_ISO and speed == int(speed)
)
"""ISO speeds in thirds of a stop, as ISO 12232 and cameras write them (the R10 series of ISO 3)."""


@dataclass(frozen=True)
class NearestWish:
    """What to give up where nothing meets the whole wish.

    wish     with the numbers given up: an arrangement meets it; None where no numbers help
    instead  each of them in words: `1020 px instead of 2400`
    other    body or lens of the kit with which the whole wish holds, where it asked for another; "" for none
    """

    wish: Wish | None
    instead: tuple[str, ...]
    other: str

    @property
    def text(self) -> str:
        """A sentence or two: the nearest wish, and the body or lens that needs none."""
        said = [f"Nearest: {', '.join(self.instead)}."] if self.wish else []
        return " ".join([*said, *([f"With {self.other} all of it holds."] if self.other else [])])


def nearest_wish(kit: Kit, wish: Wish, found: Ranked) -> NearestWish | None:
    """The nearest wish to the one for which `found` was ranked; None where a plan holds, or no plan was found."""
    if not found.plans or _any_holds(found.plans):
        return None
    met = met_wish(kit, wish, found)
    return NearestWish(met, () if met is None else _instead(wish, met), _other_parts(kit, wish))


def met_wish(kit: Kit, wish: Wish, found: Ranked) -> Wish | None:
    """The wish itself where a plan of `found` holds, else with as much given up as one needs; None where none comes."""
    plans = found.plans
    for _ in range(ROUNDS):
        if _any_holds(plans):
            return wish
        changes = next((ways for plan in plans if (ways := _given_up(plan))), None)
        if changes is None:
            return None
        wish = replace(wish, **changes)
        plans = rank_plans(kit, wish).plans
    return wish if _any_holds(plans) else None


def _any_holds(plans: tuple[Plan, ...]) -> bool:
    return any(plan.holds for plan in plans)


def _other_parts(kit: Kit, wish: Wish) -> str:
    if not wish.body and not wish.lens:
        return ""
    plans = rank_plans(kit, replace(wish, body="", lens="")).plans
    build = next((plan.build for plan in plans if plan.holds), None)
    if build is None:
        return ""
    asked = ((wish.body, build.body.name), (wish.lens, build.lens.name))
    return " and ".join(has for wanted, has in asked if wanted not in ("", has))


def _given_up(plan: Plan) -> dict[str, Any]:
    """Fields of the wish and the values at which this plan holds; {} where no number mends a failing criterion."""
    changes: dict[str, Any] = {}
    for one in plan.failing:
        found = _WAYS[one.name](plan)
        if not found:
            return {}
        changes |= found
    return changes


def _pixels(plan: Plan) -> dict[str, Any]:
    whole = math.floor(plan.delivered_pixels / PIXELS_STEP) * PIXELS_STEP
    return {"delivered_pixels": float(whole)} if whole else {}


def _fill(plan: Plan) -> dict[str, Any]:
    share = next(one.value for one in plan.criteria if one.name == "framing") or 1.0
    return {"fill": math.ceil(share * 100 - 1e-6) / 100} if share <= 1 else {}


def _room(plan: Plan) -> dict[str, Any]:
    room_mm, wish, lens = plan.clearance_mm, plan.wish, plan.build.lens
    if room_mm is None or room_mm < 1 or plan.plate is not None:
        return {}
    changes = {"clear_in_front_mm": min(wish.clear_in_front_mm, float(math.floor(room_mm)))}
    if lens.front_diameter_mm is not None:
        sides = wish.piece_width_mm, wish.piece_height_mm
        beside_mm = light_room_mm(lens.front_diameter_mm, *sides, wish.light_angle_deg)
        steepness = math.tan(math.radians(wish.light_angle_deg)) * beside_mm / room_mm
        angle_deg = float(math.ceil(math.degrees(math.atan(steepness)) - 1e-6))
        if angle_deg > FLATTEST_LIGHT_DEG:
            return {}
        changes["light_angle_deg"] = max(wish.light_angle_deg, angle_deg)
    return changes


def _blur(plan: Plan) -> dict[str, Any]:
    radius_mm = plan.stop.blur_radius_mm
    step_mm = 10.0 ** (math.floor(math.log10(radius_mm)) - 1)
    return {"blur_radius_on_piece_mm": float(f"{math.ceil(radius_mm / step_mm - 1e-6) * step_mm:.2g}")}


def _iso(plan: Plan) -> dict[str, Any]:
    short_ev = max(one.short_ev for one in plan.failing if one.name == "light")
    iso = next((iso for iso in PREFERRED_ISO if iso >= plan.wish.iso * 2**short_ev), None)
    return {} if iso is None else {"iso": float(iso)}


_WAYS: dict[str, Callable[[Plan], dict[str, Any]]] = {
    "pixels": _pixels,
    "filling": _pixels,
    "framing": _fill,
    "room": _room,
    "blur": _blur,
    "light": _iso,
    "frames": lambda plan: {"most_frames": plan.stop.series.frames},
    "plate": lambda plan: {},
}
"""What fails → the numbers of the wish by which it holds; a larger plate is no number of the wish."""


def _instead(wish: Wish, met: Wish) -> tuple[str, ...]:
    """Each number given up, as a clause."""
    pixels, were = met.delivered_pixels, wish.delivered_pixels
    said = []
    if pixels != were and pixels is not None:
        said.append(f"{pixels:.0f} px " + ("of a crop" if were is None else f"instead of {were:.0f}"))
    if met.fill != wish.fill:
        said.append(f"the piece on {percent_text(met.fill)} of the picture instead of {percent_text(wish.fill)}")
    if met.clear_in_front_mm != wish.clear_in_front_mm:
        said.append(f"{mm_text(met.clear_in_front_mm)} free in front instead of {mm_text(wish.clear_in_front_mm)}")
    if met.light_angle_deg != wish.light_angle_deg:
        said.append(f"light from {met.light_angle_deg:.0f}° off the axis instead of {wish.light_angle_deg:g}°")
    if met.blur_radius_on_piece_mm not in (None, wish.blur_radius_on_piece_mm):
        said.append(f"a blur radius of {met.blur_radius_mm:.3g} mm instead of {wish.blur_radius_mm:.3g} mm")
    if met.most_frames != wish.most_frames:
        said.append(f"{met.most_frames} frames instead of {wish.most_frames}")
    if met.iso != wish.iso:
        said.append(f"ISO {met.iso:.0f} instead of {wish.iso:.0f}")
    return tuple(said)
