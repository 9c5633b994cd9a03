"""The whole kit searched for a wish, best first, each plan with the reason for its place."""

from __future__ import annotations

from dataclasses import dataclass

from session.plan.arrangements import Build, builds
from session.plan.best_stop import Tried, judge_build, plan_of
from session.plan.powers import reaches
from session.plan.ranked_plan import Plan
from session.plan.ranking import decides, first_of_each
from session.plan.room import beside_axis_mm
from session.plan.wish import NoPlanError, Wish
from session.set.kit import Kit, KitLacksError

WORDS = (
    "less is short",
    "more is known of it",
    "fewer frames",
    "the camera sets the aperture",
    "fewer parts",
    "more room before the lens",
    "more pixels",
    "less blur",
    "still more room",
    "a little less blur",
)
"""Why a plan stands before another, in the order of a rank's points."""


@dataclass(frozen=True)
class LeftOut:
    """A build that can't be worked out or forms no close-up picture, and why, in one sentence."""

    build: Build
    why: str


@dataclass(frozen=True)
class Ranked:
    """The search's result: plans, best first, and the builds left out."""

    plans: tuple[Plan, ...]
    left_out: tuple[LeftOut, ...]


def rank_plans(kit: Kit, wish: Wish) -> Ranked:
    """Every arrangement of the kit, judged and sorted.

    Raises ValueError with one sentence when the wish names something the kit hasn't, or the kit has no body or lens
    that go together.
    """
    _require_names(kit, wish)
    lights = {lens.name: reaches(kit, wish, beside_axis_mm(lens, wish)) for lens in kit.lens}
    tried: list[Tried] = []
    owners: list[int] = []
    left_out = []
    for number, build in enumerate(builds(kit, wish.body, wish.lens)):
        try:
            stops = judge_build(build, kit, wish, lights[build.lens.name])
        except ValueError as error:
            left_out.append(LeftOut(build, str(error)))
        else:
            tried += stops
            owners += [number] * len(stops)
    plans = []
    for at in first_of_each([one.rank for one in tried], owners):
        try:
            plans.append(plan_of(tried[at], kit, wish, lights[tried[at].mounting.build.lens.name]))
        except ValueError as error:
            left_out.append(LeftOut(tried[at].mounting.build, str(error)))
    if not plans and not left_out:
        bodies, lenses = ({thing.mount for thing in things} for things in (kit.body, kit.lens))
        raise NoPlanError(
            f"No lens of the kit fits a body: see mount, {', '.join(sorted(bodies))} of bodies and "
            f"{', '.join(sorted(lenses))} of lenses."
        )
    return Ranked(tuple(plans), tuple(left_out))


def reason(better: Plan, worse: Plan) -> str:
    """The first thing in which one plan ranks before another, in words; "" when they are alike."""
    place = decides(better.rank, worse.rank)
    return "" if place is None else WORDS[place]


def _require_names(kit: Kit, wish: Wish) -> None:
    for word, things, name in (
        ("body", kit.body, wish.body),
        ("lens", kit.lens, wish.lens),
        ("support", kit.support, wish.support),
        ("trigger", kit.trigger, wish.trigger),
        ("plate", kit.plate, wish.plate),
    ):
        names = [thing.name for thing in things]
        if name and name not in names:
            raise KitLacksError(f"The kit has no {word} {name!r}; it has {', '.join(names) or 'none'}.")
    if not kit.body or not kit.lens:
        raise KitLacksError(f"The kit has no {'lens' if kit.body else 'body'}: nothing can be planned.")
